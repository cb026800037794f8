"""The bank's models: which time constants, noises and moods it believes possible.

One model is one choice of *path* (two time constants) and *mood* (noise of the
sensor, and how restless the heating is). The state of each model is the fluid's
temperature and its rate in two parts: T' = f + s, f' = -k1 f, s' = -k2 s, each
part driven by white noise. Fluid moves quickly against its case (f) and then
both drift (s). Arrays are laid out (path, component, mood).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from bridge.values.frozen import frozen

Array = NDArray[np.float64]


SETTLES_SOON_PER_S = 1 / 2000
"""Rate of the slow part from which fluid settles within the half hour or so, 1/s."""


@frozen
class BankSettings:
    """What the bank takes for possible; rates in 1/s, noise in degC, densities in
    (degC/s)^2/s, standard deviations of a rate (_sd) in degC/s.

    No published source: chosen by hand and tried on the simulated warm-ups (seeds
    100..103) and the recorded ones of ``make show-forecast``; docs/forecast.md has what
    they give on others.
    """

    fast_per_s: tuple[float, ...] = (1 / 25, 1 / 80)
    """Fluid against its case: time constants of 25 and 80 s."""
    slow_per_s: tuple[float, ...] = (1e-6, 1 / 5000, 1 / 2500, 1 / 1400, 1 / 800)
    """Fluid and case against the air: 800 s to 5000 s, and one that never settles."""
    noise_c: tuple[float, ...] = (0.01, 0.03, 0.08, 0.2, 0.6)
    """Standard deviation of a sensor, rounding apart."""
    slow_density: tuple[float, ...] = (1e-11, 1e-10, 1e-9, 1e-8, 1e-8, 1e-9)
    fast_density: tuple[float, ...] = (1e-10, 1e-8, 5e-7, 1e-6, 1e-3, 1e-6)
    """How restless the heating is, per mode; the last one is the jump."""
    stay_s: tuple[float, ...] = (4000.0, 2000.0, 1000.0, 70.0, 20.0, 25.0)
    """How long each mode lasts on average."""
    driven: tuple[bool, ...] = (False, False, False, True, True, False)
    """Which modes belong to a car that is driven rather than idling: quiet
    stretches and the moments when the load changes.
    """
    driven_share: float = 0.3
    """Chance, 0..1, before the first reading that the car is driven."""
    driven_soon: float = 0.1
    """Factor on the chance that a driven car settles within the half hour."""
    swap_every_s: float = 20_000.0
    """Average time until an idling car becomes a driven one, or back."""
    jump_every_s: float = 10_000.0
    """Average time between jumps of the heating nobody announced."""
    jump_fast_sd: float = 0.03
    jump_slow_sd: float = 0.02
    """What a jump adds to either part of the rate."""
    path_stay_s: float = 1500.0
    """Average time until the time constants change (a thermostat opens)."""
    noise_stay_s: float = 3000.0
    """Average time until the sensor's noise changes."""
    start_fast_sd: tuple[float, float] = (0.06, 0.3)
    start_slow_sd: tuple[float, float] = (0.04, 0.25)
    """Of an idling and of a driven car, degC/s."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chain:
    """A continuous-time Markov chain, ready for exp(L dt) at any dt."""

    values: Array
    left: Array
    right: Array

    def step(self, dt_s: float) -> Array:
        """Return the matrix of chances to go from row to column in ``dt_s``."""
        matrix = (self.left * np.exp(self.values * dt_s)) @ self.right
        return np.maximum(matrix, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """Settings spread over the bank, with the eigenvectors of their chains."""

    settings: BankSettings
    fast: Array
    """k1 of each path."""
    slow: Array
    """k2 of each path."""
    noise_var: Array
    """Sensor variance of each mood."""
    density: Array
    """(2, moods): density of the fast and of the slow part's noise."""
    jump: Array
    """(moods,): 1 where the mood is a jump."""
    first: Array
    """(paths, moods): weights before the first reading."""
    first_fast_var: Array
    """(moods,): variance of both rates before the first reading."""
    first_slow_var: Array
    fast_chain: Chain
    slow_chain: Chain
    noise_chain: Chain
    mode_chain: Chain


