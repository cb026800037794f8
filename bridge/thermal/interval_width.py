"""How much wider than the bank's own a forecast is told, by distance, age and past.

The bank's chance F(h) of a crossing within h seconds becomes
Phi((Phi^-1(F(h)) - b) / c(h)): b moves the median, the interval grows with c, which
may differ on its early and its late side. What makes them: how far ahead; whether the
heating changes as in a driven car; how long the bank has watched; and how its last
forecasts held (hindsight). The figures were chosen on simulated seeds 200..202 and the
even warm-ups; docs/forecast.md has what they give on others.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from bridge.thermal.bank_horizon import HORIZONS_S
from bridge.thermal.bank_models import Array
from bridge.thermal.normal_curve import probit, smooth_phi
from bridge.values.frozen import frozen
from bridge.values.outlook import HORIZON_S

NEAR = 0.98
"""Up to FAR_FROM_S ahead the bank is about as sure as it may be."""
FAR_FROM_S = 300.0
FAR = 1.6
"""An hour ahead a thermostat opens that no reading could foretell, and fluid that was
warming stops. Nothing of the kind stops fluid that cools; and of a driven car, which
heads far beyond, the bank's own far end has held.
"""
EARLY_FAR = 1.15
"""Warming at idle, an exchanger may open or the idle rise: sooner than foretold."""
DRIVEN_EARLY = ((0.0, 1.4), (60.0, 1.35), (120.0, 1.2), (300.0, 1.0))
"""Seconds ahead, and how much wider the early side is while the load changes: the
next push comes sooner than a bank can tell.
"""
DRIVEN_SOONER = ((120.0, 0.2), (220.0, -0.25), (1200.0, 0.0))
"""And so far the median is moved, in standard deviations: sooner near by and later far
off, where the errors of the even warm-ups are least.
"""
SLOWING = 0.35
"""In its first minutes fluid slows down more than a bank that saw only them expects:
the case takes up heat, and a fast idle falls. So far the median is moved, in standard
deviations, where the engine's speed is not known; else by its rpm, as a warm engine
idles at 600 to 850 rpm (common practice, no source),...
"""
SLOWING_AT_RPM = ((850.0, 0.1), (1000.0, 1.0))
SLOWING_WHEN = ((45.0, 0.0), (90.0, 1.0), (240.0, 1.0), (360.0, 0.0))
"""...at so many seconds of age..."""
SLOWING_NEAR = ((300.0, 1.0), (1200.0, 0.0))
"""...for so many seconds ahead: over the hour it is one delay of many,"""
YOUNG_LATE = ((60.0, 0.0), (300.0, 0.4), (1200.0, 0.0))
"""and so much wider is the late side, by seconds ahead,"""
YOUNG_WHEN = ((60.0, 2.5), (100.0, 1.0), (240.0, 1.0), (360.0, 0.0))
"""by age."""
EARLY_Z = -1.645
"""The deviate of the early end."""
FIRST_EARLY = ((75.0, 0.35), (220.0, 0.25), (300.0, 0.0))
"""So much wider is the early side at first, by age: coolant that warms sooner than the
fluid may yet heat it.
"""
STAY_IDLING = ((150.0, 0.7), (250.0, 0.7), (350.0, -0.2), (500.0, -0.3), (900.0, 0.0))
"""Chances of staying inside are told by another deviate, moved by so many standard
deviations, by age, where the fluid warms at idle: it slows down at first;"""
STAY_DRIVEN = ((150.0, 0.3), (360.0, 0.3), (640.0, 0.4), (1100.0, 0.9))
"""in a driven car, whose pushes do not last;"""
STAY_COOLING = 0.2
"""and while it cools;"""
STAY_SLOPE, STAY_COOLING_SLOPE = ((150.0, 0.7), (300.0, 1.4)), 1.2
"""and so many times as large, by age."""
STAY_DRIVEN_SLOPE = ((150.0, 0.95), (360.0, 0.9), (640.0, 0.7), (1100.0, 0.55))
"""The same of a driven car: where the rate is now says less and less of how
far it goes. Chosen on simulated seeds 600 and 702 and the even warm-ups.
"""


@frozen
class IntervalWidth:
    """What widens one forecast."""

    driven: float
    """Chance, 0..1, that the car is driven."""
    warming: float
    """Chance, 0..1, that the fluid is getting warmer."""
    spread: float
    """What hindsight asks for; 1: nothing."""
    age_s: float
    """How long the bank has watched the fluid."""
    idle_rpm: float | None = None
    """What the engine idles at; None: not known, or it stands."""

    @property
    def own(self) -> float:
        """Hindsight's part: a driven car's past says nothing of its next push."""
        return float(self.spread ** (1.0 - self.driven))

    @property
    def idling(self) -> float:
        """Chance, 0..1, of fluid that warms as an idling car warms it."""
        return (1.0 - self.driven) * self.warming


Points = tuple[tuple[float, float], ...]


def _at(where: float | Array, points: Points) -> Array:
    """Return a factor between its points, and as the nearest beyond them."""
    at, value = zip(*points, strict=True)
    return np.asarray(np.interp(where, at, value))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _ByDistance:
    """Factors at HORIZONS_S."""

    far: Array
    """How far off each is, 0..1."""
    early_far: Array
    driven_early: Array
    driven_sooner: Array
    young_late: Array
    near_slowing: Array


@lru_cache(maxsize=1)
def _by_distance() -> _ByDistance:
    far = np.log(np.maximum(HORIZONS_S, FAR_FROM_S) / FAR_FROM_S)
    return _ByDistance(
        far=far / np.log(HORIZON_S / FAR_FROM_S),
        early_far=_at(HORIZONS_S, ((120.0, 0.0), (FAR_FROM_S, EARLY_FAR - 1.0))),
        driven_early=_at(HORIZONS_S, DRIVEN_EARLY) - 1.0,
        driven_sooner=_at(HORIZONS_S, DRIVEN_SOONER),
        young_late=_at(HORIZONS_S, YOUNG_LATE),
        near_slowing=_at(HORIZONS_S, SLOWING_NEAR),
    )


def widened(chances: Array, doubt: IntervalWidth) -> Array:
    """Return a distribution function over HORIZONS_S, told with doubt."""
    by, idling, driven, age_s = _by_distance(), doubt.idling, doubt.driven, doubt.age_s
    c = (NEAR + (FAR - NEAR) * idling * by.far) * doubt.own
    z = probit(chances)
    # the early end stays: fluid that does not slow down must not come unannounced
    rpm = doubt.idle_rpm
    most = SLOWING if rpm is None else _at(rpm, SLOWING_AT_RPM)
    later = most * by.near_slowing * idling * _at(age_s, SLOWING_WHEN)
    later = later - driven * by.driven_sooner
    z = z - later * np.clip(1.0 - z / EARLY_Z, 0.0, 1.0)
    first = 1.0 + (1.0 - driven) * _at(age_s, FIRST_EARLY)
    early = first * (1.0 + driven * by.driven_early) * (1.0 + idling * by.early_far)
    young = idling * _at(age_s, YOUNG_WHEN)
    late = 1.0 + young * by.young_late
    z = z / c / np.where(z < 0.0, early, late)
    return np.asarray(np.maximum.accumulate(smooth_phi(z)))


def _stay_line(doubt: IntervalWidth) -> tuple[float, float]:
    """Return shift and slope of the deviate that staying is told by."""
    age_s, driven = doubt.age_s, doubt.driven
    cooling = (1.0 - driven) * (1.0 - doubt.warming)
    shift = driven * _at(age_s, STAY_DRIVEN) + cooling * STAY_COOLING
    shift = shift + doubt.idling * _at(age_s, STAY_IDLING)
    slope = driven * _at(age_s, STAY_DRIVEN_SLOPE)
    slope = slope + cooling * STAY_COOLING_SLOPE
    slope = slope + doubt.idling * _at(age_s, STAY_SLOPE)
    return float(shift), float(slope)


def staying(stayed: Array, doubt: IntervalWidth) -> Array:
    """Return chances of staying inside as they come true, lower where hindsight asks.

    The bank's own are too careful by kind and age. Beyond that, a bank that was surer
    than it should have been does not get to open the plug; one that was too careful
    gets nothing for it.
    """
    if stayed[0] <= 0.0:
        return stayed
    shift, slope = _stay_line(doubt)
    # the chance of being inside now is the estimator's; only the staying is mended
    z = slope * probit(np.append(stayed / stayed[0], 1.0)) + shift
    plain, told = smooth_phi(z), smooth_phi(z / max(doubt.own, 1.0))
    share = np.minimum(plain[:-1] / plain[-1], told[:-1] / told[-1])
    return np.asarray(stayed[0] * share)
