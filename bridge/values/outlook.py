"""The fluid's temperature as estimated, and when it crosses the window's edges."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Trend(StrEnum):
    """Where the temperature is going."""

    WARMING = "warming"
    COOLING = "cooling"
    STEADY = "steady"
    UNKNOWN = "unknown"


class Outlook(StrEnum):
    """Whether the forecast has something to say."""

    TELLING = "telling"
    CANNOT_TELL = "cannot-tell"
    MAY_NEVER = "may-never"
    """Less than an even chance of reaching the window within the horizon."""
    LEARNING = "learning"
    """Conditions changed a moment ago; numbers come back within about a minute."""


HORIZON_S = 3600.0

"""How far ahead a forecast looks, in seconds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """When the fluid crosses into, or out of, the window: seconds from now.

    A quantile is None where it lies beyond the horizon (HORIZON_S); ``chance``
    (0..1) is the probability that it happens within the horizon.
    """

    p05_s: float | None
    p50_s: float | None
    p95_s: float | None
    chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """The present temperature as the estimator sees it."""

    temp_c: float
    temp_sd_c: float
    rate_c_per_s: float
    rate_sd_c_per_s: float
    trend: Trend
