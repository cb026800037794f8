"""One search, from a connected link to the last identifier: whom, in what order."""

from __future__ import annotations

from bridge.link.schedule import request_id_of
from bridge.protocol.framing import Framing
from bridge.search.ledger import Ledger
from bridge.search.scan.search_link import OTHER_WIDTH, FindLink, Stopped
from bridge.search.scan.sweep import Say, Sweep, Tell
from bridge.search.search_plan import IdentifierSpan
from bridge.values.errors import UsageError
from bridge.values.sheet import Role

TURNS_RPM = 1.0


async def search(
    link: FindLink,
    ledger: Ledger,
    tell: Tell,
    say: Say,
    *,
    spans: tuple[IdentifierSpan, ...],
    only: tuple[int, ...] = (),
    engine_on: bool = False,
) -> tuple[int, ...]:
    """Search a connected link; return the request ids of the units searched.

    Raises:
        UsageError: the engine runs, and ``engine_on`` does not allow that.
        Stopped: the unit, the battery or the adapter ends it. LinkLost.
    """
    await _engine_off(link, engine_on=engine_on)
    sweep = Sweep(link, ledger, tell, say)
    units = await _units(link, sweep, ledger, only)
    await sweep.identifiers(units, spans)
    return units


async def _engine_off(link: FindLink, *, engine_on: bool) -> None:
    rpm = await link.read_engine(Role.ENGINE_SPEED)
    if rpm is not None and rpm >= TURNS_RPM and not engine_on:
        raise UsageError(
            "the engine runs: switch it off and leave the ignition on, so that no unit "
            "is busy with driving while it is searched (--engine-on searches all the "
            "same)"
        )


async def _units(
    link: FindLink, sweep: Sweep, ledger: Ledger, only: tuple[int, ...]
) -> tuple[int, ...]:
    """Return whom to search: the units named, or all but the engine's."""
    await sweep.units(only)
    found = _besides_engine(link, ledger, only)
    other = OTHER_WIDTH.get(link.protocol)
    engine_only = not found and not only
    if engine_only and other is not None and await _other_width(link, sweep, other):
        found = _besides_engine(link, ledger, only)
    if not found:
        raise Stopped(
            "no control unit answers besides the engine's: name one with --units "
            "(7E0 searches the engine's own), or another bus with --protocol"
        )
    return found


async def _other_width(link: FindLink, sweep: Sweep, protocol: str) -> bool:
    """Look for units with ids of the other width; else go back to where we were."""
    before, engine = link.protocol, link.engine
    if await link.switch(protocol):
        await sweep.units()
        if link.engine is None:
            link.engine = engine
        return True
    await link.switch(before)
    return False


def _besides_engine(
    link: FindLink, ledger: Ledger, only: tuple[int, ...]
) -> tuple[int, ...]:
    if only:
        return tuple(u for u in only if u in ledger.units)
    engine = None if link.engine is None else request_id_of(link.engine)
    wide = link.framing is Framing.CAN_29
    return tuple(u for u in ledger.units if u != engine and (u > 0x7FF) == wide)
