"""From marks of drips to when the surplus has settled: a small Bayesian grid.

The rate of dripping falls along one of Arps' decline curves (J. J. Arps, "Analysis
of Decline Curves", Trans. AIME 160, 1945): exponential (b = 0), hyperbolic (b =
0.5) or harmonic (b = 1). Each mark is one drop seen; some are missed (thinning),
some come double (dead time). The unknowns are when the rate falls to the
criterion, how steeply it falls, and the share of drops that are marked.

What stands in the tube always runs out, whatever the level (common practice, no
source): nothing in the first seconds counts as surplus.
"""

from __future__ import annotations

import math
from copy import copy

import numpy as np
from numpy.typing import NDArray

from bridge.level.settling.gaps import MANNER_CHANCE, MANNERS, log_gaps, silence
from bridge.level.settling.pulses import Spans, Table, overlaps, pulse_slots, touched
from bridge.level.settling.settle_time import POINTS, SettleTime
from bridge.level.settling.settle_values import USUAL_RULE, DripRule, Marks, Settling

Array = NDArray[np.float64]

_STEEP: dict[float, tuple[float, ...]] = {
    0.0: (1.5, 1.9, 2.4, 3.0, 3.8, 4.8, 6.2, 8.5),
    0.5: (3.0, 6.0, 12.0, 30.0),
    1.0: (3.5, 8.0, 18.0, 45.0),
}
"""For each b the initial decline times the settle time. At opening it is a stream,
so the rate begins at least some four times as high as the criterion."""
_SHAPES = np.array([(b, x) for b, steps in _STEEP.items() for x in steps])
_BENT_CHANCE = {0.0: 0.5, 0.5: 0.25, 1.0: 0.25}
_SHAPE_CHANCE = np.array([_BENT_CHANCE[b] / len(_STEEP[b]) for b, _ in _SHAPES])
_TIMES = np.geomspace(0.15, 7.0, 40)
"""Settle times tried, in terms of the expected one."""
_RULED_OUT = 0.001
_BROAD = 0.6
"""Beside the sheet's own spread: a sheet's time may be for another surplus."""
MOST_USED = 160
"""Marks weighed: older ones, from the fast beginning, tell little of the end."""
_RUN = 6
_KEY_RATE = 3.0
"""Faster drops than this a second are not marked one by one."""
_LEAST_KEPT = 12
_TEMPER = 0.5
"""Marks count half: a person's reaction and a curve that is none of ours make a
likelihood too sure of itself (found on simulated trains: intervals then hold)."""
_STOPPED = 0.02
"""Chance that silence means that the person stopped marking."""


def settling(
    marks: Marks,
    expected: SettleTime,
    *,
    elapsed_s: float,
    spread: float = 0.2,
    rule: DripRule = USUAL_RULE,
) -> Settling:
    """Return how the running down stands ``elapsed_s`` after opening.

    ``expected`` is what was expected at opening, ``spread`` its log-normal spread.
    Without usable marks it is a timer and says so.
    """
    clean = usable(marks.drips_s, elapsed_s, rule)
    if len(clean) < 2:
        return _timer(marks, expected, elapsed_s)
    grid = _Grid(expected.p50_s, spread, rule.settled_rate_per_s, _TIMES)
    weight = grid.weigh(clean, marks, elapsed_s, ())
    found = pulse_slots(
        clean, elapsed_s, grid.expects(weight, elapsed_s), period_s=rule.pulse_period_s
    )
    slots = found.slots_s if found else ()
    kept = clean[~overlaps(clean, slots)]
    if found:
        weight = grid.weigh(kept, marks, elapsed_s, slots)
    # regular drops tell more than the coarse grid can hold: look again, closer
    grid = _Grid(expected.p50_s, spread, rule.settled_rate_per_s, grid.likely(weight))
    weight = grid.weigh(kept, marks, elapsed_s, slots)
    return grid.read(weight, elapsed_s, rule, found.period_s if found else None)


def usable(drips_s: tuple[float, ...], elapsed_s: float, rule: DripRule) -> Array:
    """Return the marks that may be surplus: after the tube's share, none doubled."""
    kept: list[float] = []
    for at in drips_s:
        if not rule.tube_s < at <= elapsed_s:
            continue
        if not kept or at - kept[-1] >= rule.dead_s:
            kept.append(at)
    return _slow_part(np.array(kept[-MOST_USED:]))


