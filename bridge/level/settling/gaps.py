"""How likely a gap between two marks is, in units of expected drops.

Drops fall more or less regularly (a gamma renewal process: shape 1 is pure chance,
a large shape a clock) and each is missed with some chance, so that a gap may hold
one, two or three drops. A regular dripping tells its true rate even if one drop in
five is missed, which counting alone cannot do.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

MANNERS: tuple[tuple[int, float], ...] = tuple(
    (shape, missed) for shape in (1, 4, 16) for missed in (0.04, 0.12, 0.25)
)
"""Regularity of the drops (gamma shape) and share of them that is missed."""
MANNER_CHANCE = np.array([0.10, 0.12, 0.08, 0.12, 0.15, 0.09, 0.12, 0.14, 0.08])
_LOW, _HIGH, _STEP = -6.0, 4.5, 0.02
_LOGS = np.arange(_LOW, _HIGH + _STEP / 2, _STEP)
_MOST_MISSED = 4


def _density(shape: int, tau: Array) -> Array:
    """Gamma density of mean ``shape`` drops' share: shape x rate in one drop."""
    log = (shape - 1) * np.log(tau) - tau - math.lgamma(shape)
    return np.asarray(np.exp(log))


def _survival(shape: int, tau: Array) -> Array:
    """Chance of a longer gap: the Erlang sum."""
    term = np.exp(-tau)
    total = term.copy()
    for i in range(1, shape):
        term = term * tau / i
        total = total + term
    return np.asarray(total)


def _tables() -> tuple[Array, Array]:
    """Log density and log survival per manner over _LOGS."""
    tau = np.exp(_LOGS)
    gaps, silences = [], []
    for shape, missed in MANNERS:
        many = range(1, _MOST_MISSED + 1)
        chance = [(1 - missed) * missed ** (m - 1) for m in many]
        dens = [shape * _density(shape * m, shape * tau) for m in many]
        tail = [_survival(shape * m, shape * tau) for m in many]
        gaps.append(sum(c * d for c, d in zip(chance, dens, strict=True)))
        silences.append(sum(c * s for c, s in zip(chance, tail, strict=True)))
    floor = 1e-12
    return (
        np.log(np.maximum(np.array(gaps), floor)),
        np.minimum(np.array(silences), 1.0),
    )


_LOG_GAP, _SILENCE = _tables()


def _index(drops: Array) -> NDArray[np.intp]:
    logs = np.log(np.maximum(drops, 1e-9))
    where = np.clip((logs - _LOW) * (1.0 / _STEP) + 0.5, 0, len(_LOGS) - 1)
    return np.asarray(where.astype(np.intp))


def log_gaps(drops: Array) -> Array:
    """Sum of the log densities of gaps over the last axis, one for each manner.

    ``drops``: expected drops in each gap, (..., gaps); the result is (..., manners).
    """
    index = _index(drops)
    return np.stack([table[index].sum(axis=-1) for table in _LOG_GAP], axis=-1)


def silence(drops: Array) -> Array:
    """Chance, 0..1, of hearing nothing for so many expected drops; (..., manners)."""
    return np.asarray(np.moveaxis(_SILENCE[:, _index(drops)], 0, -1))
