"""The bank looking ahead: the spread of the temperature over the next hour.

Each model runs on as it is, once with the mode it is in and once with what that
may turn into meanwhile: rare changes make long tails, not a wide middle. The
sensor's noise does not matter for the future, so models that differ only in it
are merged first.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from bridge.thermal.bank_models import (
    Array,
    Grid,
    decay,
    moods,
    spread_terms,
    unit_noise,
)
from bridge.thermal.filter_bank import FF, FS, SS, TF, TS, TT, Bank
from bridge.thermal.normal_curve import phi
from bridge.values.outlook import HORIZON_S

LEAST_WEIGHT = 1e-4
"""Models lighter than this do not take part in a forecast."""


def _horizons() -> Array:
    """Seconds ahead: fine where a person counts, coarse towards the hour."""
    early = np.arange(0.0, 100.0, 2.0)
    later = np.geomspace(100.0, HORIZON_S, 60)
    return np.concatenate([early, later])


HORIZONS_S = _horizons()
ENDLESS_PER_S = 1e-5
"""A slow part that decays slower than this (1/s: a day and more) never settles here."""
FLAT_CHANCE = 0.4
"""A model that never settles weighs as much as one that settles 1.35 standard
deviations from where it is expected to: exp(-1.35**2 / 2). Chosen by hand.
"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tables:
    """What every model does to a state over each horizon (h is the last axis)."""

    gain_fast: Array
    """(paths, h)"""
    gain_slow: Array
    spread: Array
    """(paths, 6, h)"""
    calm_noise: Array
    """(paths, modes, h): variance of T from the heating's unrest in this mode."""
    stirred_noise: Array
    """The same if the mode changed meanwhile."""
    calm_chance: Array
    """(modes, h): chance that it did not."""


@lru_cache(maxsize=8)
def tables(grid: Grid) -> Tables:
    """Return the grid's tables, computed once."""
    fast, slow = grid.fast[:, None], grid.slow[:, None]
    gain_fast = decay(fast, HORIZONS_S[None])[1]
    gain_slow = decay(slow, HORIZONS_S[None])[1]
    spread = spread_terms(gain_fast, gain_slow).transpose(1, 0, 2)
    calm = np.exp(-HORIZONS_S[None] * _leaving(grid)[:, None])
    own = _own_noise(grid)
    # the whole is the mixture of staying and changing, so changing is what is left
    rest = np.maximum(_unrest(grid) - calm[None] * own, 0.0)
    return Tables(
        gain_fast=gain_fast,
        gain_slow=gain_slow,
        spread=np.ascontiguousarray(spread),
        calm_noise=own,
        stirred_noise=np.maximum(rest / np.maximum(1.0 - calm[None], 1e-9), own),
        calm_chance=calm,
    )


def _leaving(grid: Grid) -> Array:
    """Rate (modes,) at which each mode is left, 1/s."""
    return np.asarray(-np.diag(moods(grid.settings)))


def _own_noise(grid: Grid) -> Array:
    modes = len(grid.settings.stay_s)
    fast = unit_noise(grid.fast[:, None], HORIZONS_S[None])[0]
    slow = unit_noise(grid.slow[:, None], HORIZONS_S[None])[0]
    density = grid.density[:, :modes]
    made = fast[:, None, :] * density[0][None, :, None]
    return np.asarray(made + slow[:, None, :] * density[1][None, :, None])


def _expected_density(grid: Grid, at_s: Array) -> Array:
    """Noise density (t, 2, modes) to expect ``at_s`` after now, per mode now.

    What a jump adds on its way in counts as noise at the rate jumps come.
    """
    modes, own = len(grid.settings.stay_s), grid.settings
    leaps = np.array([own.jump_fast_sd**2, own.jump_slow_sd**2])
    into_jump = moods(own)[:, -1] * (1.0 - grid.jump[:modes])
    density = grid.density[:, :modes] + leaps[:, None] * into_jump
    chances = np.stack([grid.mode_chain.step(float(t)) for t in at_s])
    return np.asarray(np.einsum("tij,cj->tci", chances, density))


def _unrest(grid: Grid) -> Array:
    """Integrate the expected density: slices of time between horizons."""
    middles = 0.5 * (HORIZONS_S[1:] + HORIZONS_S[:-1])
    density = _expected_density(grid, middles)
    modes = density.shape[2]
    out = np.zeros((len(grid.fast), modes, len(HORIZONS_S)))
    for part, rate in ((0, grid.fast), (1, grid.slow)):
        # noise made since a moment v ago has the variance unit(v)
        for end in range(1, len(HORIZONS_S)):
            ago = HORIZONS_S[end] - HORIZONS_S[: end + 1]
            made = unit_noise(rate[:, None], ago[None])[0]
            slices = made[:, :-1] - made[:, 1:]
            out[:, :, end] += slices @ density[:end, part]
    return out


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ahead:
    """The mixture over the next hour; all but the weight are (n, horizons).

    Each model is two bell curves about one mean: its mode lasts, or it changes.
    """

    weight: Array
    mean: Array
    calm_sd: Array
    stirred_sd: Array
    calm_chance: Array
    settles_c: Array
    """Equilibrium (n,) and its variance; immense where a model has none."""
    settles_var: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Merged:
    """The bank without its sensor noises: (n,), (n, 3), (n, 6)."""

    path: NDArray[np.intp]
    mode: NDArray[np.intp]
    weight: Array
    mean: Array
    cov: Array


