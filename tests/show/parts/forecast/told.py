"""What a person is told: how often a figure, how soon, how steadily, how honestly.

Parts of `make show-forecast`. A figure is a median; the early end is what a person
plans by. Jumpiness is how far the paced figure moves against the clock, in seconds a
second, while it counts down; the paced figure is the one on screen, phone and --json.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

import numpy as np

from bridge.session.pace import NOT_YET, paced, shown
from bridge.thermal import estimator, forecast
from bridge.values.sheet import Window
from tests.show.parts.forecast.plants import Array, Curve
from tests.show.parts.forecast.score import (
    Mark,
    crossing_s,
    quantile,
    share,
    steady,
)

TICK_S = 1.0
WATCHED_S = 600.0
STAYS_S = (30.0, 60.0, 120.0)
BINS = (0.0, 0.1, 0.3, 0.5, 0.7, 0.8, 0.9, 1.0001)


def told(marks: list[Mark]) -> dict[str, float]:
    """Shares and quantiles over one group's marks, all the same time ahead."""
    early = [m for m in marks if m.answer.p05_s is not None]
    shares = [
        (m.answer.p05_s or 0.0) / m.question.ahead_s
        for m in early
        if m.question.ahead_s
    ]
    return {
        "figure": share([m.answer.p50_s is not None for m in marks]),
        "early": share([m.answer.p05_s is not None for m in marks]),
        "p05_holds": share([m.early_holds for m in marks]),
        "interval_holds": share([m.holds for m in marks]),
        "width_s": quantile([m.width_s for m in marks], 0.5),
        "p05_share": quantile(shares, 0.5),
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class Watched:
    """One curve watched from its first reading until the window opens."""

    family: str
    first_s: float
    """Until the first bounds."""
    moved_s: float
    """How far the figure moved against the clock in all, while counting down."""
    counted_s: float
    worst_s: float
    """Farthest in one second."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stays:
    """Chances of staying told on one curve."""

    family: str
    told: tuple[tuple[float, bool], ...]
    """Each chance, and whether it did stay."""


def watch(curve: Curve) -> Watched:
    """Watch one simulated curve with a window that opens within ten minutes."""
    up = curve.family != "cooling"
    edge_c = float(curve.true_c[int(WATCHED_S * 0.75)])
    window = Window(low_c=edge_c, high_c=edge_c + 10.0)
    if not up:
        window = Window(low_c=edge_c - 10.0, high_c=edge_c)
    track, pace, last = estimator.begin(estimator.Sensor()), NOT_YET, None
    first, moves, due_s = math.inf, [], 0.0
    readings = zip(curve.t_s.tolist(), curve.temp_c.tolist(), strict=True)
    for t_s, temp_c in readings:
        if due_s > WATCHED_S * 0.75 - 5.0:
            break
        # the screen ticks on between readings that are seldom
        while due_s <= t_s and due_s <= WATCHED_S * 0.75 - 5.0:
            now_s, due_s = due_s, due_s + TICK_S
            if track.t_s is None:
                continue
            opens = forecast.forecast(track, window, now_s=now_s).opens
            pace = paced(pace, opens, now_s=now_s, cautious=False)
            seen = shown(pace, opens)
            first = min(first, now_s - curve.t_s[0] if opens else math.inf)
            if seen is None or seen.p50_s is None or not seen.narrow:
                last = None
                continue
            if last is not None:
                moves.append((abs(seen.p50_s - last[1] + now_s - last[0]), TICK_S))
            last = (now_s, seen.p50_s)
        track = estimator.observe(track, t_s=t_s, temp_c=temp_c)
    return Watched(
        family=curve.family,
        first_s=first,
        moved_s=sum(m for m, _ in moves),
        counted_s=sum(s for _, s in moves),
        worst_s=max((m for m, _ in moves), default=0.0),
    )


Stayed = Callable[[Window, float, float], bool | None]
"""Whether it stayed inside from a moment for so long; None: it was not inside."""


class Staying:
    """Forty moments of one curve at which chances of staying are asked.

    A recorded curve's truth are its codes.
    """

    def __init__(self, curve: Curve) -> None:
        self.family = curve.family
        self.told: list[tuple[float, bool]] = []
        self._rng = np.random.default_rng([7, *curve.name.encode()])
        first_s, last_s, self._edges_c = 90.0, 2400.0, 0.0
        self._stayed: Stayed = partial(_stayed, curve)
        if not len(curve.true_c):
            first_s, last_s = 60.0, float(curve.t_s[-1]) - max(STAYS_S)
            self._edges_c = 0.5
            self._stayed = partial(_stayed_codes, curve, steady(curve.temp_c))
        self.moments_s = sorted(self._rng.uniform(first_s, last_s, 40).tolist())

    def ask(self, track: estimator.Track, at_s: float) -> None:
        """Ask what is told at one of the moments, which come in order."""
        self.told += _staying(track, at_s, self._rng, self._stayed, self._edges_c)

    def answers(self) -> Stays:
        return Stays(family=self.family, told=tuple(self.told))


def _staying(
    track: estimator.Track,
    at_s: float,
    rng: np.random.Generator,
    stayed: Stayed,
    edges_c: float,
) -> Iterable[tuple[float, bool]]:
    """Ask for chances of staying in windows that shut at about the time asked for.

    By the estimate, not the truth: so every bin fills, and no truth chooses the
    question. ``edges_c``: how far every edge lies above a whole degree; 0: anywhere.
    """
    now = estimator.estimate(track, now_s=at_s)
    if now is None:
        return
    for stay_s in STAYS_S:
        goes_c = now.rate_c_per_s * stay_s * float(rng.uniform(0.7, 1.35))
        goes_c = math.copysign(max(abs(goes_c), 0.3), goes_c)
        comes_c = -math.copysign(float(rng.uniform(1.0, 5.0)), goes_c)
        low_c, high_c = sorted((now.temp_c + goes_c, now.temp_c + comes_c))
        if edges_c:
            low_c, high_c = math.floor(low_c) + edges_c, math.floor(high_c) + edges_c
        if high_c - low_c < edges_c:
            continue
        window = Window(low_c=low_c, high_c=high_c)
        seen = forecast.forecast(track, window, now_s=at_s)
        chance, truth = seen.stay_chance(stay_s), stayed(window, at_s, stay_s)
        if chance is not None and truth is not None and seen.inside_chance > 0.5:
            yield chance, truth


def _inside(window: Window, temps_c: Array) -> bool | None:
    """Whether all lie inside; None: not even the first does."""
    inside = (temps_c >= window.low_c) & (temps_c <= window.high_c)
    return bool(inside.all()) if len(inside) and inside[0] else None


def _stayed(curve: Curve, window: Window, at_s: float, stay_s: float) -> bool | None:
    return _inside(window, curve.true_c[int(at_s) : int(at_s + stay_s) + 2])


def _stayed_codes(
    curve: Curve, codes_c: Array, window: Window, at_s: float, stay_s: float
) -> bool | None:
    first = int(np.searchsorted(curve.t_s, at_s)) - 1
    last = int(np.searchsorted(curve.t_s, at_s + stay_s))
    return _inside(window, codes_c[first:last])


@dataclass(frozen=True, slots=True, kw_only=True)
class Bin:
    """Chances of about one size: their mean, how many came true, and how surely."""

    told: float
    stayed: float
    count: int
    error: float
    """Standard error of ``stayed``, curves being what was drawn at random."""

    @property
    def off(self) -> float:
        return abs(self.told - self.stayed)


def reliability(asked: list[Stays]) -> list[Bin]:
    """Hold the chances of staying against what came, in bins of the chance."""
    out = []
    for low, high in pairwise(BINS):
        curves = [[p for p in a.told if low <= p[0] < high] for a in asked]
        some = [p for own in curves for p in own]
        if not some:
            continue
        stayed, n = share([s for _, s in some]), len(some)
        apart = [sum(s - stayed for _, s in own) for own in curves]
        out.append(
            Bin(
                told=sum(p for p, _ in some) / n,
                stayed=stayed,
                count=n,
                error=math.sqrt(sum(a * a for a in apart)) / n,
            )
        )
    return out


def show_reliability(
    groups: Iterable[tuple[str, tuple[str, ...]]], asked: list[Stays]
) -> None:
    """Print the bins of each group of families."""
    print("\nchance of staying inside, %: told, came true +- standard error, questions")
    for title, families in groups:
        bins = reliability([a for a in asked if a.family in families])
        cells = (
            f"{100 * b.told:3.0f} {100 * b.stayed:3.0f}+-{100 * b.error:2.0f} "
            f"{b.count:4d}"
            for b in bins
        )
        print(f"  {title:12s}" + " | ".join(cells))


def farthest_off(bins: list[Bin]) -> Bin | None:
    """Return the bin of fifty or more where chance and truth lie farthest apart."""
    return max((b for b in bins if b.count >= 50), key=lambda b: b.off, default=None)


def passage_reached(curve: Curve) -> bool:
    """Whether the watched window's edge is one the curve crosses."""
    up = curve.family != "cooling"
    edge_c = float(curve.true_c[int(WATCHED_S * 0.75)])
    return crossing_s(curve.true_c, edge_c, up=up) is not None
