"""How much wider than the bank's own a forecast is told, by distance, age and past.

The bank's chance F(h) of a crossing within h seconds becomes
Phi((Phi^-1(F(h)) - b) / c(h)): b moves the median, the interval grows with c, which
may differ on its early and its late side. What makes them: how far ahead; whether the
heating changes as in a driven car; how long the bank has watched; and how its last
forecasts held (hindsight). The figures were chosen on simulated seeds 200..202 and the
even warm-ups; docs/forecast.md has what they give on others.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from bridge.thermal.bank_horizon import HORIZONS_S
from bridge.thermal.bank_models import Array
from bridge.thermal.normal_curve import probit, smooth_phi
from bridge.values.frozen import frozen, replace
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
DRIVEN_SOONER = ((120.0, 0.3), (220.0, -0.25), (1200.0, 0.0))
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
STAY_WARMING = (
    *((60.0, 0.1), (120.0, 1.5), (250.0, 0.35)),
    *((450.0, -0.45), (900.0, -0.05), (1800.0, 0.5)),
)
"""Chances of staying inside are told by another deviate, moved by so many standard
deviations, by age, where the fluid warms: it slows down at first, and less than the
bank then thinks;"""
STAY_COOLING = ((60.0, -0.6), (300.0, 0.55), (1500.0, -0.08))
"""while it cools;"""
STAY_STILL = ((0.0, -0.38), (1.0, 1.86))
"""where it hardly moves, by the chance that it warms: what warms so slowly has nearly
settled;"""
STAY_KEPT = 2.2
"""and by the logarithm of hindsight, while it warms: fluid that has kept to what was
foretold leaves when it is foretold to."""
STAY_SLOPE, STAY_CORE = 0.8, 0.44
"""The deviate is so many times as large while warming, and within one standard
deviation so much more: the middle is surer than the bank thinks, the tails are not;"""
STAY_COOLING_SLOPE, STAY_STILL_SLOPE = 1.29, 1.16
"""while it cools, and where it hardly moves."""
STAY_DRIVEN_FROM = 0.8
"""A car counts as driven from this chance on: recorded drives lie above it, and fluid
that idles and was only taken for driven for a while stays as idling fluid does."""
STAY_DRIVEN = ((150.0, 0.3), (360.0, 0.3), (640.0, 0.4), (1100.0, 0.9))
STAY_DRIVEN_SLOPE = ((150.0, 0.95), (360.0, 0.9), (640.0, 0.7), (1100.0, 0.55))
"""Shift and slope of a driven car by age, whose pushes do not last: where the rate is
now says less and less of how far it goes. Chosen on the even warm-ups; the others by
regression on some 500 simulated curves of seeds 1000 to 1099 (docs/forecast.md).
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


def _stay_deviate(z: Array, doubt: IntervalWidth) -> Array:
    """Return the deviates that staying is told by, in place of the bank's own."""
    age_s, up = doubt.age_s, doubt.warming
    driven = max(doubt.driven - STAY_DRIVEN_FROM, 0.0) / (1.0 - STAY_DRIVEN_FROM)
    pushed = _at(age_s, STAY_DRIVEN) + _at(age_s, STAY_DRIVEN_SLOPE) * z
    own = doubt.spread ** (1.0 - driven)
    z = z / np.where(z > 0.0, max(own, 1.0), 1.0)
    kept = STAY_KEPT * min(math.log(own), 0.0)
    warming = _at(age_s, STAY_WARMING) + kept + STAY_SLOPE * z
    warming = warming + STAY_CORE * np.clip(z, -1.0, 1.0)
    cooling = _at(age_s, STAY_COOLING) + STAY_COOLING_SLOPE * z
    resting = _at(up, STAY_STILL) + STAY_STILL_SLOPE * z
    still = math.sqrt(max(4.0 * up * (1.0 - up), 0.0))
    moving = up * warming + (1.0 - up) * cooling
    idling = (1.0 - still) * moving + still * resting
    return np.asarray(driven * pushed + (1.0 - driven) * idling)


def staying(stayed: Array, doubt: IntervalWidth) -> Array:
    """Return chances of staying inside as they come true, lower where hindsight asks.

    A bank that was surer than it should have been does not get to open the plug; one
    that was too careful gets nothing for it.
    """
    if stayed[0] <= 0.0:
        return stayed
    # the chance of being inside now is the estimator's; only the staying is mended
    z = probit(np.append(stayed / stayed[0], 1.0))
    plain = smooth_phi(_stay_deviate(z, replace(doubt, spread=1.0)))
    doubted = smooth_phi(_stay_deviate(z, doubt))
    share = np.minimum(plain[:-1] / plain[-1], doubted[:-1] / doubted[-1])
    return np.asarray(stayed[0] * share)
