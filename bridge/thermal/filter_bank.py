"""The bank's arithmetic: advance in time, take in a rounded reading, forget a slope.

Interacting multiple models (Blom and Bar-Shalom, IEEE Trans. Automatic Control 33
(1988) 780, from memory): before each reading the models exchange weight and state as
their Markov chains say, so that an unannounced change of heating is among the things
the bank expects. No array is changed in place once a ``Bank`` holds it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from bridge.thermal.bank_models import Array, Grid, step

TT, TF, TS, FF, FS, SS = range(6)
FLAT_Z = 1e-13
"""Chance (0..1) of a code below which the difference of two tails has lost its digits
in double precision (2**-52 is 2e-16; three digits are kept).
"""
NARROW_SDS = 1e-4
"""A half-width below this many standard deviations counts as a point, for the same
reason.
"""
LEAST_WEIGHT = 1e-250
"""Keeps a weight from becoming 0, which it could never leave; doubles end at 2e-308."""
LEAST_VAR = 1e-14
"""Keeps rounding from making a variance negative; degC^2, and (degC/s)^2 of a rate."""
_ROOT_HALF = math.sqrt(0.5)
_ROOT_TAU = math.sqrt(2 * math.pi)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bank:
    """Weights (paths, moods), means (paths, 3, moods), covariances (paths, 6, moods).

    The components of the mean are T in degC and f, s in degC/s; those of the
    covariance TT, Tf, Ts, ff, fs, ss. ``fit`` is the chance, 0..1, the bank gave
    the last reading before it saw it.
    """

    grid: Grid
    weight: Array
    mean: Array
    cov: Array
    fit: float = 1.0


def start(
    grid: Grid, temp_c: float, temp_var: float, weight: Array | None = None
) -> Bank:
    """Return a bank that knows one temperature and nothing of its slope."""
    paths, moods = len(grid.fast), len(grid.noise_var)
    mean = np.zeros((paths, 3, moods))
    mean[:, 0] = temp_c
    cov = np.zeros((paths, 6, moods))
    cov[:, TT] = temp_var
    cov[:, FF] = grid.first_fast_var
    cov[:, SS] = grid.first_slow_var
    if weight is None:
        weight = grid.first
    return Bank(grid=grid, weight=weight, mean=mean, cov=cov)


def _moments(bank: Bank, centre: Array) -> Array:
    """Weighted zeroth, first and second moments about ``centre`` (paths, 10, moods)."""
    off = bank.mean - centre[:, None]
    w = bank.weight[:, None, :]
    out = np.empty((len(off), 10, off.shape[2]))
    out[:, 0] = bank.weight
    out[:, 1:4] = off * w
    out[:, 4:7] = off[:, :1] * off
    out[:, 7:9] = off[:, 1:2] * off[:, 1:]
    out[:, 9] = off[:, 2] * off[:, 2]
    out[:, 4:] += bank.cov
    out[:, 4:] *= w
    return out


def _from_moments(grid: Grid, moments: Array, centre: Array) -> Bank:
    weight = np.maximum(moments[:, 0], LEAST_WEIGHT)
    parts = moments[:, 1:] / weight[:, None, :]
    off, cov = parts[:, :3], parts[:, 3:].copy()
    cov[:, TT:FF] -= off[:, :1] * off
    cov[:, FF:SS] -= off[:, 1:2] * off[:, 1:]
    cov[:, SS] -= off[:, 2] * off[:, 2]
    cov[:, (TT, FF, SS)] = np.maximum(cov[:, (TT, FF, SS)], LEAST_VAR)
    return Bank(grid=grid, weight=weight, mean=off + centre[:, None], cov=cov)


def centre_of(bank: Bank) -> Array:
    """Return the mixture's mean (T, f, s)."""
    return np.asarray(np.einsum("pm,pcm->c", bank.weight, bank.mean))


def _mix(bank: Bank, paths: Array, moods: Array) -> Bank:
    grid = bank.grid
    centre = centre_of(bank)
    moments = _moments(bank, centre)
    count, parts, width = moments.shape
    moments = (paths @ moments.reshape(count, -1)).reshape(-1, width)
    calm = moods * (1.0 - grid.jump)[:, None]
    fresh = (moments.reshape(count, parts, width)[:, 0] @ calm) * grid.jump
    moments = (moments @ moods).reshape(count, parts, width)
    moments[:, 4 + FF] += fresh * grid.settings.jump_fast_sd**2
    moments[:, 4 + SS] += fresh * grid.settings.jump_slow_sd**2
    return _from_moments(grid, moments, centre)


