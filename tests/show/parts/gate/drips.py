"""Simulated drip trains and a person who marks them, for the gate's figures.

The curves are not the model's own: decline exponents between its grid's, drops
between regular and random, a person who begins late, misses some, hits twice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from bridge.level.settling.drips import settling
from bridge.level.settling.settle_time import usual
from bridge.level.settling.settle_values import DripRule, Marks, Settling

Array = np.ndarray
CRITERION = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Train:
    """One running down, in s since opening."""

    kind: str
    b: float
    steep: float
    settles_s: float
    expected_s: float
    marks_s: tuple[float, ...]
    plain_s: tuple[float, ...]
    """The same marks without those of the pulses."""
    stream_until_s: float
    """Until then it is a stream to the eye."""


def rate(t_s: Array, *, settles_s: float, steep: float, b: float) -> Array:
    """Arps decline through the criterion at ``settles_s``; any b from 0 to 1."""
    if b == 0.0:
        return CRITERION * np.exp(steep * (1.0 - t_s / settles_s))
    falls = (1.0 + b * steep) / (1.0 + b * steep * t_s / settles_s)
    return CRITERION * falls ** (1.0 / b)


def drops(
    rng: np.random.Generator,
    *,
    settles_s: float,
    steep: float,
    b: float,
    until_s: float,
) -> Array:
    """Drop times: a renewal process in operational time, regular to random."""
    t = np.arange(0.0, until_s, 0.02)
    lam = np.minimum(rate(t, settles_s=settles_s, steep=steep, b=b), 60.0)
    done = np.concatenate([[0.0], np.cumsum(lam[:-1] * 0.02)])
    shape = float(rng.choice([4.0, 10.0, 30.0]))
    gaps = rng.gamma(shape, 1.0 / shape, int(done[-1] * 1.3) + 60)
    return np.interp(np.cumsum(gaps), done, t, right=np.inf)


def marked(rng: np.random.Generator, at: Array, begins_s: float) -> Array:
    """What a person makes of drops: begins late, misses, is a little late, bounces."""
    misses = rng.uniform(0.03, 0.25)
    seen = at[(at >= begins_s) & (rng.random(len(at)) > misses)]
    seen = seen + np.abs(rng.normal(0.15, 0.05, len(seen)))
    # nobody presses a key more than six times a second
    kept: list[float] = []
    for s in np.sort(seen):
        if not kept or s - kept[-1] > 0.16:
            kept.append(float(s))
    pressed = np.array(kept)
    twice = pressed[rng.random(len(pressed)) < 0.06]
    return np.sort(
        np.concatenate([pressed, twice + rng.uniform(0.03, 0.13, len(twice))])
    )


def _pulses(rng: np.random.Generator, until_s: float) -> Array:
    period, first = rng.uniform(28, 32), rng.uniform(3, 30)
    starts = np.arange(first, until_s, period)
    bursts = [s + np.sort(rng.uniform(0, 1.8, rng.integers(3, 8))) for s in starts]
    return np.concatenate(bursts) if bursts else np.array([])


def train(rng: np.random.Generator, *, pulses: bool) -> Train:
    """Return one random train."""
    kind = "exponential" if rng.random() < 0.5 else "hyperbolic"
    b = 0.0 if kind == "exponential" else float(rng.uniform(0.3, 1.0))
    expected_s = float(rng.uniform(40, 150))
    settles_s = expected_s * float(np.exp(rng.normal(0, 0.4)))
    steep = float(rng.uniform(1.5, 6.0) if b == 0.0 else np.exp(rng.uniform(1.2, 3.4)))
    until_s = settles_s * 2.0 + 90.0
    fell = drops(rng, settles_s=settles_s, steep=steep, b=b, until_s=until_s)
    fell = fell[np.isfinite(fell)]
    faster = np.flatnonzero(
        rate(np.arange(0, until_s, 0.1), settles_s=settles_s, steep=steep, b=b)
        < rng.uniform(3.0, 6.0)
    )
    begins_s = max(float(faster[0]) * 0.1, 2.0) + rng.uniform(0, 3)
    tube = np.sort(rng.uniform(0.2, 2.8, rng.integers(0, 6)))
    plain = np.sort(np.concatenate([tube, marked(rng, fell, begins_s)]))
    extra = marked(rng, _pulses(rng, until_s), begins_s) if pulses else np.array([])
    return Train(
        kind=kind,
        b=b,
        steep=steep,
        settles_s=settles_s,
        expected_s=expected_s,
        marks_s=tuple(float(m) for m in np.sort(np.concatenate([plain, extra]))),
        plain_s=tuple(float(m) for m in plain),
        stream_until_s=begins_s,
    )


def called_s(one: Train, marks_s: tuple[float, ...]) -> float:
    """When settled is called, looking about forty times; who sees a stream says so."""
    expected = usual(one.expected_s)
    streaming: float | None = None
    every_s = max(1.0, one.settles_s / 40.0)
    t = min(0.3 * one.settles_s, 0.5 * one.expected_s)
    while t < 2.0 * one.settles_s + 60.0:
        seen = Marks(drips_s=tuple(m for m in marks_s if m <= t), streaming_s=streaming)
        state = settling(seen, expected, elapsed_s=t)
        if state.settled_chance >= 0.5:
            if t >= one.stream_until_s:
                return t
            streaming = t
        t += every_s
    return math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Called:
    """How one train was called: times over the true settling."""

    kind: str
    pulses: bool
    ratio: float
    plain_ratio: float
    """The same drops without the pulses; nan where there were none."""


def judge_train(seed: tuple[int, int]) -> Called:
    """Make and call one train; every third has pulses."""
    rng = np.random.default_rng([*seed, 77])
    pulses = seed[1] % 3 == 0
    one = train(rng, pulses=pulses)
    plain = called_s(one, one.plain_s) / one.settles_s if pulses else math.nan
    return Called(
        kind=one.kind,
        pulses=pulses,
        ratio=called_s(one, one.marks_s) / one.settles_s,
        plain_ratio=plain,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PulsesOnly:
    """A level that was right: the tube runs out, then nothing but the pump's pulses."""

    late: bool
    """Settled was still not called a fifth after the expected time and a reaction."""
    more_ml: float
    """What was said to come still, two minutes on."""


def judge_pulses(seed: tuple[int, int]) -> PulsesOnly:
    """One gearbox with a right level and a pulse every half minute."""
    rng = np.random.default_rng([*seed, 99])
    expected_s = float(rng.uniform(40, 110))
    criterion = float(rng.choice([0.2, 1.0]))
    tube = np.sort(rng.uniform(0.2, 2.8, rng.integers(2, 6)))
    pulses = marked(rng, _pulses(rng, 400.0), 3.0)
    marks = tuple(float(m) for m in np.concatenate([tube, pulses]))
    limit_s = 1.2 * expected_s + 5.0
    rule = DripRule(settled_rate_per_s=criterion)

    def state(t: float) -> Settling:
        seen = Marks(drips_s=tuple(m for m in marks if m <= t))
        return settling(seen, usual(expected_s), elapsed_s=t, rule=rule)

    looks = np.arange(0.4 * expected_s, limit_s, 2.0)
    late = all(state(float(t)).settled_chance < 0.5 for t in looks)
    more = state(max(limit_s, 120.0)).more_ml
    return PulsesOnly(late=late, more_ml=more or 0.0)
