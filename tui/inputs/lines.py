"""One typed line, one event: the words of a job, read by the parser of the screen.

A line that is wrong is answered with one sentence and changes nothing.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bridge.values.events import Mark, Marked, Measured, Tilted
from bridge.values.sheet import Confirmation
from tui.inputs.answers import (
    UNSTAMPED_S,
    Refused,
    read_added,
    read_thermometer,
    read_tilt,
    short,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from bridge.values.sheet import Sheet

MARK_WORDS: dict[str, Mark] = {
    "opened": Mark.OPENED,
    "drip": Mark.DRIP,
    "streams": Mark.STREAMING,
    "nothing": Mark.NOTHING_CAME,
    "closed": Mark.CLOSED,
    "undo": Mark.UNDO,
    "again": Mark.RESTART,
}
"""Words that stand alone on their line."""

Told = Marked | Measured | Tilted


class LineReader:
    """Reads the lines of one job; remembers only what it asked back last."""

    def __init__(self, sheet: Sheet, *, accuracy_c: float | None = None) -> None:
        """``accuracy_c``: of the thermometer in use; None: as usual for infrared."""
        self._sheet, self._accuracy_c = sheet, accuracy_c
        self._asked_back = ""
        self._words: dict[str, Callable[[str], Told | Refused]] = {
            "confirm": lambda what: _confirmation(what, Mark.CONFIRMED),
            "withdraw": lambda what: _confirmation(what, Mark.WITHDRAWN),
            "added": self._added,
            "tilt": read_tilt,
            "read": self._read,
        }

    def read(self, line: str) -> Told | Refused:
        """Return what a line tells, or why it tells nothing."""
        told = self._told(line)
        again = isinstance(told, Refused) and told.again
        self._asked_back = _after_word(line) if again else ""
        return told

    def _told(self, line: str) -> Told | Refused:
        word = line.split(maxsplit=1)[0].casefold() if line.split() else ""
        rest = _after_word(line)
        if word in MARK_WORDS:
            if rest:
                return Refused(words=f'"{word}" stands alone on its line.')
            return Marked(mark=MARK_WORDS[word], t_s=UNSTAMPED_S)
        if word in self._words:
            return self._words[word](rest)
        known = ", ".join((*MARK_WORDS, *self._words))
        return Refused(words=f"{short(line)} begins with none of the words {known}.")

    def _added(self, text: str) -> Marked | Refused:
        return read_added(text, sheet=self._sheet, before=self._asked_back)

    def _read(self, text: str) -> Measured | Refused:
        told = read_thermometer(text, None)
        if isinstance(told, Measured) and self._accuracy_c is not None:
            return replace(told, accuracy_c=self._accuracy_c)
        return told


def _after_word(line: str) -> str:
    parts = line.split(maxsplit=1)
    return parts[1].strip() if len(parts) > 1 else ""


def _confirmation(what: str, mark: Mark) -> Marked | Refused:
    if what not in tuple(Confirmation):
        one_of = ", ".join(Confirmation)
        return Refused(words=f"{short(what)} cannot be confirmed: only {one_of}.")
    return Marked(mark=mark, confirms=Confirmation(what), t_s=UNSTAMPED_S)
