"""What covers the figures, and until when no key marks anything because of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

QUIET_S = 1.0
"""No key marks anything within so long after the figures were covered."""
REPEAT_S = 0.2
"""Keys that come faster than a finger: a key is being held down."""


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