def _slow_part(seen: Array) -> Array:
    """Leave out the beginning, where drops come faster than a key can follow.

    From the last time seven marks came within two seconds; a dozen marks stay.
    """
    if len(seen) <= _LEAST_KEPT:
        return seen
    spans = seen[_RUN:] - seen[:-_RUN]
    fast = np.flatnonzero(spans < _RUN / _KEY_RATE)
    cut = int(fast[-1]) + _RUN if len(fast) else 0
    return seen[min(cut, len(seen) - _LEAST_KEPT) :]


def _timer(marks: Marks, expected: SettleTime, elapsed_s: float) -> Settling:
    """The sheet's time; a stream that was seen moves it on."""
    seen = marks.streaming_s
    settle = expected
    if seen is not None and seen > expected.points_s[0]:
        later = tuple(p for p in expected.points_s if p > seen)
        settle = SettleTime(points_s=later or _beyond(seen))
    return Settling(
        settle=settle,
        settled_chance=settle.settled_chance(elapsed_s),
        timer_only=True,
        rate_per_s=None,
        more_ml=None,
    )


def _beyond(seen_s: float) -> tuple[float, ...]:
    """A stream that outlasted all that was expected: a fifth to a half longer."""
    return tuple(seen_s * (1.2 + 0.3 * i / (POINTS - 1)) for i in range(POINTS))


class _Grid:
    """Every settle time (rows) with every shape (columns): rate and its integral."""

    def __init__(
        self, expected_s: float, spread: float, criterion: float, scales: Array
    ) -> None:
        self.scales = scales
        self.times = (expected_s * scales)[:, None, None]
        self.b = _SHAPES[None, :, 0, None]
        self.steep = _SHAPES[None, :, 1, None]
        self.criterion = criterion
        off = np.log(scales)
        narrow = max(spread, 0.05)
        prior = np.exp(-0.5 * (off / narrow) ** 2) / narrow
        prior = prior + np.exp(-0.5 * (off / _BROAD) ** 2) / _BROAD
        self.prior = (prior / prior.sum())[:, None] * _SHAPE_CHANCE

    def likely(self, weight: Array) -> Array:
        """Return finer scales over the settle times that are not ruled out."""
        chance = np.cumsum(weight.sum(axis=(1, 2)))
        last = len(chance) - 1
        low = max(int(np.searchsorted(chance, _RULED_OUT)) - 1, 0)
        high = min(int(np.searchsorted(chance, 1.0 - _RULED_OUT)) + 1, last)
        return np.geomspace(self.scales[low], self.scales[high], len(self.scales))

    def _stage(self, at: Array) -> Array:
        """1 + b D t of Arps' curve; D t itself where b is 0."""
        done: Array = self.steep * np.atleast_1d(at) / self.times
        return np.where(self.b > 0, 1.0 + self.b * done, done)

    def log_rate(self, at: Array) -> Array:
        """Logarithm of the rate, (times, shapes, at)."""
        power = 1.0 / np.where(self.b > 0, self.b, 1.0)
        end = np.where(self.b > 0, 1.0 + self.b * self.steep, self.steep)
        stage = self._stage(at)
        bent = power * (np.log(end) - np.log(np.where(self.b > 0, stage, 1.0)))
        falls = np.where(self.b > 0, bent, end - stage)
        return np.asarray(math.log(self.criterion) + np.minimum(falls, 60.0))

    def drops(self, at: Array) -> Array:
        """Integral of the rate from 0, up to a constant; (times, shapes, at)."""
        rate = np.exp(self.log_rate(at))
        slope = self.times / self.steep
        stage = self._stage(at)
        half = np.where(self.b == 0.5, -2.0 * stage, -1.0)
        harmonic = stage * np.log(np.maximum(stage, 1e-300))
        return np.asarray(rate * slope * np.where(self.b == 1.0, harmonic, half))

    def weigh(self, seen: Array, marks: Marks, now_s: float, slots: Spans) -> Array:
        """Posterior over (times, shapes, manners); sums to 1."""
        score = np.log(self.prior)[..., None] + np.log(MANNER_CHANCE)
        out = (*marks.blind_s, *slots)
        if len(seen) >= 2:
            score = score + _TEMPER * self._heard(seen, out)
            silent = self._exposed(seen[-1], now_s, out)
            score = score + np.log((1.0 - _STOPPED) * silence(silent) + _STOPPED)
        return self._normal(self._streamed(score, marks.streaming_s))

    def _heard(self, seen: Array, out: Spans) -> Array:
        """Log-likelihood of the gaps; those that touch a span left out say nothing."""
        whole = ~touched(seen[:-1], seen[1:], out)
        counts = self.drops(seen)
        gaps = (counts[..., 1:] - counts[..., :-1])[..., whole]
        rates = self.log_rate(seen[1:][whole]).sum(axis=2)
        return np.asarray(rates[..., None] + log_gaps(gaps))

    def _streamed(self, score: Array, seen_s: float | None) -> Array:
        """A stream is faster than any settled drip: no earlier time is possible."""
        if seen_s is None or seen_s >= self.times[-1, 0, 0]:
            return score
        return np.where(self.times > seen_s, score, -np.inf)

    @staticmethod
    def _normal(score: Array) -> Array:
        weight = np.exp(score - score.max())
        return np.asarray(weight / weight.sum())

    def _exposed(self, start: float, end: float, left_out: Spans) -> Array:
        """Drops expected from start to end, spans left out taken off."""
        cuts = np.array([start, end, *_inside(start, end, left_out)])
        counts = self.drops(cuts)
        total = counts[..., 1] - counts[..., 0]
        for i in range(2, len(cuts), 2):
            total = total - (counts[..., i + 1] - counts[..., i])
        return np.asarray(total)

    def expects(self, weight: Array, now_s: float) -> Table:
        """Return the marks the likeliest model expects, as a cumulative table."""
        row, shape, manner = np.unravel_index(int(weight.argmax()), weight.shape)
        one = copy(self)
        one.times = self.times[row : row + 1]
        one.b, one.steep = (v[:, shape : shape + 1] for v in (self.b, self.steep))
        at = np.arange(0.0, now_s + 1.0, 0.25)
        return at, (1.0 - MANNERS[manner][1]) * one.drops(at)[0, 0]

    def read(
        self, weight: Array, now_s: float, rule: DripRule, period_s: float | None
    ) -> Settling:
        """Turn the posterior into what can be said."""
        models = weight.sum(axis=2)
        times = self.times[:, 0, 0]
        by_time = models.sum(axis=1)
        settle = SettleTime(points_s=_points(times, by_time))
        rates = np.exp(self.log_rate(np.array([now_s]))[..., 0])
        left = self.drops(np.array([now_s]))[..., 0]
        ends = self.drops(self.times)[..., 0]
        more = np.where(times[:, None] > now_s, np.maximum(ends - left, 0.0), 0.0)
        return Settling(
            settle=settle,
            settled_chance=_chance_by(times, by_time, now_s),
            timer_only=False,
            rate_per_s=_middle(rates, models),
            more_ml=_middle(more, models) * rule.drop_ml,
            pulse_period_s=period_s,
        )


