"""What is called out: the step's calls and the seconds left near an end. Pure.

One place for both voices, the laptop's and the phone's, so that they say the same.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.level.step.step_values import Bell, Phase
from bridge.values.frozen import frozen
from tui.words.instructions import instruction_text
from tui.words.screen import countdown, screen_words

if TYPE_CHECKING:
    from bridge.level.step.step_values import Step
    from bridge.snapshot import Snapshot

SAID_S = (60, 45, 30, 20, 15, 10, 5)
"""Seconds left that are called out as they are passed."""
NEWS_S = 5.0
"""A call older than this, when first seen, is not called out any more."""


@frozen
class Call:
    """One thing to call out."""

    number: int
    """Counts up by one with each call."""
    bell: Bell | None
    """None: it is only the seconds left."""
    text: str


@frozen
class Left:
    """What is counted down to, and how far off it is."""

    words: str
    left_s: float


def left_of(snapshot: Snapshot) -> Left | None:
    """Return what is counted down to now; None: nothing, or not known.

    Until the window opens its likely opening, or its earliest one where that is
    rough; then the earliest likely shutting.
    """
    step = snapshot.step
    if step is None or snapshot.temp_c is None:
        return None
    if step.phase is Phase.GO or step.plug_open:
        shuts = countdown.sound(snapshot.shuts)
        early_s = shuts.p05_s if shuts else None
        return None if early_s is None else Left(words="may shut", left_s=early_s)
    if step.phase is not Phase.GET_READY:
        return None
    opens = countdown.sound(snapshot.opens)
    if opens is None or not opens.narrow:
        early_s = opens.p05_s if opens else None
        return Left(words="may open", left_s=early_s) if early_s else None
    return Left(words="opens", left_s=opens.p50_s) if opens.p50_s else None


def passed(before_s: float, now_s: float) -> int | None:
    """Return the least of the seconds to say that lie between the two; or None."""
    crossed = [s for s in SAID_S if now_s <= s < before_s]
    return min(crossed) if crossed else None


class Caller:
    """Remembers what was called out."""

    def __init__(self) -> None:
        self._number = 0
        self._rung_at_s: float | None = None
        self._left: Left | None = None

    def take(self, snapshot: Snapshot) -> Call | None:
        """Return what this snapshot calls for, or None."""
        last, self._left = self._left, left_of(snapshot)
        step = snapshot.step
        if step is not None and self._rings(step):
            return self._call(step.rung, instruction_text(step.instruction))
        left = self._left
        if left is None or last is None or left.words != last.words:
            return None
        seconds = passed(last.left_s, left.left_s)
        if seconds is None:
            return None
        return self._call(None, screen_words.CALLED.format(left.words, seconds))

    def _rings(self, step: Step) -> bool:
        if step.rung_at_s is None or step.rung_at_s == self._rung_at_s:
            return False
        self._rung_at_s = step.rung_at_s
        return step.now_at_s - step.rung_at_s <= NEWS_S

    def _call(self, bell: Bell | None, text: str) -> Call:
        self._number += 1
        return Call(number=self._number, bell=bell, text=text)
