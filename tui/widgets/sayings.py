"""Sentences above the keys: what was said lately, and what is asked or answered now.

They have rows of their own, so that they never cover a condition or a prompt.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tui.widgets.lines import wrap
from tui.widgets.painted import Painted, Row
from tui.words import figures

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.events import Resize
    from textual.geometry import Size

    from tui.widgets.glyphs import Glyphs

LASTS_S = 20.0
"""A sentence stays so long from the moment it is first to be seen."""
LEAST_S = 6.0
"""So long it stays where another waits for its room."""
MOST_ROWS = 4
"""Of what was said lately; what finds no room waits."""


@dataclass(slots=True)
class _Sentence:
    text: str
    until_s: float | None = None
    """None: it has not been seen yet."""


class Sayings:
    """What was said lately, the oldest first; an answer to a key before all else."""

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock = clock
        self._said: list[_Sentence] = []

    def add(self, text: str, *, first: bool) -> None:
        """Take a sentence; one that stands there already starts its time anew."""
        text = figures.clean(text)
        self._said = [s for s in self._said if s.text != text]
        self._said.insert(0 if first else len(self._said), _Sentence(text))

    def rows(self, width: int) -> tuple[str, ...]:
        """Return the rows to show now, and take them as seen."""
        now_s = self._clock()
        self._said = [s for s in self._said if s.until_s is None or now_s < s.until_s]
        rows: list[str] = []
        for sentence in self._said:
            lines = wrap(sentence.text, width)
            if rows and len(rows) + len(lines) > MOST_ROWS:
                if self._gives_way(now_s):
                    return self.rows(width)
                break
            rows += lines[:MOST_ROWS]
            if sentence.until_s is None:
                sentence.until_s = now_s + LASTS_S
        return tuple(rows)

    def _gives_way(self, now_s: float) -> bool:
        """Drop the oldest if it has been seen for long enough."""
        until_s = self._said[0].until_s
        seen = until_s is not None and now_s >= until_s - LASTS_S + LEAST_S
        if seen:
            self._said.pop(0)
        return seen


class SaidLines(Painted):
    """Draws the sentences in as many rows as they need; none, no rows."""

    def __init__(self, glyphs: Glyphs) -> None:
        super().__init__(glyphs, id="said")
        self._sayings: Sayings | None = None
        self._note = ""
        self._rows: tuple[str, ...] = ()

    def say(self, note: str, sayings: Sayings | None = None) -> None:
        """Take what is asked or answered now, and what was said lately."""
        self._note, self._sayings = note, sayings or self._sayings
        self._fit()

    def on_resize(self, event: Resize) -> None:  # noqa: ARG002 - Textual's hook
        """Wrap for the new width."""
        self._fit()

    def _fit(self) -> None:
        width = max(1, self.app.size.width - 2)
        lately = self._sayings.rows(width) if self._sayings is not None else ()
        rows = (*lately, *wrap(self._note, width))
        if rows != self._rows:
            self._rows = rows
            self.styles.height = len(rows)
            self.display = bool(rows)
            self.refresh(layout=True)

    def paint(self, size: Size) -> list[Row]:  # noqa: ARG002 - it has wrapped already
        """Draw the rows."""
        return [[(row, "doubt")] for row in self._rows]
