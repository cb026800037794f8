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


STEADY_C_PER_S = 0.15 / 60.0
"""Slower than this (0.15 degC a minute) is steady, not warming or cooling."""
SURE_OF_TREND_SDS = 1.5
"""A rate counts as warming or cooling from this many of its standard deviations on."""
STEADY_WITHIN = 4.0
"""Rate and standard deviation together below this many STEADY_C_PER_S: steady."""
KEPT_SDS, KEPT_STEADY = 0.25, 0.5
"""Once said, warming or cooling is kept down to so many standard deviations, and to
this share of STEADY_C_PER_S..."""
KEPT_WIDER = 1.5
"""...and steady up to limits so many times as wide. Set by trial on the even warm-ups:
a driven car's word changed 19 times in ten minutes without, 6 with (docs/forecast.md).
"""


def trend_of(rate_c_per_s: float, rate_sd_c_per_s: float, before: Trend) -> Trend:
    """Return where the temperature goes, by its rate and the sd of that.

    ``before``: what was said last. It stands while little speaks against it, so that
    the word does not come and go with each whole degree.
    """
    rate, sd = rate_c_per_s, rate_sd_c_per_s
    onward = {Trend.WARMING: rate, Trend.COOLING: -rate}
    if onward.get(before, 0.0) > max(KEPT_SDS * sd, KEPT_STEADY * STEADY_C_PER_S):
        return before
    slack = KEPT_WIDER if before is Trend.STEADY else 1.0
    clear = max(SURE_OF_TREND_SDS * sd, slack * STEADY_C_PER_S)
    if rate > clear:
        return Trend.WARMING
    if rate < -clear:
        return Trend.COOLING
    still = abs(rate) + sd < slack * STEADY_WITHIN * STEADY_C_PER_S
    return Trend.STEADY if still else Trend.UNKNOWN


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
