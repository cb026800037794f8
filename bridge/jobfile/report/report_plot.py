"""The trace as lines, bands and words on a sheet of points; no form of output yet.

Coordinates are points (1/72 inch) from the upper left corner of the plot.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from bridge.values.frozen import frozen

WIDTH, INNER = 500.0, 190.0
"""Of the whole plot, and the height of what is between its axes."""
LEFT, RIGHT, TOP, BOTTOM = 44.0, 8.0, 12.0, 34.0
ROW, MOST_ROWS = 10.0, 8
"""The height of a row of words above the plot, and how many rows there may be."""
LETTER = 5.2
"""More than a letter of a plot's word is wide on average: its room, not its width."""
HATCH = 6.0


@frozen
class PlotLine:
    """A line through points; ``style`` is one of trace, grid, edge, mark, hatch."""

    points: tuple[tuple[float, float], ...]
    style: str


@frozen
class Box:
    """A filled box; ``style`` is one of window, gap."""

    x: float
    y: float
    width: float
    height: float
    style: str


@frozen
class Word:
    """A word; ``anchor`` is start, middle or end, and says which end x is."""

    x: float
    y: float
    text: str
    anchor: str = "start"


@frozen
class Plot:
    """What is drawn, the hindmost first."""

    shapes: tuple[PlotLine | Box | Word, ...]
    height: float
    unnamed: int
    """Marks that stand too close together to have a word each."""


@frozen
class PlotMark:
    """A moment to be marked on the plot."""

    at_s: float
    text: str


@frozen
class Drawn:
    """What goes into a plot, in the units shown."""

    lines: Sequence[Sequence[tuple[float, float]]]
    """(seconds, temperature)"""
    window: tuple[float, float] | None
    gaps: Sequence[tuple[float, float]]
    """(when, how long), in seconds."""
    marks: Sequence[PlotMark]
    length_s: float
    unit: str


