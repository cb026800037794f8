"""The normal distribution function and its inverse, by table: quick on arrays."""

from __future__ import annotations

import math

import numpy as np

from bridge.thermal.bank_models import Array

_STEP = 0.002
_REACH = 6.0
_GRID = np.arange(-_REACH, _REACH + _STEP / 2, _STEP)
_PHI = np.array([0.5 * math.erfc(-x / math.sqrt(2.0)) for x in _GRID])


def phi(z: Array) -> Array:
    """Normal distribution function to 0.0004: a forecast needs no more digits."""
    index = np.clip((z + _REACH) * (1 / _STEP) + 0.5, 0, len(_PHI) - 1)
    return _PHI[index.astype(np.intp)]


def probit(chances: Array) -> Array:
    """Return the deviates of chances 0..1, held within -6..6."""
    return np.asarray(np.interp(chances, _PHI, _GRID))


def smooth_phi(z: Array) -> Array:
    """Normal distribution function, drawn straight between the table's points."""
    return np.asarray(np.interp(z, _GRID, _PHI))
