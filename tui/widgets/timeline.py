"""Opening and shutting on one time scale: the likely range and its middle."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.values.outlook import HORIZON_S
from tui.widgets.painted import BoardPart, Row, cut_row, first_that_fits

if TYPE_CHECKING:
    from textual.geometry import Size

    from tui.live.screen_state import ScreenState
    from tui.widgets.glyphs import Glyphs
    from tui.words.screen.countdown import Countdown

SCALES_S = (60.0, 120.0, 300.0, 600.0, 1200.0, 1800.0, HORIZON_S)


class Timeline(BoardPart):
    """Two countdowns, each a sentence over a bar; both bars share their scale."""

    def paint_state(self, state: ScreenState, size: Size) -> list[Row]:
        """Draw sentence and bar for opening, then for shutting."""
        scale_s = scale_for(state.opens, state.shuts)
        rows: list[Row] = []
        for event in (state.opens, state.shuts):
            sentence = first_that_fits(event.sentences, size.width)
            rows.append(cut_row([(sentence, "")], size.width))
            rows.append(self._bar_row(event, scale_s, size.width))
        return rows

    def _bar_row(self, event: Countdown, scale_s: float, width: int) -> Row:
        if event.early_s is None:
            return []
        end = f" {scale_s / 60:.0f} min"
        room = width - len("now ") - len(end)
        if room < 8:
            return []
        drawn = bar(event, scale_s, room, self.glyphs)
        return [("now ", "dim"), *drawn, (end, "dim")]


def scale_for(*events: Countdown) -> float:
    """Return the shortest scale, in seconds, that holds every known end."""
    ends = [0.0]
    for event in events:
        known = [t for t in (event.early_s, event.middle_s, event.late_s) if t]
        beyond = event.early_s is not None and event.late_s is None
        ends += [HORIZON_S] if beyond else known
    return next((s for s in SCALES_S if s >= max(ends)), HORIZON_S)


def bar(event: Countdown, scale_s: float, width: int, glyphs: Glyphs) -> Row:
    """Draw the range on a track of ``width`` cells, its middle marked."""
    if event.early_s is None:
        return [(glyphs.track * width, "dim")]

    def cell(t_s: float) -> int:
        return min(width - 1, max(0, int(t_s / scale_s * width)))

    beyond = event.late_s is None
    first = cell(event.early_s)
    last = width - 1 if event.late_s is None else max(first, cell(event.late_s))
    cells = [glyphs.range_bar] * (last - first + 1)
    if beyond:
        cells[-1] = glyphs.onward
    if event.middle_s is not None:
        middle = min(max(cell(event.middle_s), first), last)
        cells[middle - first] = glyphs.middle
    return [
        (glyphs.track * first, "dim"),
        ("".join(cells), "strong"),
        (glyphs.track * (width - 1 - last), "dim"),
    ]
