"""What was used and what came of it, in words; units come from outside."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.service.log import of, standing
from bridge.service.papers.against_sheet import (
    calibration_doubt,
    forbidden_by,
    meets,
    sheet_part,
)
from bridge.values.frozen import frozen
from bridge.values.service_events import Instrument, ServiceEvent, ServiceKind

if TYPE_CHECKING:
    from collections.abc import Callable

    from bridge.service.log import Log
    from bridge.values.service_sheet import Service


@frozen
class Shown:
    """How a figure is written in the person's units."""

    volume: Callable[[float | None], str]
    """Given mL."""
    temperature: Callable[[float | None], str]
    """Given degC."""


PAPER_TEXT: dict[ServiceKind, str] = {
    ServiceKind.FLUID_USED: "Fluid used",
    ServiceKind.PART_USED: "Part fitted",
    ServiceKind.WASTE: "Waste handed in",
    ServiceKind.INSTRUMENT: "Measured with",
    ServiceKind.LEAK_CHECK: "Leak check",
    ServiceKind.ROAD_TEST: "Road test",
    ServiceKind.RECHECKED: "Level, looked at again",
    ServiceKind.HANDED_ON: "Told to the customer",
}
"""In the order in which they are shown."""
USED = (ServiceKind.FLUID_USED, ServiceKind.PART_USED, ServiceKind.WASTE)
OUTCOME = (
    ServiceKind.LEAK_CHECK,
    ServiceKind.ROAD_TEST,
    ServiceKind.RECHECKED,
    ServiceKind.HANDED_ON,
)


def papers(log: Log) -> tuple[ServiceEvent, ...]:
    """Return everything told of this kind that counts, in the order of PAPER_TEXT."""
    return tuple(e for kind in PAPER_TEXT for e in of(log, kind))


def words(event: ServiceEvent, service: Service, shown: Shown) -> str:
    """Return what one of them tells, with what the sheet says to it."""
    parts = {
        ServiceKind.FLUID_USED: _fluid,
        ServiceKind.PART_USED: _part,
        ServiceKind.WASTE: _waste,
        ServiceKind.ROAD_TEST: _road,
        ServiceKind.INSTRUMENT: _instrument,
    }.get(event.kind, _plain)(event, service, shown)
    return ", ".join(p for p in parts if p)


def _plain(event: ServiceEvent, _service: Service, _shown: Shown) -> list[str]:
    return [event.name, event.text]


def _fluid(event: ServiceEvent, service: Service, shown: Shown) -> list[str]:
    wrong = forbidden_by(service, event)
    verdict = ""
    if wrong:
        verdict = f"FORBIDDEN by the sheet ({wrong})"
    elif service.fluid_name:
        named = meets(service, event)
        verdict = "names the sheet's fluid" if named else "NOT the sheet's by its name"
    batch = f"batch {event.number}" if event.number else "batch not told"
    volume = "" if event.ml is None else shown.volume(event.ml)
    return [event.name, event.text, batch, volume, verdict]


def _part(event: ServiceEvent, service: Service, _shown: Shown) -> list[str]:
    on_sheet = sheet_part(service, event) is not None
    return [
        event.name,
        f"number {event.number}" if event.number else "",
        "" if event.count is None else f"quantity {event.count}",
        "" if on_sheet else "not on the sheet",
    ]


def _waste(event: ServiceEvent, _service: Service, shown: Shown) -> list[str]:
    where = f"handed in at {event.text}" if event.text else "where was not told"
    return [shown.volume(event.ml), event.name, where]


def _road(event: ServiceEvent, _service: Service, shown: Shown) -> list[str]:
    minutes = "" if event.minutes is None else f"{event.minutes:g} min"
    reached = ""
    if event.temp_c is not None:
        reached = f"fluid reached {shown.temperature(event.temp_c)}"
    return [minutes, reached, event.text]


def _instrument(event: ServiceEvent, _service: Service, _shown: Shown) -> list[str]:
    return [f"{event.name} {event.text}".strip(), calibrated(event)]


def calibrated(event: ServiceEvent, at_utc_s: float | None = None) -> str:
    """Return when an instrument was calibrated, and what is wrong with that.

    ``at_utc_s``: when it was used, s since 1970; None: when it was told of.
    """
    doubt = calibration_doubt(event, at_utc_s)
    calibration = f"calibrated {event.on}" if event.on else "calibration not told"
    return f"{calibration} ({doubt})" if doubt else calibration


def wrench_of(log: Log, torque: ServiceEvent) -> str:
    """Return the wrench a torque was set with: the newest told before it, else first.

    '' where none was told.
    """
    found: ServiceEvent | None = None
    for _, event in standing(log):
        wrench = (event.kind, event.name) == (ServiceKind.INSTRUMENT, Instrument.WRENCH)
        if wrench:
            found = event
        if event is torque and found is not None:
            break
    return (
        ""
        if found is None
        else f"{found.text or 'wrench'}, {calibrated(found, torque.at_utc_s)}"
    )
