"""What a service still lacks, and what speaks against finishing it. It blocks nothing.

Both are found from sheet and log alone, each with an id that does not change with the
wording.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from bridge.level.step.step_values import Outcome
from bridge.protocol.trouble_codes import fluid_sensor_codes
from bridge.service.balance import Verdict
from bridge.service.fastening import ticks_wanted
from bridge.service.log import applying, is_done, last, of, ticked, variant_of
from bridge.service.old_fluid import Severity, meanings
from bridge.service.step_names import renewals, step_name, tick_words
from bridge.service.sums import judged_of, old_fluid_of
from bridge.values.readings import TroubleCodes
from bridge.values.service_events import ServiceKind
from bridge.values.service_sheet import StepKind, Tick

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bridge.service.log import Log
    from bridge.values.service_sheet import Service
    from bridge.values.sheet import Sheet

OTHER_GEARBOX = "other-gearbox"


@dataclass(frozen=True, slots=True, kw_only=True)
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
    lacks = [*_gearbox(here, log), *_plugs(here, log), *_worked(here, log)]
    steps = [
        Lack(
            id=f"step:{step.value}",
            text=f"The step '{step_name(step)}' is not marked done.",
        )
        for step in here.order
        if not is_done(log, step) and last(log, ServiceKind.SKIPPED, step) is None
    ]
    return (*lacks, *steps)


def _gearbox(service: Service, log: Log) -> Iterator[Lack]:
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
        done = ticked(log, fastener.name)
        for tick in ticks_wanted(fastener):
            if tick not in done:
                new = tick is Tick.RENEWED
                what = renewals(fastener) if new else tick_words(tick, fastener)
                yield Lack(
                    id=f"tick:{fastener.name}:{tick.value}",
                    text=f"{fastener.name}: {what} is not ticked off.",
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
    if StepKind.DRAIN in order and not of(log, ServiceKind.OUT):
        yield Lack(
            id="out",
            text="What came out was not measured, so nothing can be balanced.",
        )
    elif StepKind.FILL in order and not of(log, ServiceKind.IN):
        yield Lack(
            id="in",
            text="What went in was not measured, so nothing can be balanced.",
        )


# What speaks against finishing


def against(sheet: Sheet, log: Log, codes: TroubleCodes | None = None) -> list[str]:
    """Return the ids of all findings that speak against finishing the service.

    ``codes``: the trouble codes the car told last, beside those kept in the log.
    """
    service = applying(sheet.service, log)
    return [
        *_level_against(log),
        *_old_fluid_against(sheet, service, log),
        *_amounts_against(sheet, service, log),
        *_codes_against(log, codes),
        *(lack.id for lack in _gearbox(service, log) if lack.id == OTHER_GEARBOX),
    ]


def _level_against(log: Log) -> Iterator[str]:
    judged = last(log, ServiceKind.LEVEL)
    if judged is not None and judged.name and judged.name != Outcome.GOOD.value:
        yield f"level-{judged.name}"


def _old_fluid_against(sheet: Sheet, service: Service, log: Log) -> Iterator[str]:
    for meaning in meanings(old_fluid_of(sheet, service, log)):
        if meaning.severity >= Severity.INSPECT:
            yield f"old-fluid-{'+'.join(seen.value for seen in meaning.seen)}"


def _amounts_against(sheet: Sheet, service: Service, log: Log) -> Iterator[str]:
    measured = {e.name for e in of(log, ServiceKind.OUT)}
    if measured or is_done(log, StepKind.DRAIN):
        for drain in service.drains:
            if drain.name not in measured:
                yield f"drain-not-measured:{drain.name}"
    judged = judged_of(sheet, service, log) if of(log, ServiceKind.IN) else None
    if judged is None:
        return
    if judged.verdict in (Verdict.LOW, Verdict.HIGH):
        yield f"balance-{judged.verdict.value}"
    if judged.over_total_ml is not None:
        yield "balance-over-total"


def _codes_against(log: Log, codes: TroubleCodes | None) -> Iterator[str]:
    kept = last(log, ServiceKind.CAR)
    car = kept.car if kept is not None else None
    in_log = None
    if car is not None:
        in_log = TroubleCodes(
            t_s=0.0,
            stored=car.stored,
            pending=car.pending,
            permanent=car.permanent,
            mil=car.lamp,
        )
    if fluid_sensor_codes(codes) or fluid_sensor_codes(in_log):
        yield "fluid-sensor-code"
