"""Examining an adapter: asks it and the car, and fills in a `Health`.

Only the adapter itself and reading requests are used, and the traffic is that of a
level check: one question to the gearbox unit and some to the engine unit, over and
over.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from bridge.link.adapter_setup import NotAnAdapter, identify
from bridge.link.clock import now_s
from bridge.link.exchange import AdapterReset, AdapterSilent, Exchange
from bridge.link.health import Health, Traffic, Trouble
from bridge.link.link import ElmLink, RequestOutcome
from bridge.link.one_time import OneTimeRequests, ask
from bridge.link.ports.baud import BaudSearch
from bridge.link.ports.port import GuardedPort, Port
from bridge.link.ports.progress import progress
from bridge.link.ports.wire_log import Opener
from bridge.link.schedule import (
    ALWAYS_ASKED,
    beside_engine,
    engine_of,
    engine_queries,
    sheet_queries,
)
from bridge.link.standard_values import (
    Ids,
    all_supported,
    ids_of,
    pid_request,
    standard_value,
)
from bridge.link.untold import LASTING, MissingValue
from bridge.protocol.reply import Answer, Refusal, clean
from bridge.protocol.request import Request
from bridge.protocol.standard_pids import STANDARD_PIDS, standard_signal
from bridge.values.causes import Cause
from bridge.values.errors import LinkLost, PortError
from bridge.values.events import Event
from bridge.values.frozen import frozen
from bridge.values.readings import FaultKind, TroubleCodes
from bridge.values.sheet import Role, Sheet, Window

COMMAND_S = 1.0
TRIES = 3
_VOLTS = re.compile(r"(\d{1,2}(?:\.\d+)?)V?")
_PROBES = ("ATST32", "ATCRA")
"""Commands the link can do without, besides those it sets up with."""

_NO_SHEET = Sheet(name="", source="", window=Window(low_c=0.0, high_c=1.0))
"""What the engine's unit is asked for where no sheet says otherwise."""

Say = Callable[[str], None]


async def examine(
    port: Port,
    *,
    protocol: str,
    seconds: float,
    search: BaudSearch | None,
    say: Say,
    sheet: Sheet | None = None,
) -> Health:
    """Examine the adapter on an open port, and close the port.

    ``seconds``: how long to measure traffic; ``say`` is told what is being done.
    ``sheet``: whose fluid temperature is asked for too; its protocol counts.
    Never raises for anything an adapter does: `Health.trouble` says it.
    """
    health = Health()
    if sheet is not None and sheet.protocol != "auto":
        protocol = sheet.protocol
    link = ElmLink(Exchange(GuardedPort(port)), protocol)
    try:
        await _examine(link, port, health, seconds, search, say, sheet)
    except LinkLost as lost:
        health.trouble = Trouble(Cause.PORT_GONE, str(lost).rstrip("."))
    except NotAnAdapter as problem:
        health.trouble = Trouble(problem.cause, str(problem))
    except AdapterSilent:
        health.trouble = Trouble(identify(link.exchange))
    except AdapterReset:
        health.trouble = Trouble(Cause.ADAPTER_RESTARTED, "again and again")
    finally:
        await link.aclose()
    return health


async def answers(opener: Opener, search: BaudSearch | None) -> Cause | str | None:
    """Open a port, set the adapter up as for a job, close; None: it is one.

    Otherwise the cause, or a sentence about the port. ``search`` finds the speed.
    The car is asked nothing.
    """
    try:
        port = await opener()
    except PortError as problem:
        return str(problem)
    link = ElmLink(Exchange(GuardedPort(port)))
    try:
        if search is not None:
            await search.settle(link.exchange, port, progress)
        try:
            await link.connect()
        except AdapterReset:  # just plugged in, it may restart while it is asked
            await link.connect()
    except NotAnAdapter as problem:
        return problem.cause
    except AdapterSilent:
        return identify(link.exchange)
    except AdapterReset:
        return Cause.ADAPTER_RESTARTED
    except LinkLost as lost:
        return str(lost)
    finally:
        await link.aclose()
    return None


