"""The temperature and the next countdown in big digits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tui.widgets.bigtext import DIGITS, halved, set_text, solid
from tui.widgets.painted import BoardPart, Row, cut_row, row_width, spread_row

if TYPE_CHECKING:
    from textual.geometry import Size

    from tui.board import Board
    from tui.countdown import Countdown

_GAP = 2


class Gauges(BoardPart):
    """Left the fluid, right what comes next: opening, or shutting once inside."""

    def paint_board(self, board: Board, size: Size) -> list[Row]:
        """Draw a row of labels over a row of big digits."""
        width, height = size
        look = "dim" if board.last_seen else "strong"
        digits = self._digits(board.number, height - 1)
        rows: list[Row] = [[(line, look)] for line in digits]
        rows[0].append((board.unit, look))
        beside = self._add_countdown(rows, width, height - 1, len(board.spread) + 1)
        if beside:
            rows[1].insert(1, (f" {board.spread}", ""))
        return [self._labels(board, width, spread=not beside), *rows]

    def _digits(self, text: str, height: int) -> list[str]:
        bitmap = set_text(text, DIGITS)
        if height >= len(bitmap):
            return solid(bitmap, 1, self.glyphs)
        return halved(bitmap, self.glyphs)

    def _next(self) -> Countdown | None:
        board = self._board
        if board is None or board.last_seen:
            return None
        event = board.shuts if board.inside else board.opens
        return event if event.big else None

    def _add_countdown(
        self, rows: list[Row], width: int, height: int, spread: int
    ) -> bool:
        """Add the countdown if it fits; say if the spread fits beside the figure."""
        left = max(row_width(row) for row in rows)
        event = self._next()
        if event is None:
            return left + spread <= width
        digits = self._digits(event.big, height)
        needed = len(digits[0]) + len(event.big_unit) + (1 if event.big_unit else 0)
        room = width - left - needed
        if room < _GAP:
            return left + spread <= width
        beside = room >= spread + _GAP
        start = left + _GAP + (spread if beside else 0)
        for y, (row, line) in enumerate(zip(rows, digits, strict=True)):
            taken = row_width(row) + (spread if beside and y == 1 else 0)
            row += [(" " * (start - taken), ""), (line, "strong")]
        if event.big_unit:
            rows[0].append((f" {event.big_unit}", "strong"))
        return beside

    def _labels(self, board: Board, width: int, *, spread: bool) -> Row:
        if board.last_seen:
            return cut_row([(board.last_seen, "doubt")], width)
        plus_minus = f" {board.spread} {board.unit}" if spread and board.spread else ""
        fluid: Row = [(f"Fluid{plus_minus}, ", "dim"), (board.trend, "")]
        event = self._next()
        return spread_row(fluid, [(event.label, "dim")] if event else [], width)
