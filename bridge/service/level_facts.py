"""What the level step tells the service: the log as a whole, each fact kept once.

Cautions read, the selector worked through, what was added and how the level was
judged are facts of the level step. The service shows them, and counts what was
added, as if they stood in its own log; nobody enters them there.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bridge.level.step.step_values import Outcome
from bridge.service.log import standing
from bridge.values.events import Mark, Marked
from bridge.values.frozen import frozen
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.service_sheet import StepKind
from bridge.values.sheet import Confirmation

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bridge.level.step.step_values import Step
    from bridge.service.log import Log
    from bridge.values.events import PersonEvent
    from bridge.values.sheet import Leg

CONFIRMED_BY: dict[StepKind, Confirmation] = {
    StepKind.CAUTIONS: Confirmation.CAUTIONS,
    StepKind.EXERCISE: Confirmation.SELECTOR_EXERCISED,
}
"""Steps that are done when the level step has their confirmation."""


@frozen
class LevelSet:
    """A circuit's level that was set in a phase before the present one."""

    circuit: str
    log_length: int
    """So long was the log when it was judged."""
    added_after_ml: float = 0.0


@frozen
class LevelFacts:
    """What of the level step the service wants to know."""

    confirmed: tuple[Confirmation, ...] = ()
    added_ml: float = 0.0
    added_temp_c: float | None = None
    added_in: tuple[tuple[str, float], ...] = ()
    """The same by circuit, where the sheet has several."""
    set_in: tuple[LevelSet, ...] = ()
    """Levels of circuits that were set in phases that are behind."""
    outcome: Outcome | None = None
    """How the level was judged; None: it was not, or that was taken back."""
    added_after_ml: float = 0.0
    """Of what was added, how much after it was judged."""
    since: int = 0
    """So long was the log when it was judged, or that was taken back. What the log
    says of the level before that does not count any more."""


def added_in(step: Step, legs: Sequence[Leg]) -> tuple[tuple[str, float], ...]:
    """Return what was filled in at the level step, by circuit; empty: no circuits."""
    found: dict[str, float] = {}
    for leg, ml in zip(legs, step.added_in_legs, strict=False):
        if leg.circuit and ml > 0.0:
            found[leg.circuit] = found.get(leg.circuit, 0.0) + ml
    return tuple(found.items())


def set_in(step: Step, legs: Sequence[Leg]) -> tuple[LevelSet, ...]:
    """Return which circuits' levels were set in phases that are behind."""
    return tuple(
        LevelSet(
            circuit=leg.circuit,
            log_length=done.log_length,
            added_after_ml=done.added_after_ml,
        )
        for leg, done in zip(legs, step.legs_done, strict=False)
        if leg.circuit and done.outcome is Outcome.GOOD and done.log_length is not None
    )


def facts_of(step: Step, since: int, legs: Sequence[Leg] = ()) -> LevelFacts:
    """Return what a level step tells; ``since`` as in LevelFacts.

    A good phase before the last is no level of the service yet.
    """
    judged = step.judgement
    outcome = judged.outcome if judged else None
    if outcome is Outcome.GOOD and not step.last_leg:
        outcome = None
    return LevelFacts(
        confirmed=step.confirmed,
        added_ml=step.added_ml,
        added_temp_c=step.added_temp_c,
        added_in=added_in(step, legs),
        set_in=set_in(step, legs),
        outcome=outcome,
        added_after_ml=0.0 if judged is None else step.added_ml - judged.added_ml,
        since=since,
    )


def whole(log: Log, facts: LevelFacts) -> Log:
    """Return the log with what the level step tells behind it.

    The numbers of the log's own entries stay as they are.
    """
    own = log
    for number, event in standing(log[: facts.since]):
        if _of_level(event):
            own = (*own, _fact(ServiceKind.TAKEN_BACK, back=number))
    events = [
        _fact(ServiceKind.DONE, step=step)
        for step, what in CONFIRMED_BY.items()
        if what in facts.confirmed
    ]
    for name, ml in facts.added_in:  # the temperature told is of all of it together
        events.append(_fact(ServiceKind.ADDED, name=name, ml=ml))
    if facts.added_ml > 0.0 and not facts.added_in:
        added = _fact(ServiceKind.ADDED, name="level step", ml=facts.added_ml)
        events.append(replace(added, temp_c=facts.added_temp_c))
    for one in facts.set_in:
        event = _fact(
            ServiceKind.LEVEL_BEFORE, name=one.circuit, ml=max(0.0, one.added_after_ml)
        )
        events.append(replace(event, count=one.log_length))
    if facts.outcome is not None:
        judged = _fact(
            ServiceKind.LEVEL,
            step=StepKind.LEVEL,
            name=facts.outcome.value,
            ml=max(0.0, facts.added_after_ml),
        )
        events.append(replace(judged, count=facts.since))
        if facts.outcome is Outcome.GOOD:
            events.append(_fact(ServiceKind.DONE, step=StepKind.LEVEL))
    return (*own, *events)


def _of_level(event: ServiceEvent) -> bool:
    kinds = (ServiceKind.LEVEL, ServiceKind.DONE)
    return event.kind in kinds and event.step is StepKind.LEVEL


def _fact(
    kind: ServiceKind,
    *,
    step: StepKind | None = None,
    name: str = "",
    ml: float | None = None,
    back: int | None = None,
) -> ServiceEvent:
    return ServiceEvent(kind=kind, step=step, name=name, ml=ml, back=back)


def as_fact(event: ServiceEvent, *, given: bool = True) -> PersonEvent:
    """Return the event that tells what an entry would tell a second time.

    Marking a step done that a confirmation stands for is that confirmation; what is
    added is the level step's mark. ``given``: False takes it back.
    """
    if event.kind is ServiceKind.ADDED:
        return Marked(mark=Mark.ADDED, ml=event.ml, temp_c=event.temp_c)
    what = CONFIRMED_BY.get(event.step) if event.step is not None else None
    if event.kind is not ServiceKind.DONE or what is None:
        return event
    return Marked(mark=Mark.CONFIRMED if given else Mark.WITHDRAWN, confirms=what)
