"""The temperatures shown lately, for the trend plot; and where they may go."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from itertools import pairwise
from math import exp
from typing import TYPE_CHECKING

from bridge.snapshot import Snapshot
from bridge.values.outlook import HORIZON_S, Crossing, Trend
from tui.words import figures
from tui.words.screen import countdown

if TYPE_CHECKING:
    from collections.abc import Callable

    from bridge.values.sheet import Window

Point = tuple[float, float]
"""A time in seconds and a temperature in degC."""
_KEPT_S = 3600.0
_APART_S = 0.5
"""Points closer together than this add nothing to a plot of minutes."""


@dataclass(slots=True)
class History:
    """The last hour of live temperatures, broken where there was none."""

    _runs: deque[list[Point]] = field(default_factory=deque)
    _broken: bool = True

    def add(self, t_s: float, temp_c: float | None) -> None:
        """Take one moment; a temperature that is not known breaks the curve."""
        value = figures.known_c(temp_c)
        if value is None or figures.known(t_s) is None:
            self.break_off()
            return
        if self._runs and self._runs[-1] and t_s < self._runs[-1][-1][0]:
            self._runs.clear()
            self._broken = True
        if self._broken:
            self._runs.append([])
            self._broken = False
        run = self._runs[-1]
        if not run or t_s - run[-1][0] >= _APART_S:
            run.append((t_s, value))
        self._forget(t_s - _KEPT_S)

    def break_off(self) -> None:
        """Begin a gap: what comes next is not joined to what came before."""
        self._broken = True

    @property
    def end_s(self) -> float:
        """Return the time of the newest point, 0 if there is none."""
        return self._runs[-1][-1][0] if self._runs else 0.0

    def runs(self, since_s: float) -> list[list[Point]]:
        """Return the unbroken runs of points from ``since_s`` on."""
        shown = ([p for p in run if p[0] >= since_s] for run in self._runs)
        return [run for run in shown if run]

    def _forget(self, before_s: float) -> None:
        while self._runs and self._runs[0][-1][0] < before_s:
            self._runs.popleft()
        if self._runs and self._runs[0][0][0] < before_s - 60:
            self._runs[0] = [p for p in self._runs[0] if p[0] >= before_s]


def predicted(snapshot: Snapshot, window: Window) -> list[Point]:
    """Return the likely path from now on, through the crossings forecast.

    Its corners are (seconds from now, degC); empty where nothing is forecast.
    With no crossing but a temperature to settle at, the path is the exponential
    approach to it at the present rate (Newton's law of cooling).
    """
    temp_c = figures.known_c(snapshot.temp_c)
    if temp_c is None:
        return []
    path = [(0.0, temp_c), *_crossings(snapshot, window, lambda c: c.p50_s)]
    if len(path) > 1:
        return [p for p, q in pairwise(path) if q[0] > p[0]] + path[-1:]
    return _approach(snapshot, temp_c)


def fan(snapshot: Snapshot, window: Window) -> tuple[list[Point], list[Point]]:
    """Return the earliest and the latest likely path: 5 % and 95 % of the crossings.

    Both end at the horizon, where nothing more is known at the last level. Both are
    empty where no crossing is forecast.
    """
    temp_c = figures.known_c(snapshot.temp_c)
    early = _crossings(snapshot, window, lambda c: c.p05_s)
    if temp_c is None or not early:
        return [], []
    late = _crossings(snapshot, window, lambda c: c.p95_s)
    here = (0.0, temp_c)
    return _to_horizon([here, *early]), _to_horizon([here, *late])


def _to_horizon(path: list[Point]) -> list[Point]:
    return [*path, (max(HORIZON_S, path[-1][0]) + 1.0, path[-1][1])]


def _crossings(
    snapshot: Snapshot, window: Window, moment: Callable[[Crossing], float | None]
) -> list[Point]:
    opens = countdown.sound(snapshot.opens)
    shuts = countdown.sound(snapshot.shuts)
    rising = snapshot.trend is Trend.WARMING
    if not rising and snapshot.trend is not Trend.COOLING:
        return []
    enter_c, leave_c = window.drawn.low_c, window.drawn.high_c
    if not rising:
        enter_c, leave_c = leave_c, enter_c
    points: list[Point] = []
    for crossing, edge_c in ((opens, enter_c), (shuts, leave_c)):
        at_s = None if crossing is None else moment(crossing)
        if at_s and (not points or at_s > points[-1][0]):
            points.append((at_s, edge_c))
    return points


def _approach(snapshot: Snapshot, temp_c: float) -> list[Point]:
    settles_c = figures.known_c(snapshot.settles_at_c)
    rate = figures.known(snapshot.rate_c_per_s, -5.0, 5.0)
    if settles_c is None or rate is None or rate * (settles_c - temp_c) <= 0:
        return []
    constant_s = (settles_c - temp_c) / rate
    return [
        (t, settles_c - (settles_c - temp_c) * exp(-t / constant_s))
        for t in range(0, 3601, 30)
    ]