def advance(bank: Bank, dt_s: float) -> Bank:
    """Let ``dt_s`` >= 0 seconds pass without a reading."""
    if dt_s <= 0.0:
        return bank
    change = step(bank.grid, dt_s)
    mixed = _mix(bank, change.paths, change.moods)
    return Bank(
        grid=bank.grid,
        weight=mixed.weight,
        mean=change.mean @ mixed.mean,
        cov=change.cov @ mixed.cov + change.noise,
    )


def _upper_tail(x: Array) -> Array:
    """1 - Phi(x), with all its digits far out in the tail."""
    tails = map(math.erfc, (x * _ROOT_HALF).ravel().tolist())
    return 0.5 * np.fromiter(tails, np.float64, x.size).reshape(x.shape)


def truncated(
    mean: Array, var: Array, low: float, high: float
) -> tuple[Array, Array, Array]:
    """Chance of N(mean, var) lying in low..high, and mean and variance inside.

    The moments of a doubly truncated normal distribution (Johnson, Kotz and
    Balakrishnan, Continuous Univariate Distributions 1, section 10.1). Where the
    chance is below FLAT_Z or the interval is too narrow for its digits, the
    interval counts as a reading at its middle.
    """
    sd = np.sqrt(var)
    middle, half = 0.5 * (low + high), 0.5 * (high - low)
    off = (middle - mean) / sd
    width = half / sd
    flip = np.where(off < 0.0, -1.0, 1.0)
    a, b = np.abs(off) - width, np.abs(off) + width
    chance = _upper_tail(a) - _upper_tail(b)
    pa, pb = np.exp(-0.5 * a * a) / _ROOT_TAU, np.exp(-0.5 * b * b) / _ROOT_TAU
    plain = (chance < FLAT_Z) | (width < NARROW_SDS)
    safe = np.where(plain, 1.0, chance)
    shift = (pa - pb) / safe
    shrink = 1.0 + (a * pa - b * pb) / safe - shift * shift
    density = np.exp(-0.5 * off * off) / _ROOT_TAU * 2 * width
    return (
        np.where(plain, density, chance),
        mean + sd * np.where(plain, off, flip * shift),
        var * np.where(plain, np.minimum(width * width / 3, 1.0), shrink),
    )


def believe(bank: Bank, low_c: float, high_c: float, extra_var: float) -> Bank:
    """Take in a reading that says: the (noisy) temperature lay in low..high.

    ``fit`` of the result is the chance the bank gave it; the caller decides
    whether such a bank may be kept.
    """
    var = bank.cov[:, TT] + bank.grid.noise_var + extra_var
    chance, seen, left = truncated(bank.mean[:, 0], var, low_c, high_c)
    cross = bank.cov[:, TT:FF]
    gain = cross / var[:, None]
    mean = bank.mean + gain * (seen - bank.mean[:, 0])[:, None]
    lost = (1.0 - left / var)[:, None]
    cov = bank.cov.copy()
    cov[:, TT:FF] -= gain[:, :1] * cross * lost
    cov[:, FF:SS] -= gain[:, 1:2] * cross[:, 1:] * lost
    cov[:, SS] -= gain[:, 2] * cross[:, 2] * lost[:, 0]
    cov[:, (TT, FF, SS)] = np.maximum(cov[:, (TT, FF, SS)], LEAST_VAR)
    weight = bank.weight * chance
    fit = float(weight.sum())
    weight = weight / fit if fit > 0.0 else bank.weight
    return Bank(grid=bank.grid, weight=weight, mean=mean, cov=cov, fit=fit)


def forget_slope(bank: Bank, fast_sd: float, slow_sd: float) -> Bank:
    """Keep the temperature and the models, start both rates afresh at zero."""
    mean = bank.mean.copy()
    mean[:, 1:] = 0.0
    cov = np.zeros_like(bank.cov)
    cov[:, TT] = bank.cov[:, TT]
    cov[:, FF], cov[:, SS] = fast_sd**2, slow_sd**2
    return Bank(grid=bank.grid, weight=bank.weight, mean=mean, cov=cov)


def reweigh(bank: Bank, ratio: Array) -> Bank:
    """Return the bank with every weight times a positive (paths, moods) ratio."""
    weight = bank.weight * ratio
    return replace(bank, weight=weight / weight.sum())


def driven_by(bank: Bank, ratio: float) -> Bank:
    """Return the bank with the weight of a driven car's heating times ``ratio`` > 0."""
    own = bank.grid.settings
    modes = np.where(np.array(own.driven), ratio, 1.0)
    return reweigh(bank, np.tile(modes, len(own.noise_c)))


def widen(bank: Bank, temp_sd: float, rate_sd: float) -> Bank:
    """Return the bank with that much doubt added to temperature and rate."""
    cov = bank.cov.copy()
    cov[:, TT] += temp_sd**2
    cov[:, SS] += rate_sd**2
    return Bank(
        grid=bank.grid, weight=bank.weight, mean=bank.mean, cov=cov, fit=bank.fit
    )