def chain(rates: Array) -> Chain:
    """Decompose a generator (rows sum to zero) once and for all."""
    values, left = np.linalg.eig(rates)
    right = np.linalg.inv(left)
    return Chain(
        values=np.real(values),
        left=np.ascontiguousarray(np.real(left)),
        right=np.ascontiguousarray(np.real(right)),
    )


def neighbours(count: int, stay_s: float) -> Array:
    """Generator of a walk between neighbours, each left after ``stay_s``."""
    rates = np.zeros((count, count))
    for here in range(count):
        beside = [n for n in (here - 1, here + 1) if 0 <= n < count]
        for other in beside:
            # the same rate both ways, so that no end is favoured
            rates[here, other] = 0.5 / stay_s
        rates[here, here] = -rates[here].sum()
    return rates


def moods(settings: BankSettings) -> Array:
    """Generator of the diffusion modes and the jump (last).

    Two families, idling and driven, each mixing within itself; the jump is
    something an idling car does.
    """
    count = len(settings.stay_s)
    calm = count - 1
    driven = np.array(settings.driven)
    rates = np.zeros((count, count))
    for here in range(count):
        own = [n for n in range(calm) if n != here and driven[n] == driven[here]]
        other = [n for n in range(calm) if driven[n] != driven[here]]
        if own:
            rates[here, own] = 1.0 / settings.stay_s[here] / len(own)
        if other:
            rates[here, other] = 1.0 / settings.swap_every_s / len(other)
        if not driven[here] and here != calm:
            rates[here, calm] = 1.0 / settings.jump_every_s
    np.fill_diagonal(rates, -rates.sum(axis=1))
    return rates


def first_weights(settings: BankSettings) -> Array:
    """Chances of the modes before the first reading."""
    driven = np.array(settings.driven)
    many = int(driven.sum())
    share = settings.driven_share if many else 0.0
    idle = (1.0 - share) / (len(driven) - many)
    return np.where(driven, share / max(many, 1), idle)


def _first(settings: BankSettings) -> Array:
    """Weights before the first reading; a driven car heads far beyond the window."""
    paths = len(settings.fast_per_s) * len(settings.slow_per_s)
    noises = len(settings.noise_c)
    modes = np.tile(first_weights(settings), noises) / noises
    soon = np.tile(settings.slow_per_s, len(settings.fast_per_s)) > SETTLES_SOON_PER_S
    driven = np.tile(settings.driven, noises)
    weight = np.outer(np.full(paths, 1.0 / paths), modes)
    weight[np.outer(soon, driven)] *= settings.driven_soon
    return np.asarray(weight / weight.sum())


def _by_mood(settings: BankSettings, pair: tuple[float, float]) -> Array:
    """An (idling, driven) pair of figures, given to every mood."""
    idle, driven = pair
    modes = np.where(np.array(settings.driven), driven, idle)
    return np.tile(modes, len(settings.noise_c))


def build(settings: BankSettings) -> Grid:
    """Lay the settings out over every path and mood."""
    fast, slow = np.array(settings.fast_per_s), np.array(settings.slow_per_s)
    noise = np.array(settings.noise_c)
    modes = len(settings.stay_s)
    density = np.array([settings.fast_density, settings.slow_density])
    jump = np.zeros(modes)
    jump[-1] = 1.0
    return Grid(
        settings=settings,
        fast=np.repeat(fast, len(slow)),
        slow=np.tile(slow, len(fast)),
        noise_var=np.repeat(noise**2, modes),
        density=np.tile(density, (1, len(noise))),
        jump=np.tile(jump, len(noise)),
        first=_first(settings),
        first_fast_var=_by_mood(settings, settings.start_fast_sd) ** 2,
        first_slow_var=_by_mood(settings, settings.start_slow_sd) ** 2,
        fast_chain=chain(neighbours(len(fast), settings.path_stay_s)),
        slow_chain=chain(neighbours(len(slow), settings.path_stay_s)),
        noise_chain=chain(neighbours(len(noise), settings.noise_stay_s)),
        mode_chain=chain(moods(settings)),
    )


