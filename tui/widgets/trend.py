"""The trend of the last minutes against the window, and the likely way on."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from tui.live import countdown, history, trend_cells
from tui.widgets.painted import Painted, Row, cut_row
from tui.words import figures

if TYPE_CHECKING:
    from textual.geometry import Size

    from bridge.snapshot import Snapshot
    from bridge.values.sheet import Window
    from tui.words.figures import TemperatureUnit

# Outside and inside the window.
_LOOKS: dict[trend_cells.Kind, tuple[str, str]] = {
    "": ("", "band"),
    "past": ("past", "past-in"),
    "future": ("future", "future-in"),
    "now": ("dim", "now-in"),
}


class TrendPlot(Painted):
    """A curve over the hatched window; gaps where no live reading was known."""

    _window: Window | None = None
    _snapshot: Snapshot | None = None
    _unit: TemperatureUnit = "C"
    _span_s = trend_cells.SPANS_S[0]

    def show(
        self,
        past: history.History,
        snapshot: Snapshot | None,
        window: Window,
        unit: TemperatureUnit,
    ) -> None:
        """Take the history and the newest snapshot (None: nothing is live)."""
        self._past, self._snapshot = past, snapshot
        self._window, self._unit = window, unit
        self.refresh()

    def paint(self, size: Size) -> list[Row]:
        """Draw the plot over its time axis."""
        if self._window is None or size.width < 24 or size.height < 3:
            return []
        path = history.predicted(self._snapshot, self._window) if self._snapshot else []
        self._span_s = trend_cells.choose_span(self._span_s, self._wanted_s())
        labels = self._labels(self._window)
        margin = max(len(text) for text in labels) + 1
        return self._paint(self._window, path, labels, margin, size)

    def _paint(
        self,
        window: Window,
        path: list[history.Point],
        labels: list[str],
        margin: int,
        size: Size,
    ) -> list[Row]:
        now_s = self._snapshot.t_s if self._snapshot else self._past.end_s
        runs = self._past.runs(now_s - 1.5 * self._span_s)
        seen = [temp for run in runs for _, temp in run]
        frame = trend_cells.fit(
            size.width - margin,
            size.height - 1,
            self._span_s,
            window,
            seen + near(path, window),
        )
        canvas = trend_cells.Canvas(frame)
        for run in runs:
            canvas.draw_past([(t - now_s, temp) for t, temp in run])
        canvas.draw_future(path)
        return self._grid(canvas, frame, window, labels)

    def _grid(
        self,
        canvas: trend_cells.Canvas,
        frame: trend_cells.PlotFrame,
        window: Window,
        labels: list[str],
    ) -> list[Row]:
        band = frame.band(window)
        marks = marked_rows(band, frame.rows, labels)
        margin = max(len(text) for text in labels) + 1
        rows: list[Row] = []
        for y, cells in enumerate(canvas.cells(band, self.glyphs)):
            label = marks.get(y, "").rjust(margin - 1)
            row: Row = [(f"{label}{self.glyphs.axis}", "dim")]
            rows.append(row + runs_of(cells, inside=y in band))
        return [*rows, self._axis(frame, margin, frame.columns + margin)]

    def _labels(self, window: Window) -> list[str]:
        """Return what stands at the window's ends, the upper one first."""
        high, low = (figures.edge(t, self._unit) for t in (window.high_c, window.low_c))
        return ["" if window.above_open else high, "" if window.below_open else low]

    def _wanted_s(self) -> float:
        """Return how far ahead lies what is worth seeing, in seconds."""
        if self._snapshot is None:
            return self._span_s
        for crossing in (self._snapshot.opens, self._snapshot.shuts):
            good = countdown.sound(crossing)
            if good is not None and good.p50_s:
                return good.p50_s
        return trend_cells.SPANS_S[0]

    def _axis(self, frame: trend_cells.PlotFrame, margin: int, width: int) -> Row:
        now = margin + round(frame.x(0.0)) // 2
        left = f"{' ' * margin}−{frame.past_s / 60:.0f} min"
        right = f"+{frame.ahead_s / 60:.0f} min"
        line = left.ljust(now - 1) + "now"
        return cut_row([(line.ljust(width - len(right)) + right, "dim")], width)


def marked_rows(band: range, rows: int, labels: list[str]) -> dict[int, str]:
    """Return the row each edge's label stands on; never both on one."""
    high, low = band[0], band[-1]
    if high == low:
        high, low = (high, low + 1) if low + 1 < rows else (high - 1, low)
    return {high: labels[0], low: labels[1]}


def runs_of(cells: list[trend_cells.Cell], *, inside: bool) -> Row:
    """Join neighbours of one look into runs."""
    return [
        ("".join(sign for sign, _ in group), _LOOKS[kind][inside])
        for kind, group in groupby(cells, key=lambda cell: cell[1])
    ]


def near(path: list[history.Point], window: Window) -> list[float]:
    """Return the path's temperatures, kept near the window: the rest may run out."""
    low_c, high_c = window.drawn.low_c - 3, window.drawn.high_c + 3
    return [min(high_c, max(low_c, temp_c)) for _, temp_c in path]
