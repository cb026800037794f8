"""The trend plot as a grid of cells: curve, forecast, window. Pure."""

from __future__ import annotations

from itertools import pairwise
from math import ceil, floor
from typing import TYPE_CHECKING, Literal

from bridge.values.frozen import frozen

if TYPE_CHECKING:
    from bridge.values.sheet import Window
    from tui.live.trend_history import Point
    from tui.widgets.glyphs import Glyphs

Kind = Literal["", "edge", "fan", "past", "future", "now", "mark"]
Cell = tuple[str, Kind]
"""A sign and what it stands for."""
SPANS_S = (180.0, 360.0, 720.0, 1500.0, 2400.0, 3600.0)
"""How far ahead the plot may look, in seconds."""
TIME_STEPS_S = (60.0, 120.0, 300.0, 600.0, 900.0, 1800.0)
TEMP_STEPS = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
"""Round steps of the ticks; of temperatures in the unit shown."""
_NOW_AT = 0.6
"""Which part of the width is the past."""
_BEYOND = 1e6
"""No dot column and no temperature lies there; it also sorts out what is no number."""
_DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
"""Braille's dots by row and column (Unicode chart U+2800)."""


@frozen
class PlotFrame:
    """Which part of the world the plot shows, and in how many cells."""

    columns: int
    rows: int
    past_s: float
    ahead_s: float
    low_c: float
    high_c: float

    @property
    def dots_wide(self) -> int:
        """Dots across: two to a cell."""
        return 2 * self.columns

    @property
    def dots_high(self) -> int:
        """Dots upwards: four to a cell."""
        return 4 * self.rows

    @property
    def span_c(self) -> float:
        """How many degC it is from bottom to top."""
        return self.high_c - self.low_c

    def x(self, t_s: float) -> float:
        """Return the dot column of a time (0 = now, negative = past)."""
        share = (t_s + self.past_s) / (self.past_s + self.ahead_s)
        return share * (self.dots_wide - 1)

    def y(self, temp_c: float) -> int:
        """Return the dot row of a temperature: 0 at the top, beyond it if outside."""
        share = (self.high_c - temp_c) / (self.high_c - self.low_c)
        return round(share * (self.dots_high - 1))

    def band(self, window: Window) -> range:
        """Return the half rows of cells the window fills; at least one."""
        top, bottom = self.y(window.high_c), self.y(window.low_c)
        first = (top + 1) // 2
        return range(first, max(first + 1, (bottom + 1) // 2))

    def row(self, temp_c: float) -> int:
        """Return the row of cells of a temperature, within the plot."""
        return min(self.rows - 1, max(0, self.y(temp_c) // 4))

    def column(self, t_s: float) -> int | None:
        """Return the column of cells of a time; None: it is not in the plot."""
        x = self.x(t_s)
        return round(x) // 2 if 0 <= round(x) < self.dots_wide else None


def choose_span(now_s: float, wanted_s: float) -> float:
    """Return how far ahead to look so that ``wanted_s`` fits, without flicker.

    ``now_s`` is the span in use: it is left only when the wanted time does not
    fit, or would fit with room to spare in a shorter one.
    """
    if wanted_s <= now_s and not any(wanted_s * 1.25 <= s < now_s for s in SPANS_S):
        return now_s
    return next((s for s in SPANS_S if s >= wanted_s * 1.1), SPANS_S[-1])


def fit(
    columns: int,
    rows: int,
    ahead_s: float,
    window: Window,
    temps_c: list[float],
) -> PlotFrame:
    """Choose the frame that holds the window and these temperatures."""
    temps = [window.drawn.low_c, window.drawn.high_c, *temps_c]
    low_c, high_c = floor(min(temps) - 1.5), ceil(max(temps) + 1.5)
    past_s = ahead_s * _NOW_AT / (1 - _NOW_AT)
    return PlotFrame(
        columns=columns,
        rows=rows,
        past_s=past_s,
        ahead_s=ahead_s,
        low_c=float(low_c),
        high_c=float(high_c),
    )


class Canvas:
    """Dots of the past, of the likely way and of its fan over the window's band."""

    def __init__(self, frame: PlotFrame) -> None:
        self._frame = frame
        self._past: set[tuple[int, int]] = set()
        self._future: set[tuple[int, int]] = set()
        self._fan: set[tuple[int, int]] = set()
        self._marks: dict[int, str] = {}

    def draw_past(self, run: list[Point]) -> None:
        """Draw one unbroken run of (seconds from now, degC)."""
        self._past |= self._line(run)

    def draw_future(self, path: list[Point]) -> None:
        """Draw the likely path."""
        self._future |= self._line(path)

    def draw_fan(self, early: list[Point], late: list[Point]) -> None:
        """Fill what lies between two paths with one dot in four."""
        ends: dict[int, list[int]] = {}
        for x, y in self._line(early) | self._line(late):
            ends.setdefault(x, []).append(y)
        for x, ys in ends.items():
            rows = range(max(0, min(ys)), min(self._frame.dots_high, max(ys) + 1))
            self._fan |= {(x, y) for y in rows if (x + 2 * y) % 4 == 0}

    def mark(self, t_s: float, sign: str) -> None:
        """Put a sign at a time, on the plot's top row; the last one there stays."""
        column = self._frame.column(t_s)
        if column is not None:
            self._marks[column] = sign

    def _line(self, run: list[Point]) -> set[tuple[int, int]]:
        frame, dots = self._frame, set[tuple[int, int]]()
        if len(run) == 1:
            run = run * 2
        for (t1, c1), (t2, c2) in pairwise(run):
            x1, x2 = frame.x(t1), frame.x(t2)
            if not all(abs(value) < _BEYOND for value in (x1, x2, c1, c2)):
                continue  # what is no time or no temperature has no place
            first, last = max(0, round(x1)), min(frame.dots_wide - 1, round(x2))
            above: int | None = None
            for x in range(first, last + 1):
                share = 0.0 if x2 <= x1 else min(1.0, max(0.0, (x - x1) / (x2 - x1)))
                y = frame.y(c1 + share * (c2 - c1))
                if above is not None:
                    low, high = min(above, y), max(above, y)
                    low, high = max(0, low), min(high, frame.dots_high)
                    dots.update((x, k) for k in range(low, high))
                dots.add((x, y))
                above = y
        return dots

    def cells(self, band: range, glyphs: Glyphs) -> list[list[Cell]]:
        """Return the grid from the top; ``band``: the window's half rows."""
        now = round(self._frame.x(0.0)) // 2
        grid: list[list[Cell]] = []
        for row in range(self._frame.rows):
            cells = [ground(row, band, glyphs)] * self._frame.columns
            cells[now] = (glyphs.now, "now")
            for column in range(self._frame.columns):
                cells[column] = self._dots(column, row, glyphs) or cells[column]
            grid.append(cells)
        for column, sign in self._marks.items():
            grid[0][column] = (sign, "mark")
        return grid

    def _dots(self, column: int, row: int, glyphs: Glyphs) -> Cell | None:
        bits = [
            self._bits(dots, column, row)
            for dots in (self._past, self._future, self._fan)
        ]
        kinds: tuple[Kind, ...] = ("past", "future", "fan")
        kind = next((k for k, found in zip(kinds, bits, strict=True) if found), None)
        if kind is None:
            return None
        if glyphs.ascii_only:
            return {"past": "*", "future": "o"}.get(kind, "."), kind
        return chr(0x2800 + (bits[0] | bits[1] | bits[2])), kind

    @staticmethod
    def _bits(dots: set[tuple[int, int]], column: int, row: int) -> int:
        return sum(
            _DOTS[dy][dx]
            for dy in range(4)
            for dx in range(2)
            if (2 * column + dx, 4 * row + dy) in dots
        )


def inside(row: int, band: range) -> bool:
    """Say whether a row of cells counts as the window's: its middle is in it."""
    whole = 2 * row in band and 2 * row + 1 in band
    return whole or (len(band) == 1 and band[0] // 2 == row)


def ground(row: int, band: range, glyphs: Glyphs) -> Cell:
    """Return what a cell of this row is where no curve runs.

    Half a row of the window is half a block, where color tells it from a curve.
    """
    if inside(row, band):
        return (" " if glyphs.shaded else glyphs.hatch), ""
    upper, lower = 2 * row in band, 2 * row + 1 in band
    if not (upper or lower):
        return " ", ""
    if glyphs.shaded:
        return (glyphs.upper if upper else glyphs.lower), "edge"
    return glyphs.hatch, ""


def round_step(span: float, most: int, steps: tuple[float, ...]) -> float:
    """Return the smallest of the round steps that makes ``most`` ticks or fewer."""
    return next((s for s in steps if span / s <= max(1, most)), steps[-1])
