"""What earlier jobs taught of the bank's models, as weights to begin with."""

from __future__ import annotations

import math

import numpy as np

from bridge.thermal.bank_models import Array, Grid
from bridge.values.frozen import frozen

MOST_MODELS = 1000
"""No bank has more time constants, noises or modes than this."""


@frozen
class Prior:
    """What earlier jobs on the same car taught: chances that each sum to 1."""

    paths: tuple[float, ...]
    """Of each pair of time constants."""
    noises: tuple[float, ...]
    """Of each sensor noise."""
    modes: tuple[float, ...]
    """Of each restlessness of the heating."""
    jobs: int = 1

    def __post_init__(self) -> None:
        """Refuse what cannot be; raises ValueError.

        A chance of nothing could never be unlearned.
        """
        if self.jobs < 1:
            raise ValueError(f"{self.jobs!r} is no count of jobs")
        for chances in (self.paths, self.noises, self.modes):
            if not 0 < len(chances) <= MOST_MODELS:
                raise ValueError("the chances must be of 1 to 1000 models")
            if not all(0.0 < chance <= 1.0 for chance in chances):
                raise ValueError("a chance must be above 0 and at most 1")
            if not math.isclose(sum(chances), 1.0, abs_tol=1e-6):
                raise ValueError("chances must sum to 1")


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
