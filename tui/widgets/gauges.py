"""The temperature and the next countdown in big digits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.values.frozen import frozen
from tui.widgets.bigtext import (
    DIGITS,
    TALL,
    WIDE_DIGITS,
    halved,
    segments,
    set_text,
    solid,
)
from tui.widgets.painted import BoardPart, Row, cut_row, row_width, spread_row

if TYPE_CHECKING:
    from textual.geometry import Size

    from tui.live.screen_state import ScreenState
    from tui.words.screen.countdown import Countdown

_GAP = 2


@frozen
class _Style:
    """One way to lay the gauges out; ``_STYLES`` holds them from best to least."""

    wide: bool
    beside: bool
    """The spread stands beside the figure, not in the label above."""
    counting: bool


_STYLES = tuple(
    _Style(wide=wide, beside=beside, counting=counting)
    for counting in (True, False)
    for wide, beside in ((True, True), (False, True), (False, False))
)


class Gauges(BoardPart):
    """Left the fluid, right what comes next: opening, or shutting once inside."""

    def paint_state(self, state: ScreenState, size: Size) -> list[Row]:
        """Draw a row of labels over big digits, in the best layout that fits."""
        event = next_event(state)
        for style in _STYLES:
            if (style.wide and size.height - 1 < TALL) or style.counting > bool(event):
                continue
            fluid = self._fluid(state, style, size.height - 1)
            counter = self._counter(event if style.counting else None, style, size)
            needed = widest(fluid) + (_GAP + widest(counter) if counter else 0)
            if needed <= size.width:
                return self._join(state, style, fluid, counter, size.width)
        return self._join(state, _STYLES[-1], [[(state.number, "strong")]], [], 0)

    def _fluid(self, state: ScreenState, style: _Style, height: int) -> list[Row]:
        look = "dim" if state.last_seen else "strong"
        rows: list[Row] = [
            [(line, look)] for line in self._digits(state.number, style, height)
        ]
        rows[0].append((state.unit, look))
        if style.beside and state.spread:
            rows[1].append((f" {state.spread}", ""))
        return rows

    def _counter(self, event: Countdown | None, style: _Style, size: Size) -> list[Row]:
        if event is None:
            return []
        digits = self._digits(event.big, style, size.height - 1)
        rows: list[Row] = [[(line, "strong")] for line in digits]
        if event.big_unit:
            rows[0].append((f" {event.big_unit}", "strong"))
        return rows

    def _digits(self, text: str, style: _Style, height: int) -> list[str]:
        bitmap = set_text(text, WIDE_DIGITS if style.wide else DIGITS)
        if height >= len(bitmap):
            return solid(bitmap, 1, self.glyphs)
        if self.glyphs.ascii_only:
            return segments(text)
        return halved(bitmap, self.glyphs)

    def _join(
        self,
        state: ScreenState,
        style: _Style,
        fluid: list[Row],
        counter: list[Row],
        width: int,
    ) -> list[Row]:
        label = self._label(state, spread=not style.beside)
        if not counter:
            return [cut_row(label, max(width, 1)), *fluid]
        start = width - widest(counter)
        word = state.shuts.label if state.inside else state.opens.label
        right: Row = [(word, "dim")]
        if start > row_width(label) and start + len(word) <= width:
            right.append((" " * (width - start - len(word)), ""))
        rows = [spread_row(label, right, width)]
        for row, line in zip(fluid, counter, strict=True):
            rows.append([*row, (" " * (start - row_width(row)), ""), *line])
        return rows

    def _label(self, state: ScreenState, *, spread: bool) -> Row:
        if state.last_seen:
            return [(state.last_seen, "doubt")]
        plus_minus = f" {state.spread} {state.unit}" if spread and state.spread else ""
        return [(f"Fluid{plus_minus}, ", "dim"), (state.trend, "")]


def next_event(state: ScreenState) -> Countdown | None:
    """Return the countdown for the big digits; None if there is none to show."""
    if state.last_seen:
        return None
    event = state.shuts if state.inside else state.opens
    return event if event.big else None


def widest(rows: list[Row]) -> int:
    """Return the width of the widest row."""
    return max((row_width(row) for row in rows), default=0)