def _middle(values: Array, chances: Array) -> float:
    """The median: a few models with a long tail must not speak for all."""
    order = np.argsort(values, axis=None)
    passed = np.cumsum(chances.ravel()[order])
    at = min(int(np.searchsorted(passed, 0.5 * passed[-1])), len(order) - 1)
    return float(values.ravel()[order[at]])


def _inside(start: float, end: float, spans: Spans) -> list[float]:
    """The parts of the spans between start and end, merged, as flat pairs."""
    flat: list[float] = []
    for low, high in sorted(spans):
        low = max(low, start, flat[-1] if flat else start)
        high = min(high, end)
        if high > low:
            flat += [low, high]
    return flat


def _cumulative(times: Array, chances: Array) -> tuple[Array, Array]:
    """Distribution function at the geometric borders between grid times."""
    borders = np.sqrt(times[1:] * times[:-1])
    edges = np.concatenate(
        [[times[0] ** 2 / borders[0]], borders, [times[-1] ** 2 / borders[-1]]]
    )
    return edges, np.concatenate([[0.0], np.cumsum(chances)])


def _points(times: Array, chances: Array) -> tuple[float, ...]:
    edges, chance = _cumulative(times, chances)
    levels = (np.arange(POINTS) + 0.5) / POINTS
    rising = chance + np.arange(len(chance)) * 1e-12
    return tuple(float(v) for v in np.interp(levels, rising, edges))


def _chance_by(times: Array, chances: Array, now_s: float) -> float:
    edges, chance = _cumulative(times, chances)
    return min(float(np.interp(now_s, edges, chance)), 1.0)