def merge(bank: Bank) -> Merged:
    """Merge the models that differ in sensor noise only; drop the lightest."""
    modes = len(bank.grid.settings.stay_s)
    paths = len(bank.weight)
    weight = bank.weight.reshape(paths, -1, modes)
    mean = bank.mean.reshape(paths, 3, -1, modes)
    cov = bank.cov.reshape(paths, 6, -1, modes)
    total = weight.sum(axis=1)
    path, mode = np.nonzero(total > LEAST_WEIGHT * total.sum())
    w = weight[path, :, mode]
    w = w / w.sum(axis=1, keepdims=True)
    x, p = mean[path, :, :, mode], cov[path, :, :, mode]
    middle = (x * w[:, None]).sum(axis=2)
    off = x - middle[:, :, None]
    p = p + off[:, (0, 0, 0, 1, 1, 2)] * off[:, (0, 1, 2, 1, 2, 2)]
    kept = total[path, mode]
    return Merged(
        path=path,
        mode=mode,
        weight=kept / kept.sum(),
        mean=middle,
        cov=(p * w[:, None]).sum(axis=2),
    )


def driven_share(grid: Grid, merged: Merged) -> float:
    """Chance, 0..1, that the heating changes as in a driven car."""
    driven = np.array(grid.settings.driven)[merged.mode]
    return float(merged.weight[driven].sum())


def warming_share(merged: Merged) -> float:
    """Chance, 0..1, that the fluid is getting warmer now."""
    rate, p = merged.mean[:, 1] + merged.mean[:, 2], merged.cov
    var = p[:, FF] + 2 * p[:, FS] + p[:, SS]
    return float(merged.weight @ phi(rate / np.sqrt(np.maximum(var, 1e-18))))


def settle(grid: Grid, merged: Merged) -> tuple[Array, Array]:
    """Equilibrium of each model and its variance: T + f/k1 + s/k2."""
    a, b = 1.0 / grid.fast[merged.path], 1.0 / grid.slow[merged.path]
    where = merged.mean[:, 0] + a * merged.mean[:, 1] + b * merged.mean[:, 2]
    p = merged.cov
    var = p[:, TT] + 2 * a * p[:, TF] + 2 * b * p[:, TS]
    var = var + a * a * p[:, FF] + 2 * a * b * p[:, FS] + b * b * p[:, SS]
    return where, var


def _with_settling(a: Array, b: Array, p: Array) -> Array:
    """Covariance (n, 3) of T, f and s with the equilibrium."""
    return np.stack(
        [
            p[:, TT] + a * p[:, TF] + b * p[:, TS],
            p[:, TF] + a * p[:, FF] + b * p[:, FS],
            p[:, TS] + a * p[:, FS] + b * p[:, SS],
        ],
        axis=1,
    )


def expect_settling(grid: Grid, merged: Merged, mean_c: float, sd_c: float) -> Merged:
    """Use what is known of the place fluid settles at: about ``mean_c``, sd ``sd_c``.

    A pseudo-measurement of the equilibrium. Models that settle somewhere absurd
    lose weight, the others bend a little; a model that never settles gets a flat
    chance.
    """
    path, p = merged.path, merged.cov
    a, b = 1.0 / grid.fast[path], 1.0 / grid.slow[path]
    where, var = settle(grid, merged)
    total = var + sd_c**2
    cross = _with_settling(a, b, p)
    ends = (grid.slow[path] > ENDLESS_PER_S).astype(np.float64)
    gain = cross * (ends / total)[:, None]
    off = mean_c - where
    chance = np.exp(-0.5 * off * off / total) / np.sqrt(total)
    weight = merged.weight * np.where(ends > 0.0, chance, FLAT_CHANCE / sd_c)
    lost = gain[:, (0, 0, 0, 1, 1, 2)] * cross[:, (0, 1, 2, 1, 2, 2)]
    return Merged(
        path=path,
        mode=merged.mode,
        weight=weight / weight.sum(),
        mean=merged.mean + gain * off[:, None],
        cov=p - lost,
    )


def ahead(grid: Grid, merged: Merged, column: int | None = None) -> Ahead:
    """Run every model on over the hour, or to one of HORIZONS_S only."""
    table = tables(grid)
    path, mode = merged.path, merged.mode
    part = slice(None) if column is None else slice(column, column + 1)
    x, p = merged.mean, merged.cov
    fast, slow = table.gain_fast[path, part], table.gain_slow[path, part]
    mean = x[:, :1] + x[:, 1:2] * fast + x[:, 2:] * slow
    var = (p[:, None, :] @ table.spread[path, :, part])[:, 0]
    calm = var + table.calm_noise[path, mode, part]
    stirred = var + table.stirred_noise[path, mode, part]
    where, spread = settle(grid, merged)
    return Ahead(
        weight=merged.weight,
        mean=mean,
        calm_sd=np.sqrt(np.maximum(calm, 1e-12)),
        stirred_sd=np.sqrt(np.maximum(stirred, 1e-12)),
        calm_chance=table.calm_chance[mode, part],
        settles_c=where,
        settles_var=spread,
    )