def decay(rate_per_s: Array, dt_s: float | Array) -> tuple[Array, Array]:
    """Return e = exp(-k dt) and g = (1 - e)/k."""
    x = rate_per_s * dt_s
    return np.exp(-x), -np.expm1(-x) / rate_per_s


def unit_noise(rate_per_s: Array, dt_s: float | Array) -> tuple[Array, Array, Array]:
    """Covariance (TT, Tr, rr) a unit density of noise on one part has after dt.

    The integrated Ornstein-Uhlenbeck process; as a series below k dt = 1e-3,
    where the closed form loses its digits.
    """
    x = rate_per_s * dt_s
    e, g = decay(rate_per_s, dt_s)
    small = x < 1e-3
    k = rate_per_s
    tt = (dt_s - 2 * g + (1 - e * e) / (2 * k)) / (k * k)
    tt = np.where(small, dt_s**3 * (1 / 3 - x / 4 + 7 * x * x / 60), tt)
    return tt, g * g / 2, g * (1 + e) / 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BankStep:
    """Everything one step of ``dt`` does to the bank."""

    paths: Array
    moods: Array
    mean: Array
    """(paths, 3, 3)"""
    cov: Array
    """(paths, 6, 6) over TT, Tf, Ts, ff, fs, ss"""
    noise: Array
    """(paths, 6, moods)"""


def _mean_map(e1: Array, g1: Array, e2: Array, g2: Array) -> Array:
    out = np.zeros((len(e1), 3, 3))
    out[:, 0, 0], out[:, 0, 1], out[:, 0, 2] = 1.0, g1, g2
    out[:, 1, 1], out[:, 2, 2] = e1, e2
    return out


def _cov_map(e1: Array, g1: Array, e2: Array, g2: Array) -> Array:
    out = np.zeros((len(e1), 6, 6))
    out[:, 0] = spread_terms(g1, g2).T
    out[:, 1, 1], out[:, 1, 3], out[:, 1, 4] = e1, e1 * g1, e1 * g2
    out[:, 2, 2], out[:, 2, 4], out[:, 2, 5] = e2, e2 * g1, e2 * g2
    out[:, 3, 3], out[:, 4, 4], out[:, 5, 5] = e1 * e1, e1 * e2, e2 * e2
    return out


def spread_terms(g1: Array, g2: Array) -> Array:
    """What each covariance term adds to var T once g1, g2 have acted (6, ...)."""
    one = np.ones_like(g1)
    return np.stack([one, 2 * g1, 2 * g2, g1 * g1, 2 * g1 * g2, g2 * g2])


def _noise_map(grid: Grid, dt_s: float) -> Array:
    tt1, tr1, rr1 = unit_noise(grid.fast, dt_s)
    tt2, tr2, rr2 = unit_noise(grid.slow, dt_s)
    unit = np.zeros((len(tt1), 6, 2))
    unit[:, 0, 0], unit[:, 0, 1] = tt1, tt2
    unit[:, 1, 0], unit[:, 3, 0] = tr1, rr1
    unit[:, 2, 1], unit[:, 5, 1] = tr2, rr2
    return np.asarray(unit @ grid.density)


def _beside(first: Array, second: Array) -> Array:
    """Chances of two chains that run independently side by side."""
    # numpy.kron gives the same digits in three times the time
    spread = first[:, None, :, None] * second[None, :, None, :]
    return np.asarray(spread.reshape(len(first) * len(second), -1))


@lru_cache(maxsize=64)
def step(grid: Grid, dt_s: float) -> BankStep:
    """Return what ``dt_s`` >= 0 seconds do to the bank; remembered for repeats."""
    e1, g1 = decay(grid.fast, dt_s)
    e2, g2 = decay(grid.slow, dt_s)
    return BankStep(
        paths=_beside(grid.fast_chain.step(dt_s), grid.slow_chain.step(dt_s)).T,
        moods=_beside(grid.noise_chain.step(dt_s), grid.mode_chain.step(dt_s)),
        mean=_mean_map(e1, g1, e2, g2),
        cov=_cov_map(e1, g1, e2, g2),
        noise=_noise_map(grid, dt_s),
    )


GRID = build(BankSettings())
"""The bank as tuned; see docs/forecast.md."""
