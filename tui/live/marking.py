"""The keys of the level step: what a key tells the monitor, and when it is dead.

One key does most of it, so that a presenter remote (PageDown or Enter, PageUp) can:
it marks the opening when GO is called and drips while the plug is out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.values.events import Mark, Marked
from tui.inputs.offers import CONFIRM_KEYS, by_word, main_offer

if TYPE_CHECKING:
    from collections.abc import Callable

    from bridge.level.step.step_values import Step
    from bridge.values.sheet import Confirmation
    from tui.inputs.offers import Offer

QUIET_S = 1.0
"""No key marks anything within so long after the figures were covered."""
REPEAT_S = 0.2
"""Keys that come faster than a finger: a key is being held down."""
JUST_COVERED = "NOT marked: the figures were covered until just now. Press it again."


def main_key(step: Step | None) -> Marked | None:
    """Return what the one key tells in the present phase; None: nothing now."""
    return _marked(main_offer(step))


def word_key(word: str, step: Step | None) -> Marked | None:
    """Return what a key with a meaning of its own tells now; None: nothing now."""
    return _marked(by_word(step, word))


def _marked(offer: Offer | None) -> Marked | None:
    if offer is None or offer.mark is None or not offer.key:
        return None
    return Marked(mark=offer.mark, confirms=offer.confirms)


def confirmation(number: int, step: Step | None) -> Marked:
    """Return the mark that confirms point ``number`` (1..7), or takes it back."""
    return confirming(CONFIRM_KEYS[number - 1], step)


def confirming(what: Confirmation, step: Step | None) -> Marked:
    """Return the mark that confirms a point, or takes it back where it is given."""
    given = step is not None and what in step.confirmed
    return Marked(mark=Mark.WITHDRAWN if given else Mark.CONFIRMED, confirms=what)


class Cover:
    """Knows until when something covered the figures: a page, a prompt, a question.

    Whoever presses a key there means what covers them, not the car; and a key that is
    held down there goes on for a while.
    """

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock = clock
        self._until_s = self._key_s = clock()

    def note(self, *, covered: bool) -> None:
        """Take note of how it stands."""
        if covered:
            self._until_s = self._clock()

    def key(self, *, covered: bool) -> None:
        """Take note of a key, before it does anything."""
        now_s = self._clock()
        held = now_s - self._key_s < REPEAT_S and not self.lets
        self.note(covered=covered or held)
        self._key_s = now_s

    @property
    def lets(self) -> bool:
        """Whether a mark is taken now."""
        return self._clock() - self._until_s >= QUIET_S
