"""The trend of the last minutes against the window, and the likely way on."""

from __future__ import annotations

from itertools import groupby
from math import ceil
from typing import TYPE_CHECKING, ClassVar

from tui.live import trend_cells, trend_history
from tui.widgets.painted import LOOK_CLASSES, Painted, Row, row_width
from tui.words import figures
from tui.words.screen import countdown

if TYPE_CHECKING:
    from textual.geometry import Size

    from bridge.snapshot import Snapshot
    from bridge.values.sheet import Window
    from tui.words.figures import TemperatureUnit

# Outside and inside the window.
_LOOKS: dict[trend_cells.Kind, tuple[str, str]] = {
    "": ("", "band"),
    "edge": ("edge", "edge"),
    "past": ("past", "past-in"),
    "future": ("future", "future-in"),
    "fan": ("fan", "fan-in"),
    "now": ("dim", "now-in"),
    "mark": ("key", "key"),
}
LEGEND_FROM = 7
"""Rows from which on one of them is the legend."""
OPENED, CLOSED = "O", "C"


class TrendPlot(Painted):
    """A curve over the window; gaps where no live reading was known."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        f"look-{look}" for pair in _LOOKS.values() for look in pair
    } - {"look-", *LOOK_CLASSES}
    """What is worn here alone."""

    _window: Window | None = None
    _snapshot: Snapshot | None = None
    _unit: TemperatureUnit = "C"
    _span_s = trend_cells.SPANS_S[0]

    def show(
        self,
        past: trend_history.History,
        snapshot: Snapshot | None,
        window: Window,
        unit: TemperatureUnit,
    ) -> None:
        """Take the history and the newest snapshot (None: nothing is live)."""
        self._past, self._snapshot = past, snapshot
        self._window, self._unit = window, unit
        self.refresh()

    def paint(self, size: Size) -> list[Row]:
        """Draw the plot over its time axis, and what its signs mean."""
        if self._window is None or size.width < 24 or size.height < 3:
            return []
        self._span_s = trend_cells.choose_span(self._span_s, self._wanted_s())
        labels = self._labels(self._window)
        margin = max(len(text) for text in labels) + 1
        legend = [self._legend(size.width)] if size.height >= LEGEND_FROM else []
        rows = size.height - 1 - len(legend)
        return [*self._paint(self._window, labels, margin, size.width, rows), *legend]

    def _paint(
        self, window: Window, labels: list[str], margin: int, width: int, rows: int
    ) -> list[Row]:
        snapshot = self._snapshot
        path = trend_history.predicted(snapshot, window) if snapshot else []
        now_s = snapshot.t_s if snapshot else self._past.end_s
        runs = self._past.runs(now_s - 1.5 * self._span_s)
        seen = [temp for run in runs for _, temp in run]
        frame = trend_cells.fit(
            width - margin, rows, self._span_s, window, seen + near(path, window)
        )
        canvas = trend_cells.Canvas(frame)
        for run in runs:
            canvas.draw_past([(t - now_s, temp) for t, temp in run])
        canvas.draw_future(path)
        if snapshot is not None:
            canvas.draw_fan(*trend_history.fan(snapshot, window))
            for at_s, sign in marks_of(snapshot, self.glyphs.track):
                canvas.mark(at_s, sign)
        band = frame.band(window)
        names = {
            **self._ticks(frame, band),
            **marked_rows(band, frame.rows, labels),
        }
        drawn: list[Row] = []
        for y, cells in enumerate(canvas.cells(band, self.glyphs)):
            label = names.get(y, "").rjust(margin - 1)
            row: Row = [(f"{label}{self.glyphs.axis}", "dim")]
            drawn.append(row + runs_of(cells, inside=trend_cells.inside(y, band)))
        return [*drawn, [(time_axis(frame, margin), "dim")]]

    def _ticks(self, frame: trend_cells.PlotFrame, band: range) -> dict[int, str]:
        """Return round temperatures, by row, that stand clear of the window's edges."""
        low, high = (
            figures.in_unit(c, self._unit) for c in (frame.low_c, frame.high_c)
        )
        step = trend_cells.round_step(
            high - low, frame.rows // 3, trend_cells.TEMP_STEPS
        )
        taken = {band[0] // 2, band[-1] // 2}
        ticks: dict[int, str] = {}
        value = ceil(low / step) * step
        while value < high:
            row = frame.row(frame.low_c + (value - low) / (high - low) * frame.span_c)
            if all(abs(row - other) > 1 for other in taken):
                ticks[row] = figures.decimal(value, 0)
            value += step
        return ticks

    def _legend(self, width: int) -> Row:
        """Return what is drawn how, in one line; what finds no room is left out."""
        plain = self.glyphs.ascii_only
        parts: list[tuple[str, str, str]] = [
            ("*" if plain else "⠒⠒", "past", "read"),
            ("o" if plain else "⠒⠒", "future", "likely"),
            ("." if plain else "⠢⠔", "fan", "5 to 95 %"),
            ("  " if self.glyphs.shaded else self.glyphs.hatch * 2, "band", "window"),
        ]
        step = self._snapshot.step if self._snapshot else None
        if step is not None and step.opened_at_s is not None:
            parts += [(OPENED, "key", "opened"), (CLOSED, "key", "closed")]
        legend: Row = []
        for sign, look, word in parts:
            piece: Row = [(" ", ""), (sign, look), (f" {word} ", "dim")]
            if row_width([*legend, *piece]) <= width:
                legend += piece
        return legend

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


def marks_of(snapshot: Snapshot, drip: str) -> list[tuple[float, str]]:
    """Return what was marked in the level step, in seconds from now, with its sign."""
    step = snapshot.step
    if step is None:
        return []
    marks = [(at_s, drip) for at_s in step.drips_s]
    marks += [(step.opened_at_s, OPENED)] if step.opened_at_s is not None else []
    marks += [(step.closed_at_s, CLOSED)] if step.closed_at_s is not None else []
    return [(at_s - step.now_at_s, sign) for at_s, sign in marks]


def time_axis(frame: trend_cells.PlotFrame, margin: int) -> str:
    """Return the axis: "now", and round times before and after it where they fit."""
    most = frame.columns // 6
    step_s = trend_cells.round_step(
        frame.past_s + frame.ahead_s, most, trend_cells.TIME_STEPS_S
    )
    line = [" "] * (margin + frame.columns)

    def put(t_s: float, unit: str = "") -> bool:
        column = frame.column(t_s)
        label = f"{t_s / 60:+.0f}".replace("-", "−") if t_s else "now"
        at = margin + (column or 0) - len(label) // 2
        label += unit
        at = min(at, len(line) - len(label))
        room = range(max(0, at - 1), min(len(line), at + len(label) + 1))
        if column is None or at <= 0 or any(line[n] != " " for n in room):
            return False
        line[at : at + len(label)] = label
        return True

    put(0.0)
    first, last = -int(frame.past_s / step_s), int(frame.ahead_s / step_s)
    ticks = [n * step_s for n in range(first, last + 1) if n]
    named = next((t for t in ticks if put(t, " min")), None)
    for t_s in ticks:
        if t_s != named:
            put(t_s)
    return "".join(line)


def marked_rows(band: range, rows: int, labels: list[str]) -> dict[int, str]:
    """Return the row each edge's label stands on; never both on one."""
    high, low = band[0] // 2, min(rows - 1, band[-1] // 2)
    if high == low:
        high, low = (high, low + 1) if low + 1 < rows else (high - 1, low)
    return {high: labels[0], low: labels[1]}


def runs_of(cells: list[trend_cells.Cell], *, inside: bool) -> Row:
    """Join neighbours of one look into runs."""
    return [
        ("".join(sign for sign, _ in group), _LOOKS[kind][inside])
        for kind, group in groupby(cells, key=lambda cell: cell[1])
    ]


def near(path: list[trend_history.Point], window: Window) -> list[float]:
    """Return the path's temperatures, kept near the window: the rest may run out."""
    low_c, high_c = window.drawn.low_c - 3, window.drawn.high_c + 3
    return [min(high_c, max(low_c, temp_c)) for _, temp_c in path]
