"""Which marks the phone may make in a phase. Pure.

Only marks of what runs out of the opening. A confirmation opens the gate, so none can
be given, taken back or brought back from the phone; nor can the step be begun again.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from bridge.level.step.step_values import Phase
from bridge.values.events import Mark

if TYPE_CHECKING:
    from bridge.level.step.step_values import Step

MARKS = frozenset(
    {
        Mark.OPENED,
        Mark.DRIP,
        Mark.STREAMING,
        Mark.NOTHING_CAME,
        Mark.CLOSED,
        Mark.UNDO,
    }
)
"""All that a phone can ever tell."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """The buttons of one moment."""

    main: Mark | None = None
    """The one big button; None: nothing is to be marked now."""
    others: tuple[Mark, ...] = ()
    undo: bool = False

    @property
    def marks(self) -> frozenset[Mark]:
        """Every mark that is taken now."""
        told = {*self.others}
        if self.main is not None:
            told.add(self.main)
        if self.undo:
            told.add(Mark.UNDO)
        return frozenset(told)


_BUTTONS: dict[Phase, tuple[Mark, tuple[Mark, ...]]] = {
    Phase.GET_READY: (Mark.OPENED, ()),
    Phase.GO: (Mark.OPENED, ()),
    Phase.RUNNING_DOWN: (
        Mark.DRIP,
        (Mark.CLOSED, Mark.STREAMING, Mark.NOTHING_CAME),
    ),
    Phase.SETTLED: (Mark.CLOSED, (Mark.DRIP, Mark.STREAMING, Mark.NOTHING_CAME)),
    Phase.CLOSE: (Mark.CLOSED, (Mark.DRIP, Mark.STREAMING)),
    Phase.LOW: (Mark.OPENED, (Mark.CLOSED,)),
}


def offer(step: Step | None) -> Offer:
    """Return the buttons for where the step stands; None: no step, no buttons."""
    if step is None:
        return Offer()
    main, others = _BUTTONS.get(step.phase, (None, ()))
    return Offer(main=main, others=others, undo=may_undo(step))


def may_undo(step: Step) -> bool:
    """Say whether the last mark is one that the phone may take back.

    Not if that would change a confirmation, or go back before a new beginning.
    """
    if not step.past:
        return False
    before = step.past[-1]
    return (
        before.confirmed == step.confirmed
        and before.attempt == step.attempt
        and before.added_ml == step.added_ml
    )
