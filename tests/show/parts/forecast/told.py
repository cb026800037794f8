"""What a person is told: how often a figure, how soon, how steadily, how honestly.

Parts of `make show-forecast`. A figure is a median; the early end is what a person
plans by. Jumpiness is how far the paced figure moves against the clock, in seconds a
second, while it counts down; the paced figure is the one on screen, phone and --json.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from bridge.session.pace import NOT_YET, paced, shown
from bridge.thermal import estimator, forecast
from bridge.values.sheet import Window
from tests.show.parts.forecast.plants import Curve
from tests.show.parts.forecast.score import Mark, crossing_s, quantile, share

TICK_S = 1.0
WATCHED_S = 600.0
STAYS_S = (30.0, 60.0, 120.0)
BINS = (0.0, 0.1, 0.3, 0.5, 0.7, 0.9, 1.0001)


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
    stays: tuple[tuple[float, bool], ...]
    """Chance told of staying inside, and whether it did."""


def watch(curve: Curve) -> Watched:
    """Watch one simulated curve with a window that opens within ten minutes."""
    up = curve.family != "cooling"
    edge_c = float(curve.true_c[int(WATCHED_S * 0.75)])
    window = Window(low_c=edge_c, high_c=edge_c + 10.0)
    if not up:
        window = Window(low_c=edge_c - 10.0, high_c=edge_c)
    rng = np.random.default_rng([7, *curve.name.encode()])
    track, pace, last = estimator.begin(estimator.Sensor()), NOT_YET, None
    first, moves, due_s, stays = math.inf, [], 0.0, []
    asked = sorted(rng.uniform(90.0, 2400.0, 40).tolist())
    readings = zip(curve.t_s.tolist(), curve.temp_c.tolist(), strict=True)
    for t_s, temp_c in readings:
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
        while asked and asked[0] <= t_s:
            stays += _staying(track, curve, asked.pop(0), rng)
        track = estimator.observe(track, t_s=t_s, temp_c=temp_c)
    return Watched(
        family=curve.family,
        first_s=first,
        moved_s=sum(m for m, _ in moves),
        counted_s=sum(s for _, s in moves),
        worst_s=max((m for m, _ in moves), default=0.0),
        stays=tuple(stays),
    )


def _staying(
    track: estimator.Track, curve: Curve, at_s: float, rng: np.random.Generator
) -> Iterable[tuple[float, bool]]:
    """Ask for the chance of staying in a window the truth is inside of."""
    if track.t_s is None or at_s > curve.t_s[-1]:
        return
    true_c = float(np.interp(at_s, np.arange(len(curve.true_c)), curve.true_c))
    low_c = true_c - float(rng.uniform(0.3, 5.7))
    window = Window(low_c=low_c, high_c=low_c + 6.0)
    seen = forecast.forecast(track, window, now_s=at_s)
    for stay_s in STAYS_S:
        future = curve.true_c[int(at_s) : int(at_s + stay_s) + 2]
        chance = seen.stay_chance(stay_s)
        if chance is not None and seen.inside_chance > 0.5:
            stayed = bool((future >= low_c).all() and (future <= low_c + 6.0).all())
            yield chance, stayed


def reliability(watched: list[Watched]) -> list[tuple[float, float, int]]:
    """Mean chance told, share that stayed, and number, in bins of the chance."""
    pairs = [p for w in watched for p in w.stays]
    out = []
    for low, high in pairwise(BINS):
        some = [p for p in pairs if low <= p[0] < high]
        if some:
            mean = sum(p for p, _ in some) / len(some)
            out.append((mean, share([s for _, s in some]), len(some)))
    return out


def farthest_off(bins: list[tuple[float, float, int]]) -> float:
    """How far chance and truth lie apart in the worst bin of fifty or more."""
    return max((abs(m - stayed) for m, stayed, n in bins if n >= 50), default=1.0)


def passage_reached(curve: Curve) -> bool:
    """Whether the watched window's edge is one the curve crosses."""
    up = curve.family != "cooling"
    edge_c = float(curve.true_c[int(WATCHED_S * 0.75)])
    return crossing_s(curve.true_c, edge_c, up=up) is not None
