"""The plain text lines: heading, reason, values, keys."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.values.conditions import ConditionState, Verdict
from tui.widgets.painted import (
    BoardPart,
    Painted,
    Row,
    cut_row,
    first_that_fits,
    row_width,
    spread_row,
)
from tui.words.screen import screen_words

if TYPE_CHECKING:
    from textual.geometry import Size

    from tui.live.screen_state import ConditionLine, ScreenState


_GIVE_WAY = (ConditionState.MET, ConditionState.NEEDLESS)
NEEDED = "60x20"
"""The least terminal the whole screen fits in."""


class Heading(Painted):
    """The sheet and its window on the left, where the numbers come from right."""

    _left: tuple[str, ...] = ()
    _right = ""

    def say(self, left: tuple[str, ...], right: str) -> None:
        """Take both; of the left ones the first that has room is shown."""
        self._left, self._right = left, right
        self.refresh()

    def paint(self, size: Size) -> list[Row]:
        """Draw one row."""
        name: Row = [("sumpgate  ", "dim")]
        right = cut_row([(self._right, "dim")], size.width // 2)
        room = size.width - row_width(name) - row_width(right) - 1
        left = first_that_fits(self._left, room)
        return [spread_row([*name, (left, "strong")], right, size.width)]


class Why(BoardPart):
    """The first reason in plain words, below it the remedy; as high as they need.

    On a short screen the remedy is left out, but never under GO: what is told before
    the opening is opened is told in full.
    """

    MOST = 4
    _said: tuple[str, str] = ("", "")

    def show(self, state: ScreenState) -> None:
        """Take a new state, and the rows its words need."""
        super().show(state)
        words = (state.headline, state.remedy)
        if words != self._said:
            self._said = words
            width, height = self.content_size
            if width and len(self._rows(state, width)) != height:
                self.refresh(layout=True)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002 - Textual's
        """Return how many rows the words take at this width."""
        return 1 if self._board is None else len(self._rows(self._board, width))

    def paint_state(self, state: ScreenState, size: Size) -> list[Row]:
        """Draw the reason, and how many more there are; then the remedy."""
        rows = self._rows(state, size.width)
        if len(rows) > size.height:  # above the phone's code there is one row
            rows = [spread_row(_reason(state), _more(state), size.width)]
        return rows

    def _rows(self, state: ScreenState, width: int) -> list[Row]:
        more, look = _more(state), _look(state)
        first = wrap(state.headline, width - row_width(more) - bool(more))
        rows: list[Row] = [[(line, look)] for line in first]
        if rows and more:
            rows[0] = spread_row(rows[0], more, width)
        before = state.verdict is Verdict.GO and not state.standing
        if before or not self.screen.has_class("-short"):
            rows += [[(line, "")] for line in wrap(state.remedy, width)]
        if len(rows) > self.MOST:
            text, its = rows[self.MOST - 1][0]
            rows[self.MOST - 1] = cut_row([(text + " " * width, its)], width)
        return rows[: self.MOST]


def _more(state: ScreenState) -> Row:
    return [(f"+{state.more} more", "dim")] if state.more else []


def _look(state: ScreenState) -> str:
    return "doubt" if state.hurry else "strong"


def _reason(state: ScreenState) -> Row:
    return [(state.headline, _look(state))]


class Standing(BoardPart):
    """While the plug is open: how it runs down. Wrapped between pieces, never cut."""

    def part(self, state: ScreenState) -> object:
        """Return the pieces alone."""
        return state.standing

    def paint_state(self, state: ScreenState, size: Size) -> list[Row]:
        """Draw the pieces in as few rows as they need."""
        return [[(row, "strong")] for row in in_pieces(state.standing, size.width)]


class ResultText(BoardPart):
    """What came of the level: why, about how much, and what to do next."""

    def part(self, state: ScreenState) -> object:
        """Return the result alone."""
        return state.result

    def paint_state(self, state: ScreenState, size: Size) -> list[Row]:
        """Draw the result's paragraphs, apart from each other where there is room."""
        how = state.result
        if how is None:
            return []
        parts = [f"Level: {how.came.value}. {how.why}", how.how_much, how.onward]
        wrapped = [wrap(text, size.width) for text in parts]
        apart = sum(map(len, wrapped)) + 2 <= size.height
        rows: list[Row] = []
        for lines, look in zip(wrapped, ("strong", "", "strong"), strict=True):
            rows += [[]] if apart and rows and lines else []
            rows += [[(line, look)] for line in lines]
        return rows