class _Scale:
    """From seconds and degrees to points."""

    def __init__(self, drawn: Drawn) -> None:
        values = [v for line in drawn.lines for _, v in line]
        values += drawn.window or ()
        low, high = min(values, default=0.0), max(values, default=1.0)
        room = max(1.0, 0.06 * (high - low))
        self.low, self.high = low - room, high + room
        times = [t for line in drawn.lines for t, _ in line]
        self.length_s = max(drawn.length_s, max(times, default=0.0), 1.0)
        self.end = WIDTH - RIGHT
        for mark in drawn.marks:  # each word ends before the paper does
            if share := self._share(mark.at_s):
                free = WIDTH - 4.0 - len(mark.text) * LETTER - LEFT
                self.end = min(self.end, LEFT + free / share)
        self.marks, self.unnamed, rows = _placed(drawn.marks, self.x)
        self.top = TOP + ROW * rows
        self.foot = self.top + INNER

    def _share(self, t_s: float) -> float:
        return min(max(t_s / self.length_s, 0.0), 1.0)

    def x(self, t_s: float) -> float:
        return round(LEFT + self._share(t_s) * (self.end - LEFT), 1)

    def y(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return round(self.foot - share * INNER, 1)


@frozen
class _Placed:
    """A mark's line, and the row of its word; 0 is next to the plot, None: no word."""

    x: float
    text: str
    row: int | None


def _placed(
    marks: Sequence[PlotMark], x_of: Callable[[float], float]
) -> tuple[list[_Placed], int, int]:
    """Give each mark's word a row above the plot; also how many get none, and rows.

    A word stands right of its line, and above the words of all lines it reaches over:
    so no line crosses a word, and no two words meet.
    """
    at: dict[float, list[str]] = {}
    for mark in marks:
        words = at.setdefault(x_of(mark.at_s), [])
        words += [mark.text] if mark.text not in words else []
    placed: list[_Placed] = []
    unnamed = 0
    for x, words in sorted(at.items(), reverse=True):
        for text in words:
            end = x + 4.0 + len(text) * LETTER
            over = [p.row for p in placed if p.row is not None and p.x < end]
            row = max(over, default=-1) + 1
            unnamed += row >= MOST_ROWS
            shown = row if row < MOST_ROWS else None
            placed.append(_Placed(x=x, text=text, row=shown))
    rows = max((p.row + 1 for p in placed if p.row is not None), default=0)
    return placed, unnamed, rows


def draw(drawn: Drawn) -> Plot:
    """Return the plot of a trace: window as a band, gaps hatched, moments marked."""
    scale = _Scale(drawn)
    shapes: list[PlotLine | Box | Word] = []
    shapes += _window(drawn, scale)
    shapes += _grid(drawn, scale)
    shapes += _gaps(drawn, scale)
    for line in drawn.lines:
        points = tuple(dict.fromkeys((scale.x(t), scale.y(v)) for t, v in line))
        if len(points) == 1:  # a lone reading still shows
            points = (points[0], (points[0][0] + 1.0, points[0][1]))
        shapes.append(PlotLine(points=points, style="trace"))
    shapes += _marks(scale)
    height = scale.foot + BOTTOM
    return Plot(shapes=tuple(shapes), height=height, unnamed=scale.unnamed)


def _window(drawn: Drawn, scale: _Scale) -> list[PlotLine | Box | Word]:
    if drawn.window is None:
        return []
    low, high = (scale.y(v) for v in drawn.window)
    width = scale.end - LEFT
    band = Box(x=LEFT, y=high, width=width, height=round(low - high, 1), style="window")
    edges: list[PlotLine | Box | Word] = [
        PlotLine(points=((LEFT, y), (scale.end, y)), style="edge") for y in (low, high)
    ]
    return [band, *edges]


def _grid(drawn: Drawn, scale: _Scale) -> list[PlotLine | Box | Word]:
    shapes: list[PlotLine | Box | Word] = []
    for value in ticks(scale.low, scale.high, 6):
        y = scale.y(value)
        shapes.append(PlotLine(points=((LEFT, y), (scale.end, y)), style="grid"))
        shapes.append(Word(x=LEFT - 4, y=y + 3, text=f"{value:g}", anchor="end"))
    unit_s, unit = time_unit(scale.length_s)
    for value in ticks(0.0, scale.length_s / unit_s, 8):
        x = scale.x(value * unit_s)
        line = ((x, scale.top), (x, scale.foot))
        shapes.append(PlotLine(points=line, style="grid"))
        words = f"{value:g}"
        shapes.append(Word(x=x, y=scale.foot + 12, text=words, anchor="middle"))
    middle, y = 0.5 * (LEFT + scale.end), scale.foot + BOTTOM - 6
    axes = f"fluid in {drawn.unit}, over time in {unit}"
    shapes.append(Word(x=middle, y=y, text=axes, anchor="middle"))
    return shapes


def _gaps(drawn: Drawn, scale: _Scale) -> list[PlotLine | Box | Word]:
    """Shade each gap, and hatch it: on paper without color it is not the window."""
    shapes: list[PlotLine | Box | Word] = []
    for from_s, length_s in drawn.gaps:
        x = scale.x(from_s)
        width = max(1.0, round(scale.x(from_s + length_s) - x, 1))
        shapes.append(Box(x=x, y=scale.top, width=width, height=INNER, style="gap"))
        for i in range(int(INNER / HATCH) if width > 2.0 else 0):
            y = scale.top + i * HATCH
            rise = min(width, HATCH)
            shapes.append(
                PlotLine(points=((x, y + rise), (x + width, y)), style="hatch")
            )
    return shapes


def _marks(scale: _Scale) -> list[PlotLine | Box | Word]:
    """Draw each moment as a line from the foot up to its word above the plot."""
    shapes: list[PlotLine | Box | Word] = []
    for mark in scale.marks:
        y = scale.top - ROW * (mark.row or 0)
        reach = y - 0.8 * ROW if mark.row is not None else y
        line = ((mark.x, reach), (mark.x, scale.foot))
        shapes.append(PlotLine(points=line, style="mark"))
        if mark.row is not None:
            shapes.append(Word(x=mark.x + 3, y=y - 2, text=mark.text))
    return shapes


def time_unit(length_s: float) -> tuple[float, str]:
    """Return the unit that suits a length of time: its seconds and its name."""
    if length_s < 180.0:
        return 1.0, "s"
    return (60.0, "min") if length_s < 3 * 3600.0 else (3600.0, "h")


def ticks(low: float, high: float, most: int) -> list[float]:
    """Return round numbers from low to high, ``most`` at most; 1, 2, 5 steps."""
    rough = (high - low) / most
    if not (rough > 0 and math.isfinite(rough)):
        return []
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(m * power for m in (1, 2, 5, 10) if m * power >= rough * (1 - 1e-9))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [round(i * step, 10) for i in range(first, last + 1)]