async def _examine(
    link: ElmLink,
    port: Port,
    health: Health,
    seconds: float,
    search: BaudSearch | None,
    say: Say,
    sheet: Sheet | None,
) -> None:
    if search is not None:
        health.speed = await search.settle(link.exchange, port, say)
    say("asking the adapter what it is")
    await link.set_up()
    await _identify(link, health)
    say("looking for control units")
    units = await link.find_units()
    if isinstance(units, Refusal):
        health.no_units = Trouble(units.cause, units.detail)
        return
    health.protocol = link.info.protocol
    health.engine = engine_of(units)
    health.main = min(units) if health.engine is None else health.engine
    await _meet_units(link, units, health, say)
    health.untold = await _untold(link, units, health, sheet)
    if sheet is not None:
        health.fluid = await _fluid(link, sheet)
    say(f"measuring for {seconds:g} s")
    await _drive(link, units, health, seconds)


async def _identify(link: ElmLink, health: Health) -> None:
    health.chip = _known(await _line(link, "ATI")) or link.info.banner
    health.device = _known(await _line(link, "AT@1"))
    volts = _VOLTS.fullmatch(await _line(link, "ATRV"))
    health.adapter_v = float(volts[1]) if volts else None
    refused = [c for c in _PROBES if await _line(link, c) not in ("OK", "")]
    health.lacking = (*link.info.lacking, *refused)


def _known(text: str) -> str:
    return "" if text == "?" else text


async def _line(link: ElmLink, command: str) -> str:
    """Return the last thing the adapter says to a command; '' for nothing."""
    said = await link.exchange.ask(command, deadline_s=COMMAND_S)
    kept = [s.strip() for s in said.lines if clean([s]) and s.strip() != command]
    return "".join(c for c in kept[-1] if c.isprintable()) if kept else ""


async def _meet_units(
    link: ElmLink, units: dict[int, bytes], health: Health, say: Say
) -> None:
    """Learn what the units support, their voltage and their trouble codes."""
    on_can = link.info.is_can
    engine = health.main
    if on_can:
        await link.probe_count_digit(pid_request(0x00, ids_of(engine, physical=True)))
        health.count_digit = link.count_digit
    for unit, bitmap in units.items():
        ids = ids_of(unit, physical=on_can)
        health.units[unit] = await all_supported(link, ids, bitmap)
    health.module_v = await standard_value(
        link, Role.MODULE_VOLTAGE, ids_of(engine, physical=on_can)
    )
    if on_can:
        health.strays = await _strays(link, units)
    say("reading trouble codes")
    health.codes = await _codes(
        link, [ids_of(u, physical=on_can) for u in units], on_can
    )


async def _strays(link: ElmLink, units: dict[int, bytes]) -> bool | None:
    """Return whether a question to an absent unit is answered; None: cannot be tried.

    An adapter that says OK to a header and keeps the old one does just that.
    """
    wide = min(units) > 0x7FF
    places = range(0x18DAF1E0, 0x18DAF1F0) if wide else range(0x7EF, 0x7E8, -1)
    absent = next((u for u in places if u not in units), None)
    if absent is None:
        return None
    outcome = await link.request(pid_request(0x00, ids_of(absent, physical=True)), 4)
    result = outcome.result
    if isinstance(result, Answer):
        return True
    return result.cause is Cause.OTHER_UNIT


async def _untold(
    link: ElmLink, units: dict[int, bytes], health: Health, sheet: Sheet | None
) -> tuple[Role, ...]:
    """Return what the gate needs and no unit tells, asked as the level check asks."""
    asked = list(sheet_queries(sheet)) if sheet is not None else []
    if health.engine is not None:
        bare = sheet if sheet is not None else _NO_SHEET
        asked += engine_queries(
            bare,
            health.engine,
            health.units[health.engine],
            physical=link.info.is_can,
            elsewhere=beside_engine(units, health.engine),
        )
    needed = [q for q in asked if any(s.role in ALWAYS_ASKED for s in q.signals)]
    missing = MissingValue(needed)
    for query in [q for q in needed for _ in range(LASTING)]:
        result = (await link.request(query.request, query.data_length)).result
        if isinstance(result, Answer):
            missing.answered(query)
        else:
            missing.refused(query, result)
    return missing.untold


