"""How much wider than the bank's own a forecast is told, by distance and by past.

The bank's chance F(h) of a crossing within h seconds becomes Phi(Phi^-1(F(h))/c(h)):
the median stays where it is, the interval grows with c. Three things make c: how far
ahead, whether the heating changes as in a driven car, and how the bank's last
forecasts held (hindsight). The figures were chosen on simulated seeds 100..103 and the
odd warm-ups; docs/forecast.md has what they give on others.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from bridge.thermal.bank_horizon import HORIZONS_S
from bridge.thermal.bank_models import Array
from bridge.thermal.normal_curve import probit, smooth_phi
from bridge.values.outlook import HORIZON_S

NEAR = 0.98
"""Up to FAR_FROM_S ahead the bank is about as sure as it may be."""
FAR_FROM_S = 300.0
FAR = 1.6
"""An hour ahead a thermostat opens that no reading could foretell, and fluid that was
warming stops. Nothing of the kind stops fluid that cools; and of a driven car, which
heads far beyond, the bank's own far end has held.
"""
DRIVEN_EARLY = ((0.0, 1.3), (30.0, 1.3), (60.0, 1.2), (120.0, 1.0), (HORIZON_S, 1.0))
"""Seconds ahead, and how much wider the early side is while the load changes: the
next push comes sooner than a bank can tell.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """What widens one forecast."""

    driven: float
    """Chance, 0..1, that the car is driven."""
    warming: float
    """Chance, 0..1, that the fluid is getting warmer."""
    spread: float
    """What hindsight asks for; 1: nothing."""

    @property
    def own(self) -> float:
        """Hindsight's part: a driven car's past says nothing of its next push."""
        return float(self.spread ** (1.0 - self.driven))


@lru_cache(maxsize=1)
def _by_distance() -> tuple[Array, Array]:
    """Return how far off each of HORIZONS_S is, 0..1, and DRIVEN_EARLY there."""
    far = np.log(np.maximum(HORIZONS_S, FAR_FROM_S) / FAR_FROM_S)
    far = far / np.log(HORIZON_S / FAR_FROM_S)
    at_s, factor = zip(*DRIVEN_EARLY, strict=True)
    return far, np.interp(HORIZONS_S, at_s, factor)


def widened(chances: Array, doubt: Doubt) -> Array:
    """Return a distribution function over HORIZONS_S, told with doubt."""
    far, early = _by_distance()
    c = (NEAR + (FAR - NEAR) * (1.0 - doubt.driven) * doubt.warming * far) * doubt.own
    z = probit(chances)
    z = np.where(z < 0.0, z / (c * (1.0 + doubt.driven * (early - 1.0))), z / c)
    return np.asarray(np.maximum.accumulate(smooth_phi(z)))


def lessened(stayed: Array, doubt: Doubt) -> Array:
    """Return chances of staying inside, lowered where hindsight asks for it.

    A bank that was surer than it should have been does not get to open the plug; one
    that was too careful gets nothing for it.
    """
    own = max(doubt.own, 1.0)
    if own == 1.0 or stayed[0] <= 0.0:
        return stayed
    told = smooth_phi(probit(np.append(stayed / stayed[0], 1.0)) / own)
    share = told[:-1] / told[-1]
    return np.asarray(np.minimum(stayed, stayed[0] * share))
