"""What a service still lacks: listed before it is called complete, never blocking.

Found from sheet and log alone, each with an id that does not change with the wording.
What was found that speaks against it stands in ``against``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.service.fastening import ticks_wanted
from bridge.service.log import (
    applying,
    beside,
    is_done,
    last,
    log_in,
    of,
    said_of,
    ticked,
    turns_ticked,
    variant_of,
)
from bridge.service.rounds import pump_out, refits, rounds_of
from bridge.service.step_names import renewals, step_name, tick_words
from bridge.values.frozen import frozen
from bridge.values.service_events import ServiceKind
from bridge.values.service_sheet import StepKind, Tick

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bridge.service.log import Log
    from bridge.values.service_sheet import Service

OTHER_GEARBOX = "other-gearbox"


@frozen
class Lack:
    """One thing the sheet wants and the log does not have."""

    id: str
    """'step:drain', 'tick:level plug:renewed', 'out', ...; the sheet's own names."""
    text: str


def missing(service: Service, log: Log) -> tuple[str, ...]:
    """Return a sentence for everything the sheet wants and the log does not have."""
    return tuple(lack.text for lack in lacks_of(service, log))


def lacks_of(service: Service, log: Log) -> tuple[Lack, ...]:
    """Return everything the sheet wants and the log does not have.

    What can hurt the gearbox comes first: another gearbox than the sheet's, plugs,
    the level; then steps that are still open.
    """
    here = applying(service, log)
    lacks = [
        *gearbox_lacks(here, log),
        *_plugs(here, log),
        *_worked(here, log),
        *_rounds(here, log),
        *_pumped(here, log),
        *_at_hand(here, log),
    ]
    steps = [
        Lack(
            id=f"step:{step.value}",
            text=f"The step '{step_name(step)}' is not marked done.",
        )
        for step in here.order
        if not is_done(log, step) and last(log, ServiceKind.SKIPPED, step) is None
    ]
    return (*lacks, *steps)


def gearbox_lacks(service: Service, log: Log) -> Iterator[Lack]:
    """Yield what is not right with the gearbox that was found."""
    if not service.variants:
        return
    found = variant_of(service, log)
    if found is None:
        yield Lack(
            id="gearbox",
            text="Which gearbox it is was not told: its figures may be others.",
        )
    elif not found.fits:
        instead = f" Use {found.instead}." if found.instead else ""
        yield Lack(
            id=OTHER_GEARBOX,
            text=f"This sheet is not for '{found.name}': do not use its figures."
            f"{instead}",
        )


def _plugs(service: Service, log: Log) -> Iterator[Lack]:
    for fastener in service.fasteners:
        times = refits(service, log, fastener)
        done = ticked(log, fastener, times)
        for tick in ticks_wanted(fastener):
            if tick not in done:
                new = tick is Tick.RENEWED
                what = renewals(fastener) if new else tick_words(tick, fastener)
                part = len(turns_ticked(log, fastener, times))
                far = f" ({part} of {fastener.turns} turns are)" if part else ""
                again = f" in round {times}" if times > 1 else ""
                yield Lack(
                    id=f"tick:{fastener.name}:{tick.value}",
                    text=f"{fastener.name}: {what} is not ticked off{again}"
                    f"{far if tick is Tick.TIGHTENED else ''}.",
                )


def _worked(service: Service, log: Log) -> Iterator[Lack]:
    order = service.order
    if (
        service.exercise
        and StepKind.EXERCISE in order
        and not of(log, ServiceKind.EXERCISED)
    ):
        yield Lack(
            id="exercise",
            text="The selector was not worked through its positions to the end.",
        )
    if StepKind.LEVEL in order and last(log, ServiceKind.LEVEL) is None:
        yield Lack(
            id="level",
            text="No level was judged with the readings of this job.",
        )
    for name, own in _each(service, log):
        yield from _measured(order, own, name)


def _each(service: Service, log: Log) -> Iterator[tuple[str, Log]]:
    """Yield each circuit's name and its part of the log; '' where there is but one."""
    for name in [c.name for c in service.circuits] or [""]:
        yield name, log_in(service, log, name) if name else log


def _measured(order: tuple[StepKind, ...], log: Log, circuit: str) -> Iterator[Lack]:
    lack = None
    if StepKind.DRAIN in order and not of(log, ServiceKind.OUT):
        lack = "out", "What came out was not measured, so nothing can be balanced."
    elif StepKind.FILL in order and not of(log, ServiceKind.IN):
        lack = "in", "What went in was not measured, so nothing can be balanced."
    if lack is not None:
        yield Lack(id=beside(lack[0], circuit), text=said_of(lack[1], circuit))


def _rounds(service: Service, log: Log) -> Iterator[Lack]:
    wanted = {c.name: c.rounds for c in service.circuits} or {"": service.rounds}
    for name, own in _each(service, log):
        done = len(rounds_of(own))
        if StepKind.DRAIN in service.order and done < wanted[name]:
            said = f"Drained {done} of the {wanted[name]} times the sheet asks for."
            yield Lack(id=beside("rounds", name), text=said_of(said, name))


def _pumped(service: Service, log: Log) -> Iterator[Lack]:
    """What is pumped out in portions is all of what the sheet lets expect."""
    for drain in service.drains:
        done = pump_out(log, drain)
        if done is None or done.left_ml is None or StepKind.DRAIN not in service.order:
            continue
        if done.out_ml and done.left_ml > 0.5 * done.portion_ml:
            yield Lack(
                id=f"pumped:{drain.name}",
                text=f"{drain.name}: {done.out_ml / 1000.0:.1f} L were pumped out, and "
                f"{done.left_ml / 1000.0:.1f} L are still to come.",
            )


def _at_hand(service: Service, log: Log) -> Iterator[Lack]:
    """Parts only where the sheet has a step to tick them off in."""
    if StepKind.PARTS not in service.order:
        return
    there = {e.name for e in of(log, ServiceKind.AT_HAND)}
    for part in service.parts:
        if part.name not in there:
            yield Lack(
                id=f"part:{part.name}", text=f"{part.name}: not ticked off as at hand."
            )