class Checklist(BoardPart):
    """The conditions with the state of each, by sign and word."""

    def part(self, state: ScreenState) -> object:
        """Return the conditions alone."""
        return state.conditions

    def paint_state(self, state: ScreenState, size: Size) -> list[Row]:
        """Draw one row for each, and a second with the why where there is room."""
        rows: list[Row] = []
        for line in self._in_view(state, size.height):
            rows.append(self._row(line, size.width))
            if size.height >= 2 * len(state.conditions):
                rows.append(cut_row([(f"  {line.why}", "dim")], size.width))
        return rows

    @staticmethod
    def _in_view(state: ScreenState, rows: int) -> list[ConditionLine]:
        """Return the conditions in their order; what is met gives way where it must."""
        lines = list(state.conditions)
        for line in reversed(state.conditions):
            if len(lines) > rows and line.state in _GIVE_WAY:
                lines.remove(line)
        return lines

    def _row(self, line: ConditionLine, width: int) -> Row:
        sign, look = {
            ConditionState.MET: (self.glyphs.met, "good"),
            ConditionState.NOT_MET: (self.glyphs.not_met, "bad"),
            ConditionState.UNKNOWN: (self.glyphs.unknown, "doubt"),
            ConditionState.NEEDLESS: (" ", "dim"),
        }[line.state]
        left: Row = [(f"{sign} ", look), (line.name, "")]
        return spread_row(left, [(line.word, look)], width)


class CarValues(BoardPart):
    """Link, age of the reading, and the other values of the car."""

    def paint_state(self, state: ScreenState, size: Size) -> list[Row]:
        """Draw the link first, then two values to a row."""
        width = size.width
        rows = [_pair("Link", state.link, width), _pair("Read", state.age, width)]
        half = max(15, width // 2)
        for a, b in zip(state.values[::2], state.values[1::2], strict=True):
            left = _pair(*a, half - 1)
            gap = " " * (half - row_width(left))
            rows.append([*left, (gap, ""), *_pair(*b, width - half)])
        return rows + [[(line, "doubt")] for line in wrap(state.detail, width)]


def _pair(name: str, text: str, width: int) -> Row:
    return cut_row([(f"{name} ", "dim"), (text, "")], width)


class Keys(Painted):
    """The keys, with what each does now; those that find no room are left out."""

    _keys: tuple[tuple[str, str], ...] = ()

    def say(self, keys: tuple[tuple[str, str], ...]) -> None:
        """Take the keys (key, what it does), the most wanted first."""
        if keys != self._keys:
            self._keys = keys
            self.refresh()

    def paint(self, size: Size) -> list[Row]:
        """Draw as many as there is room for."""
        keys: Row = []
        for key, does in self._keys:
            pair: Row = [(f" {key} ", "key"), (f" {does} ", "")]
            if keys and row_width(keys + pair) > size.width:
                break
            keys += pair
        return [cut_row(keys, size.width)]


class TooSmall(BoardPart):
    """Stands in for the whole screen on a terminal too small for it."""

    def paint_state(self, state: ScreenState, size: Size) -> list[Row]:
        """Wrap the verdict, the reason and what size is needed."""
        verdict = f"{state.verdict.value}: {state.headline}."
        remedy = screen_words.TOO_SMALL.format(NEEDED, size.width, size.height)
        if state.result is not None:
            verdict = f"{state.result.came.value}: {state.result.onward}"
        lines = [*wrap(verdict, size.width), *in_pieces(state.standing, size.width)]
        rows: list[Row] = [[(line, "strong")] for line in lines]
        return rows + [[(line, "")] for line in wrap(remedy, size.width)]


def wrap(text: str, width: int) -> list[str]:
    """Break a text into lines at spaces; a longer word is broken where it must."""
    import textwrap

    return textwrap.wrap(text, max(1, width))


def in_pieces(pieces: tuple[str, ...], width: int) -> list[str]:
    """Join pieces with commas, and begin a new line rather than break one."""
    lines: list[str] = []
    for piece in pieces:
        joined = f"{lines[-1]}, {piece}" if lines else piece
        if lines and len(joined) <= width:
            lines[-1] = joined
        else:
            lines += wrap(piece, width)
    return lines