async def _fluid(link: ElmLink, sheet: Sheet) -> Trouble | None:
    """Ask what the sheet asks for the fluid; return why it brings nothing, or None."""
    query = next((q for q in sheet_queries(sheet) if q.is_fluid), None)
    if query is None:
        return None
    result: Answer | Refusal | None = None
    for _ in range(TRIES):
        result = (await link.request(query.request, query.data_length)).result
        if isinstance(result, Answer):
            return None
    return Trouble(result.cause, result.detail) if isinstance(result, Refusal) else None


async def _codes(link: ElmLink, units: list[Ids], counted: bool) -> TroubleCodes | None:  # noqa: FBT001
    events: list[Event] = []
    one_time = OneTimeRequests(events.append)
    one_time.meet(units, counted=counted, vin_from=None, anew=True)
    while (question := one_time.next(now_s())) is not None:
        try:
            one_time.took(question, await ask(link, question))
        except (AdapterSilent, AdapterReset):
            await link.recover()  # asked again, but not for ever
    codes = [event for event in events if isinstance(event, TroubleCodes)]
    return codes[-1] if codes else None


@frozen
class _Round:
    """The questions of a level check, over and over."""

    stand_in: Request
    """Answered like the fluid's temperature, by the gearbox unit if there is one."""
    constant: bytes
    """The one right answer to it."""
    beside: tuple[tuple[Request, int], ...]
    """What is asked of the engine unit besides, with the answers' lengths."""
    one_unit: bool
    """Whether all go to one unit, so that none waits for a header."""


def _round(units: dict[int, bytes], health: Health, *, on_can: bool) -> _Round:
    engine = health.main
    fluid = next((u for u in sorted(units) if u != engine), engine)
    roles = (Role.ENGINE_SPEED, Role.VEHICLE_SPEED, Role.COOLANT_TEMPERATURE)
    ids = ids_of(engine, physical=on_can)
    return _Round(
        stand_in=pid_request(0x00, ids_of(fluid, physical=on_can)),
        constant=units[fluid],
        beside=tuple(
            (pid_request(STANDARD_PIDS[role], ids), standard_signal(role).data_length)
            for role in roles
            if STANDARD_PIDS[role] in health.units[engine]
        ),
        one_unit=fluid == engine,
    )


async def _drive(
    link: ElmLink, units: dict[int, bytes], health: Health, seconds: float
) -> None:
    """Ask as a level check does, flat out, for some seconds."""
    on_can = link.info.is_can
    asked = _round(units, health, on_can=on_can)
    health.traffic = traffic = Traffic()
    began_s = last_s = now_s()
    try:
        while now_s() - began_s < seconds:
            last_s = await _once(link, asked, traffic, last_s)
    finally:
        traffic.seconds = now_s() - began_s
        traffic.longest_gap_s = max(traffic.longest_gap_s, now_s() - last_s)


async def _once(link: ElmLink, asked: _Round, traffic: Traffic, last_s: float) -> float:
    """Go one round; return when the newest reading came."""
    outcome = await _count(link, asked.stand_in, 4, traffic, timed=asked.one_unit)
    if outcome is not None and isinstance(outcome.result, Answer):
        same = outcome.result.payload == asked.constant
        traffic.readings += same
        traffic.changed += not same
        traffic.longest_gap_s = max(traffic.longest_gap_s, outcome.t_s - last_s)
        last_s = outcome.t_s
    for place, (request, length) in enumerate(asked.beside):
        timed = place > 0 or asked.one_unit
        await _count(link, request, length, traffic, timed=timed)
    return last_s


async def _count(
    link: ElmLink,
    request: Request,
    data_length: int,
    traffic: Traffic,
    *,
    timed: bool,
) -> RequestOutcome | None:
    """Ask and count; None if the adapter fell silent or restarted meanwhile."""
    began_s = now_s()
    traffic.asked += 1
    try:
        outcome = await link.request(request, data_length)
    except (AdapterSilent, AdapterReset):
        traffic.silent += 1
        await link.recover()
        return None
    if isinstance(outcome.result, Answer):
        traffic.answered += 1
        if timed:
            traffic.round_trips_s.append(outcome.t_s - began_s)
    elif outcome.result.reset:
        traffic.silent += 1
        await link.recover()
    elif outcome.result.kind is not FaultKind.REFUSED:
        traffic.useless += 1
        traffic.complaint = Trouble(outcome.result.cause, outcome.result.detail)
    return outcome
