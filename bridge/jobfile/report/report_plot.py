"""The trace as lines, bands and words on a sheet of points; no form of output yet.

Coordinates are points (1/72 inch) from the upper left corner of the plot.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

WIDTH, HEIGHT = 500.0, 240.0
LEFT, RIGHT, TOP, BOTTOM = 44.0, 8.0, 22.0, 34.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PlotLine:
    """A line through points; ``style`` is one of trace, grid, edge, mark."""

    points: tuple[tuple[float, float], ...]
    style: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A filled box; ``style`` is one of window, gap, frame."""

    x: float
    y: float
    width: float
    height: float
    style: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """A word; ``anchor`` is start, middle or end, and says which end x is."""

    x: float
    y: float
    text: str
    anchor: str = "start"


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """What is drawn, the hindmost first."""

    shapes: tuple[PlotLine | Box | Word, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlotMark:
    """A moment to be marked on the plot."""

    at_s: float
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
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

    def x(self, t_s: float) -> float:
        share = min(max(t_s / self.length_s, 0.0), 1.0)
        return round(LEFT + share * (WIDTH - LEFT - RIGHT), 1)

    def y(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return round(HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM), 1)


def draw(drawn: Drawn) -> Plot:
    """Return the plot of a trace: window as a band, gaps shaded, moments marked."""
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
    shapes += _marks(drawn, scale)
    return Plot(shapes=tuple(shapes))


def _window(drawn: Drawn, scale: _Scale) -> list[PlotLine | Box | Word]:
    if drawn.window is None:
        return []
    low, high = (scale.y(v) for v in drawn.window)
    width = WIDTH - LEFT - RIGHT
    band = Box(x=LEFT, y=high, width=width, height=round(low - high, 1), style="window")
    edges: list[PlotLine | Box | Word] = [
        PlotLine(points=((LEFT, y), (WIDTH - RIGHT, y)), style="edge")
        for y in (low, high)
    ]
    return [band, *edges]


def _grid(drawn: Drawn, scale: _Scale) -> list[PlotLine | Box | Word]:
    shapes: list[PlotLine | Box | Word] = []
    foot = HEIGHT - BOTTOM
    for value in ticks(scale.low, scale.high, 6):
        y = scale.y(value)
        shapes.append(PlotLine(points=((LEFT, y), (WIDTH - RIGHT, y)), style="grid"))
        shapes.append(Word(x=LEFT - 4, y=y + 3, text=f"{value:g}", anchor="end"))
    unit_s, unit = time_unit(scale.length_s)
    for value in ticks(0.0, scale.length_s / unit_s, 8):
        x = scale.x(value * unit_s)
        shapes.append(PlotLine(points=((x, TOP), (x, foot)), style="grid"))
        shapes.append(Word(x=x, y=foot + 12, text=f"{value:g}", anchor="middle"))
    shapes.append(Word(x=2, y=TOP - 10, text=f"fluid, {drawn.unit}"))
    middle = 0.5 * (LEFT + WIDTH - RIGHT)
    shapes.append(Word(x=middle, y=HEIGHT - 6, text=f"time, {unit}", anchor="middle"))
    return shapes


def _gaps(drawn: Drawn, scale: _Scale) -> list[PlotLine | Box | Word]:
    boxes: list[PlotLine | Box | Word] = []
    for from_s, length_s in drawn.gaps:
        x = scale.x(from_s)
        width = max(1.0, round(scale.x(from_s + length_s) - x, 1))
        height = HEIGHT - TOP - BOTTOM
        boxes.append(Box(x=x, y=TOP, width=width, height=height, style="gap"))
    return boxes


def _marks(drawn: Drawn, scale: _Scale) -> list[PlotLine | Box | Word]:
    """Draw each moment as a line, its word at the top; words step down if close."""
    shapes: list[PlotLine | Box | Word] = []
    last_x, step = -math.inf, 0
    for mark in drawn.marks:
        x = scale.x(mark.at_s)
        step = step + 1 if x - last_x < 12 + 5.0 * len(mark.text) else 0
        last_x = x
        y = TOP + 9 + 10 * (step % 6)
        shapes.append(PlotLine(points=((x, TOP), (x, HEIGHT - BOTTOM)), style="mark"))
        right = x > WIDTH - RIGHT - 6.0 * len(mark.text)
        at, anchor = (x - 3, "end") if right else (x + 3, "start")
        shapes.append(Word(x=at, y=y, text=mark.text, anchor=anchor))
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
