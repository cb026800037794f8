"""The fluid's temperature as estimated, and when it crosses the window's edges."""

from __future__ import annotations

from enum import StrEnum

from bridge.values.frozen import frozen


class Trend(StrEnum):
    """Where the temperature is going."""

    WARMING = "warming"
    COOLING = "cooling"
    STEADY = "steady"
    UNKNOWN = "unknown"


class Outlook(StrEnum):
    """Whether the forecast has something to say."""

    TELLING = "telling"
    """The moment is known narrowly enough to count down to it."""
    ROUGH = "rough"
    """The moment is known within bounds too wide for a countdown."""
    CANNOT_TELL = "cannot-tell"
    """Too few readings to know even bounds."""
    MAY_NEVER = "may-never"
    """Less than an even chance of reaching the window within the horizon."""
    LEARNING = "learning"
    """Conditions changed a moment ago: bounds stand, a countdown does not yet."""


HORIZON_S = 3600.0
"""How far ahead a forecast looks, in seconds."""
TELLING_CHANCE = 0.9
"""Chance from which on a crossing counts as coming at all."""
LEAST_SPREAD_S = 60.0
"""An interval this narrow is always worth a countdown."""
MOST_SPREAD = 1.3
"""Else its width may be so many times its median."""


@frozen
class Crossing:
    """When the fluid crosses into, or out of, the window: seconds from now.

    A quantile is None where it lies beyond the horizon (HORIZON_S); ``chance``
    (0..1) is the probability that it happens within the horizon.
    """

    p05_s: float | None
    p50_s: float | None
    p95_s: float | None
    chance: float

    @property
    def narrow(self) -> bool:
        """Whether a countdown to the median says what is known, and no more."""
        early, middle, late = self.p05_s, self.p50_s, self.p95_s
        if early is None or middle is None or late is None:
            return False
        wide = late - early > max(LEAST_SPREAD_S, MOST_SPREAD * middle)
        return self.chance >= TELLING_CHANCE and not wide


@frozen
class Passed:
    """The window is behind: fluid an idling engine has warmed beyond it."""

    edge_c: float
    ago_s: float | None
    """Since it went past the edge; None: it was past it from the first reading on."""
    back: Crossing | None
    """Until it has cooled to where the step can begin again, with the engine off."""


@frozen
class Estimate:
    """The present temperature as the estimator sees it."""

    temp_c: float
    temp_sd_c: float
    rate_c_per_s: float
    rate_sd_c_per_s: float
    trend: Trend
