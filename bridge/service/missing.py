"""What a service still lacks: listed before it is called complete, never blocking."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.service.fastening import ticks_wanted
from bridge.service.log import applying, is_done, last, of, ticked, variant_of
from bridge.service.step_names import renewals, step_name, tick_words
from bridge.values.service_events import ServiceKind
from bridge.values.service_sheet import StepKind, Tick

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bridge.service.log import Log
    from bridge.values.service_sheet import Service


def missing(service: Service, log: Log) -> tuple[str, ...]:
    """Return a sentence for everything the sheet wants and the log does not have.

    What can hurt the gearbox comes first: another gearbox than the sheet's, plugs,
    the level; then steps that are still open.
    """
    here = applying(service, log)
    lacks = [*_gearbox(here, log), *_plugs(here, log), *_worked(here, log)]
    steps = [
        f"The step '{step_name(step)}' is not marked done."
        for step in here.order
        if not is_done(log, step) and last(log, ServiceKind.SKIPPED, step) is None
    ]
    return (*lacks, *steps)


def _gearbox(service: Service, log: Log) -> Iterator[str]:
    if not service.variants:
        return
    found = variant_of(service, log)
    if found is None:
        yield "Which gearbox it is was not told: its figures may be others."
    elif not found.fits:
        instead = f" Use {found.instead}." if found.instead else ""
        yield f"This sheet is not for '{found.name}': do not use its figures.{instead}"


def _plugs(service: Service, log: Log) -> Iterator[str]:
    for fastener in service.fasteners:
        done = ticked(log, fastener.name)
        for tick in ticks_wanted(fastener):
            if tick not in done:
                new = tick is Tick.RENEWED
                what = renewals(fastener) if new else tick_words(tick, fastener)
                yield f"{fastener.name}: {what} is not ticked off."


def _worked(service: Service, log: Log) -> Iterator[str]:
    order = service.order
    if (
        service.exercise
        and StepKind.EXERCISE in order
        and not of(log, ServiceKind.EXERCISED)
    ):
        yield "The selector was not worked through its positions to the end."
    if StepKind.LEVEL in order and last(log, ServiceKind.LEVEL) is None:
        yield "No level was judged with the readings of this job."
    if StepKind.DRAIN in order and not of(log, ServiceKind.OUT):
        yield "What came out was not measured, so nothing can be balanced."
    elif StepKind.FILL in order and not of(log, ServiceKind.IN):
        yield "What went in was not measured, so nothing can be balanced."
