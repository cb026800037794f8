"""What was told of the service in a few words, and whose car it is, asked. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.service.log import circuits_of
from bridge.service.rounds import reopened, rounds_of
from bridge.service.step_names import step_name
from bridge.units import show_distance
from bridge.values.service_events import ServiceKind
from bridge.values.service_sheet import StepKind
from tui.words import figures

if TYPE_CHECKING:
    from bridge.service.due import Due
    from bridge.service.log import Log
    from bridge.units import Units
    from bridge.values.service_events import ServiceEvent
    from bridge.values.sheet import Sheet

_KINDS: dict[ServiceKind, str] = {
    ServiceKind.OUT: "came out",
    ServiceKind.IN: "went in",
    ServiceKind.RAN_OFF: "ran out",
    ServiceKind.AT_HAND: "at hand",
    ServiceKind.TICKED: "ticked",
    ServiceKind.DONE: "step done",
    ServiceKind.VARIANT: "variant",
    ServiceKind.CAR: "fault codes saved",
    ServiceKind.EXERCISED: "selector cycled",
}


def what_is_next(sheet: Sheet, log: Log, step: StepKind) -> str:
    """Name the next step, and which round it begins."""
    begins = step is StepKind.DRAIN and step in reopened(sheet, log)
    rounds = [len(rounds_of(one.log)) for one in circuits_of(sheet, log)]
    again = f", round {min(rounds) + 1}" if begins else ""
    return f"Next: {step_name(step)}{again}."


def undone(event: ServiceEvent) -> str:
    """Return an entry in a few words: its kind, and what it was about."""
    if event.kind is ServiceKind.PARTICULAR:  # its name says more than its kind
        return f"{event.name}: {figures.clean(event.text, 40)}"
    kind = _KINDS.get(event.kind, event.kind.value.replace("-", " "))
    about = [figures.clean(event.name, 40)] if event.name else []
    about += [event.tick.value.replace("-", " ")] if event.tick is not None else []
    about += [f"{event.ml:.0f} mL"] if event.ml is not None else []
    if event.kind is ServiceKind.DONE and event.step is not None:
        about.append(step_name(event.step))
    return f"{kind}: {', '.join(about)}" if about else kind


def due_words(found: Due, units: Units) -> str:
    """Return the due date and distance in one sentence."""
    when = []
    if found.odometer_km is not None:
        when.append(f"at {show_distance(found.odometer_km, units)}")
    elif found.distance_km is not None:
        when.append(f"in {show_distance(found.distance_km, units)}")
    if found.on is not None:
        when.append(f"on {found.on.isoformat()}")
    first = ", whichever comes first" if len(when) == 2 else ""
    return f"Next due {' or '.join(when)}{first}."


def whose_car(sheet: Sheet, *, plain: bool) -> str:
    """Return the question for plate, customer and odometer, asked once a job.

    ``plain``: there is no screen, lines are typed.
    """
    if plain:
        how = "type 'car PLATE', 'customer NAME', 'odometer 123456 km'"
    elif sheet.service.order:
        how = "on the service screen p takes plate, customer and more"
    else:
        how = "w takes its plate as a note"
    return f"Whose car is it? So that it is found again: {how}."


def plug_left_out(job: str, car: str) -> str:
    """Return that an older job was left with the level plug out."""
    whose = f" ({figures.clean(car, 40)})" if car else ""
    return (
        f"In the older job {figures.clean(job, 80)}{whose} the level plug was left "
        "OUT: see that it is in and tight, fluid may have run off."
    )
