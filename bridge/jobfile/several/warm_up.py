"""How a car warmed up in a job: its rate, and the time constant that fits it. Pure."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from bridge.jobfile.report.field_words import number
from bridge.jobfile.report.summary import Summary
from bridge.values.frozen import frozen

SHORTEST_S = 30.0
"""A warm-up rate over less than that says nothing."""
LEAST_S, LEAST_RISE_C, LEAST_POINTS = 180.0, 8.0, 10
"""Shorter, flatter or with fewer readings, no time constant is told."""
WIDEST = 3.0
"""Nor where the longest that fits is more than so many times the shortest."""
_TAUS_S = np.geomspace(30.0, 14_400.0, 240)
"""Each one 2.6 % longer than the one before."""
_CHI2 = 4.0
"""Two standard deviations of one figure."""

Point = tuple[float, float]


@frozen
class TimeConstant:
    """Of a first-order warm-up, s: what fits best, and what else would fit (k = 2)."""

    tau_s: float
    low_s: float
    high_s: float


def time_constant(points: Sequence[Point]) -> TimeConstant | None:
    """Return the time constant that fits best; None: they do not tell it.

    ``points``: (s, degC) in order. Least squares of T = a + b exp(-t / tau) for each
    tau; a reading's doubt is what is left over, at least its rounding (JCGM 100:2008,
    F.2.2.1), and readings that were rounded alike count as one.
    """
    if len(points) < LEAST_POINTS:
        return None
    t_s, temp_c = np.array(points).T
    rise_c = float(np.ptp(temp_c))
    if t_s[-1] - t_s[0] < LEAST_S or rise_c < LEAST_RISE_C:
        return None
    if not math.isfinite(rise_c * rise_c):
        return None
    step_c = float(np.diff(np.unique(temp_c.round(6))).min())
    # A foreign record may tell times and temperatures beyond all reason: not finite.
    fading = np.exp(-(t_s - t_s[0])[None, :] / _TAUS_S[:, None])
    fading -= fading.mean(axis=1, keepdims=True)
    centered = temp_c - temp_c.mean()
    slope = (fading @ centered) / (fading**2).sum(axis=1)
    left = ((centered - slope[:, None] * fading) ** 2).mean(axis=1)
    best = int(left.argmin())
    count = len(points)
    var = max(float(left[best]) * count / (count - 3), step_c**2 / 12.0)
    apart = min(count, rise_c / step_c)
    fits = np.flatnonzero(apart * (left - left[best]) / var <= _CHI2)
    first, last = int(fits[0]) - 1, int(fits[-1]) + 1
    inside = np.isfinite(left).all() and first >= 0 and last < len(_TAUS_S)
    if not inside or _TAUS_S[last] > WIDEST * _TAUS_S[first]:
        return None
    tau_s, low_s, high_s = (float(_TAUS_S[i]) for i in (best, first, last))
    return TimeConstant(tau_s=tau_s, low_s=low_s, high_s=high_s)


def warm_up_constant(summary: Summary) -> TimeConstant | None:
    """Return the time constant seen from a job's coldest reading to its warmest."""
    points = points_of(summary)
    peak = max(range(len(points)), key=lambda i: points[i][1], default=0)
    foot = min(range(peak + 1), key=lambda i: (points[i][1], -i)) if points else 0
    return time_constant(points[foot : peak + 1])


def points_of(summary: Summary) -> list[Point]:
    """Return the trace as one line of (s, degC)."""
    return [p for line in summary.trace.lines() for p in line]


def warm_up_c_per_s(
    summary: Summary, *, from_c: float = -math.inf, to_c: float | None = None
) -> float | None:
    """Return the mean rate between two temperatures, °C/s; None: not enough of it.

    Without them: from the first reading to the window's lower end.
    """
    end_c = number(summary.sheet.get("low_c")) if to_c is None else to_c
    points = points_of(summary)
    if end_c is None or not points or points[0][1] >= end_c:
        return None
    inside: list[Point] = []
    for point in points:
        if point[1] >= end_c:
            break
        if point[1] >= from_c:
            inside.append(point)
    if not inside:
        return None
    (first_s, first_c), (last_s, last_c) = inside[0], inside[-1]
    length_s = last_s - first_s
    return (last_c - first_c) / length_s if length_s >= SHORTEST_S else None
