"""How long the surplus takes to run down, and whether the window outlasts it.

A settle time is a distribution, held as equally likely points. Before anything is
seen it is the sheet's time, scaled by the fluid's viscosity (laminar outflow: time
is as viscosity) and spread log-normally; marks of drips sharpen it (settle_drip).
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable

from bridge.level.viscosity import USUAL, Fluid, ratio
from bridge.values.frozen import frozen

POINTS = 15
STATED_SPREAD = 0.20
"""Standard deviation of the logarithm of a settle time that a sheet states."""

StayChance = Callable[[float], float | None]
"""Chance of staying inside until so many seconds ahead: Forecast.stay_chance."""


@frozen
class SettleTime:
    """Seconds from opening until the surplus has settled: equally likely points."""

    points_s: tuple[float, ...]
    """In rising order; never empty."""

    def quantile_s(self, level: float) -> float:
        """Return the time by which it has settled with a chance of ``level``, 0..1."""
        last = len(self.points_s) - 1
        where = min(max(level * len(self.points_s) - 0.5, 0.0), float(last))
        before = math.floor(where)
        low, high = self.points_s[before], self.points_s[min(before + 1, last)]
        return low + (where - before) * (high - low)

    @property
    def p05_s(self) -> float:
        """The early end of what is likely."""
        return self.quantile_s(0.05)

    @property
    def p50_s(self) -> float:
        """The middle: as likely earlier as later."""
        return self.quantile_s(0.50)

    @property
    def p95_s(self) -> float:
        """The late end of what is likely."""
        return self.quantile_s(0.95)

    def settled_chance(self, elapsed_s: float) -> float:
        """Return the chance, 0..1, that it has settled ``elapsed_s`` after opening."""
        points, count = self.points_s, len(self.points_s)
        passed = bisect_right(points, elapsed_s)
        if passed in (0, count):
            return passed / count
        low, high = points[passed - 1], points[passed]
        return (passed - 0.5 + (elapsed_s - low) / (high - low)) / count

    def after(self, elapsed_s: float) -> SettleTime:
        """Return the time still to go from ``elapsed_s`` on, if not settled yet.

        All zero once every point has passed.
        """
        left = tuple(p - elapsed_s for p in self.points_s if p > elapsed_s)
        return SettleTime(points_s=left or (0.0,))


def usual(settle_s: float, spread: float = STATED_SPREAD) -> SettleTime:
    """Return what is expected before anything is seen: log-normal about ``settle_s``.

    Raises ValueError unless ``settle_s`` is above 0 and ``spread`` 0 or more.
    """
    if not (0.0 < settle_s < math.inf and 0.0 <= spread < math.inf):
        raise ValueError(
            f"A settle time of {settle_s:g} s with a spread of {spread:g} cannot be: "
            "give a time above 0 and a spread of 0 or more."
        )
    from statistics import NormalDist  # loads much: only when it is needed

    normal = NormalDist()
    steps = (normal.inv_cdf((i + 0.5) / POINTS) for i in range(POINTS))
    return SettleTime(points_s=tuple(settle_s * math.exp(spread * z) for z in steps))


def scaled_s(
    settle_s: float, *, temp_c: float, reference_c: float, fluid: Fluid = USUAL
) -> float:
    """Return a settle time known at ``reference_c`` at another temperature, in s.

    In proportion to the viscosity (laminar outflow, Hagen-Poiseuille). Raises
    ValueError where the viscosity cannot be told.
    """
    return settle_s * ratio(temp_c, reference_c, fluid)


def stay_until_settled(
    stays: StayChance, settle: SettleTime, *, delay_s: float = 0.0
) -> float | None:
    """Return the chance, 0..1, of staying inside until settled; None: cannot tell.

    ``settle`` counts from now; ``delay_s`` is what the person needs to open and to
    close. One point that the forecast cannot tell makes the whole unknown.
    """
    chances = [stays(point + delay_s) for point in settle.points_s]
    known = [c for c in chances if c is not None and math.isfinite(c)]
    if len(known) < len(chances):
        return None
    return sum(known) / len(known)
