"""When the fluid enters the window and leaves it, if conditions stay as they are.

A number is given only when it is worth having; otherwise the outlook says why
not (docs/forecast.md). All times are seconds from ``now_s``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from bridge.thermal.bank_horizon import (
    HORIZONS_S,
    Ahead,
    Merged,
    ahead,
    driven_share,
    expect_settling,
    merge,
    warming_share,
)
from bridge.thermal.bank_models import Array
from bridge.thermal.estimator import Track, bank_at
from bridge.thermal.filter_bank import Bank
from bridge.thermal.interval_width import IntervalWidth, staying, widened
from bridge.thermal.normal_curve import phi
from bridge.values.frozen import frozen
from bridge.values.outlook import HORIZON_S, Crossing, Outlook
from bridge.values.sheet import Window

EVEN_CHANCE = 0.5
SURE = 0.99
"""Chance of being inside from which on the fluid counts as surely inside."""
BOUNDS_FROM_S = 45.0
"""So long after its first reading, and after so many, the bank knows bounds."""
BOUNDS_READINGS = 3
NEW_S = 60.0
"""So long after its first reading the bank does not dare to say 'never', nor how surely
the fluid stays: what a started engine heats is hardly felt yet."""
ABOVE_AMBIENT_C = {True: (85.0, 35.0), False: (4.0, 8.0)}
"""With the engine on and off: how far above ambient fluid settles, and the sd. On: as
gearboxes simulated in three ways do, a little wider.
"""
WILD_C = 60.0
"""A model as unsure of its equilibrium as this has none to speak of."""
VAGUE_C = 25.0
"""An equilibrium vaguer than this is not worth telling."""


@frozen
class Forecast:
    """What the bank expects of the window; a frozen value."""

    opens: Crossing | None
    """Until the fluid next enters; all zeros while it is surely inside."""
    shuts: Crossing | None
    """Until it then leaves, on whichever side."""
    outlook: Outlook
    settles_at_c: float | None
    settles_at_sd_c: float | None
    inside_chance: float
    """Chance, 0..1, that the fluid is inside the window now."""
    figures_in_s: float | None = 0.0
    """Until figures are given, or given without doubt again, if readings go on as
    they do; None: it hangs on readings that are seldom."""
    stays: tuple[float, ...] = ()
    """Chance of having stayed inside until each of HORIZONS_S; empty: not known, as in
    the first minute and in the one after a change of heating."""

    def stay_chance(self, duration_s: float) -> float | None:
        """Chance of being inside now and all the way until ``duration_s`` ahead.

        None if not enough is known or ``duration_s`` is not within 0..3600.
        """
        if not self.stays or not 0.0 <= duration_s <= HORIZON_S:
            return None
        return float(np.interp(duration_s, HORIZONS_S, np.array(self.stays)))

    def stays_s(self, chance: float) -> float | None:
        """Return for how long from now it stays inside with at least ``chance``, 0..1.

        Given that it is inside now. HORIZON_S at most; None if not enough is known.
        """
        if self.shuts is None or not self.stays or self.stays[0] <= 0.0:
            return None
        gone = 1.0 - np.array(self.stays) / self.stays[0]
        return float(np.interp(1.0 - chance, gone, HORIZONS_S))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Passage:
    """Distribution functions over HORIZONS_S."""

    entered: Array
    left: Array
    stayed: Array
    inside: float


def _short_of(future: Ahead, gap: Array) -> Array:
    """Chance (n, horizons) of lying less than ``gap`` above the mean."""
    calm = phi(gap / future.calm_sd)
    return calm + (1.0 - future.calm_chance) * (phi(gap / future.stirred_sd) - calm)


def _passage(future: Ahead, window: Window) -> _Passage:
    """First passages, each as the running maximum of being beyond the edge.

    A model below the middle of the window (or its one end) comes in over the low
    edge and goes out over the high edge or back over the low one; above it the
    other way round, which is the same picture upside down.
    """
    low = _short_of(future, window.low_c - future.mean)
    high = _short_of(future, future.mean - window.high_c)
    below = future.mean[:, :1] < window.middle_c
    behind, beyond = np.where(below, low, high), np.where(below, high, low)
    entered = np.maximum.accumulate(1.0 - behind, axis=1)
    passed = np.maximum.accumulate(beyond, axis=1)
    left = np.minimum(passed + (entered - (1.0 - behind)), entered)
    gone = np.maximum.accumulate(low, axis=1) + np.maximum.accumulate(high, axis=1)
    w = future.weight
    return _Passage(
        entered=w @ entered,
        left=np.maximum.accumulate(w @ left),
        stayed=w @ np.maximum(1.0 - gone, 0.0),
        inside=float(w @ np.maximum(1.0 - low[:, 0] - high[:, 0], 0.0)),
    )


_BELL = NormalDist()


def _probit(chance: float) -> float:
    return _BELL.inv_cdf(min(max(chance, 1e-9), 1.0 - 1e-9))


def _quantile(chances: Array, level: float) -> float | None:
    """When a distribution function over HORIZONS_S reaches ``level``.

    Between two horizons it is drawn as a bent bell curve's: a straight line would
    make a countdown run by fits and starts.
    """
    if chances[-1] < level:
        return None
    after = int(np.searchsorted(chances, level))
    if after == 0:
        return 0.0
    near = slice(max(after - 2, 0), after + 2)
    z = [_probit(float(c)) for c in chances[near]]
    return _bend(z, HORIZONS_S[near].tolist(), _probit(level), min(after, 2))


def _bend(z: list[float], t: list[float], at: float, after: int) -> float:
    """Cubic Hermite t(z) between points after - 1 and after, never overshooting."""
    before = after - 1
    own = _slope(z, t, after, 0.0)
    start = _harmonic(_slope(z, t, before, own), own)
    end = _harmonic(own, _slope(z, t, after + 1, own))
    width = z[after] - z[before]
    u = (at - z[before]) / width
    return (
        t[before] * (1 + 2 * u) * (1 - u) ** 2
        + t[after] * u * u * (3 - 2 * u)
        + width * u * (1 - u) * (start * (1 - u) - end * u)
    )


def _slope(z: list[float], t: list[float], after: int, fallback: float) -> float:
    """Secant dt/dz that ends at a point; the fallback where there is none."""
    if not 0 < after < len(z) or z[after] - z[after - 1] < 1e-6:
        return fallback
    return (t[after] - t[after - 1]) / (z[after] - z[after - 1])


def _harmonic(one: float, two: float) -> float:
    """Slope at a knot that keeps the curve monotone (Fritsch and Butland, 1984)."""
    total = one + two
    return 2.0 * one * two / total if total > 0.0 else 0.0


def _crossing(chances: Array, doubt: IntervalWidth) -> Crossing:
    chances = widened(chances, doubt)
    return Crossing(
        p05_s=_quantile(chances, 0.05),
        p50_s=_quantile(chances, 0.50),
        p95_s=_quantile(chances, 0.95),
        chance=float(min(max(chances[-1], 0.0), 1.0)),
    )


@frozen
class _Rule:
    """What may be said at all."""

    bounds: bool
    learning: bool
    new: bool

    def outlook(self, crossing: Crossing, *, inside: bool) -> Outlook:
        """How far one crossing can be trusted."""
        if not self.bounds:
            return Outlook.CANNOT_TELL
        if self.learning:
            return Outlook.LEARNING
        if crossing.narrow:
            return Outlook.TELLING
        if crossing.chance >= EVEN_CHANCE or self.new:
            return Outlook.ROUGH
        # inside, that the window may never shut is good news and is told
        return Outlook.TELLING if inside else Outlook.MAY_NEVER


_INSIDE = Crossing(p05_s=0.0, p50_s=0.0, p95_s=0.0, chance=1.0)
_BLIND = Forecast(
    opens=None,
    shuts=None,
    outlook=Outlook.CANNOT_TELL,
    settles_at_c=None,
    settles_at_sd_c=None,
    inside_chance=0.0,
    figures_in_s=BOUNDS_FROM_S,
)


def _settling(future: Ahead) -> tuple[float | None, float | None]:
    """Mixture of the equilibria; None where most models have none, or too vague."""
    w = np.where(future.settles_var < WILD_C**2, future.weight, 0.0)
    share = float(w.sum())
    if share < EVEN_CHANCE:
        return None, None
    w = w / share
    mean = float(w @ future.settles_c)
    var = float(w @ (future.settles_var + (future.settles_c - mean) ** 2))
    sd = math.sqrt(max(var, 0.0))
    return (mean, sd) if sd < VAGUE_C else (None, None)


def _settled(track: Track, bank: Bank) -> Merged:
    """The bank, with what is known of where fluid settles taken in."""
    merged = merge(bank)
    if track.engine is None or track.ambient_c is None:
        return merged
    above, sd = ABOVE_AMBIENT_C[track.engine]
    return expect_settling(bank.grid, merged, track.ambient_c + above, sd)


def _doubt(track: Track, merged: Merged, now_s: float) -> IntervalWidth:
    return IntervalWidth(
        driven=driven_share(track.grid, merged),
        warming=warming_share(merged),
        spread=track.hindsight.spread(),
        age_s=now_s - track.begun_s,
        idle_rpm=track.idle_rpm,
    )


def _stays(passage: _Passage, doubt: IntervalWidth) -> tuple[float, ...]:
    return tuple(staying(passage.stayed, doubt).tolist())


def _figures_in_s(track: Track, rule: _Rule, now_s: float) -> float | None:
    wait_s = BOUNDS_FROM_S - (now_s - track.begun_s)
    if not rule.bounds:
        return wait_s if wait_s > 0.0 else None
    return max(track.learning_until_s - now_s, 0.0)


def forecast(track: Track, window: Window, *, now_s: float) -> Forecast:
    """Return what is to be expected of the window, seen from ``now_s``.

    ``now_s`` is at or after ``track.t_s``; the longer after, the wider.
    """
    bank = bank_at(track, now_s=now_s)
    if bank is None:
        return _BLIND
    merged = _settled(track, bank)
    future = ahead(bank.grid, merged)
    passage = _passage(future, window)
    sure = passage.inside >= SURE
    doubt = _doubt(track, merged, now_s)
    opens = _INSIDE if sure else _crossing(passage.entered, doubt)
    shuts = _crossing(passage.left, doubt)
    age_s = now_s - track.begun_s
    rule = _Rule(
        bounds=age_s >= BOUNDS_FROM_S and track.fresh_readings >= BOUNDS_READINGS,
        learning=track.learning_at(now_s),
        new=age_s < NEW_S,
    )
    settles, spread = _settling(future)
    return Forecast(
        opens=opens if sure or rule.bounds else None,
        shuts=shuts if rule.bounds else None,
        outlook=rule.outlook(shuts if sure else opens, inside=sure),
        figures_in_s=_figures_in_s(track, rule, now_s),
        settles_at_c=settles,
        settles_at_sd_c=spread,
        inside_chance=min(max(passage.inside, 0.0), 1.0),
        stays=() if rule.new or rule.learning else _stays(passage, doubt),
    )
