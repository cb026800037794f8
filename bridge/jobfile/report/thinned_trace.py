"""A trace of any length in a bounded number of points, its extremes kept. Pure.

Time is cut into columns; of each the first, the last, the lowest and the highest
point are kept, which draws the same line as all points would on that many pixel
columns (M4: Jugel, Jerzak, Hackenbroich and Markl, "M4: a visualization-oriented
time series data aggregation", PVLDB 7(10), 2014). When the columns run out, every
two are joined: such a join loses none of the four.
"""

from __future__ import annotations

from dataclasses import dataclass, field

COLUMNS = 600
"""At most twice as many columns are held at once."""
SHORTEST_COLUMN_S = 0.05

Point = tuple[float, float]
"""(seconds, value)"""


@dataclass(slots=True)
class _Column:
    first: Point
    last: Point
    low: Point
    high: Point

    def add(self, point: Point) -> None:
        self.last = point
        if point[1] < self.low[1]:
            self.low = point
        if point[1] > self.high[1]:
            self.high = point

    def join(self, later: _Column) -> None:
        self.last = later.last
        if later.low[1] < self.low[1]:
            self.low = later.low
        if later.high[1] > self.high[1]:
            self.high = later.high


@dataclass(slots=True)
class ThinnedTrace:
    """Takes points in order of time; holds a bounded number of them."""

    gap_s: float = 2.0
    """Where no point comes for longer, the line is broken."""
    columns: int = COLUMNS
    count: int = 0
    low: Point | None = None
    high: Point | None = None
    gaps: int = 0
    longest_gap: Point | None = None
    """(when it began, how long it lasted)"""
    _width_s: float = SHORTEST_COLUMN_S
    _held: dict[int, _Column] = field(default_factory=dict)
    _breaks: list[Point] = field(default_factory=list)
    """(seconds, how long): breaks at least a column wide."""
    _last_s: float | None = None

    def add(self, t_s: float, value: float) -> None:
        """Take a point not earlier than the one before."""
        point = (t_s, value)
        self.count += 1
        if self.low is None or value < self.low[1]:
            self.low = point
        if self.high is None or value > self.high[1]:
            self.high = point
        if self._last_s is not None and t_s - self._last_s > self.gap_s:
            self._break(self._last_s, t_s - self._last_s)
        self._last_s = t_s
        key = int(t_s // self._width_s)
        column = self._held.get(key)
        if column is not None:
            column.add(point)
            return
        self._held[key] = _Column(point, point, point, point)
        if len(self._held) > 2 * self.columns:
            self._widen()

    def _break(self, from_s: float, length_s: float) -> None:
        self.gaps += 1
        if self.longest_gap is None or length_s > self.longest_gap[1]:
            self.longest_gap = (from_s, length_s)
        self._breaks.append((from_s, length_s))
        if len(self._breaks) > 4 * self.columns:
            self._breaks = [b for b in self._breaks if b[1] >= self._width_s]

    def _widen(self) -> None:
        self._width_s *= 2.0
        joined: dict[int, _Column] = {}
        for key in sorted(self._held):
            column, into = self._held[key], joined.get(key // 2)
            if into is None:
                joined[key // 2] = column
            else:
                into.join(column)
        self._held = joined

    def lines(self) -> list[list[Point]]:
        """Return the points to draw, as one line for each stretch without a gap."""
        breaks = iter(self.breaks())
        ends_s = next(breaks, None)
        lines: list[list[Point]] = [[]]
        for key in sorted(self._held):
            column = self._held[key]
            for point in sorted({column.first, column.low, column.high, column.last}):
                while ends_s is not None and point[0] > ends_s[0]:
                    if lines[-1]:
                        lines.append([])
                    ends_s = next(breaks, None)
                lines[-1].append(point)
        return [line for line in lines if line]

    def breaks(self) -> list[Point]:
        """Return (when, how long) of every gap that is at least a column wide."""
        return [b for b in self._breaks if b[1] >= self._width_s]
