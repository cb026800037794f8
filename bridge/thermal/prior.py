"""What earlier jobs taught of the bank's models, as weights to begin with."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bridge.thermal.bank_models import Array, Grid


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """What earlier jobs on the same car taught: chances that each sum to 1."""

    paths: tuple[float, ...]
    """Of each pair of time constants."""
    noises: tuple[float, ...]
    """Of each sensor noise."""
    modes: tuple[float, ...]
    """Of each restlessness of the heating."""
    jobs: int = 1


def weights_of(grid: Grid, prior: Prior | None) -> Array:
    """Return the weights (paths, moods) to begin with.

    A lesson of another bank's shape is ignored, as none is.
    """
    modes = len(grid.settings.stay_s)
    shape = (len(grid.fast), len(grid.noise_var) // modes, modes)
    if prior is None:
        return grid.first
    if (len(prior.paths), len(prior.noises), len(prior.modes)) != shape:
        return grid.first
    weight = np.outer(prior.paths, np.outer(prior.noises, prior.modes).ravel())
    return np.asarray(weight / weight.sum())
