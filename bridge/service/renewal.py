"""How much old fluid is left: one drain renews only a part.

Each drain takes the same share of all the fluid, and what is put in mixes fully with
the rest before the next: then (1 - drained/total) to the power of the drains is left.
Where it does not mix (a converter that keeps its own) more old fluid is left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bridge.service.amounts import COVERAGE, Amount


@dataclass(frozen=True, slots=True, kw_only=True)
class OldShare:
    """Share of old fluid left, 0..1, with its standard uncertainty."""

    share: float
    sd: float

    @property
    def low(self) -> float:
        """The lower end of the stated uncertainty; not below 0."""
        return max(0.0, self.share - COVERAGE * self.sd)

    @property
    def high(self) -> float:
        """The upper end of the stated uncertainty; not above 1."""
        return min(1.0, self.share + COVERAGE * self.sd)


def old_share(drained: Amount, total: Amount, drains: int = 1) -> OldShare:
    """Return the share of old fluid left after so many drains of this size.

    ``total``: all the fluid, at the same temperature as ``drained``. Its uncertainty
    and that of the drained amount are taken as independent (JCGM 100, 5.1.2). Raises
    ValueError for fewer than 0 drains, or more drained than there is.
    """
    if drains < 0:
        raise ValueError(f"{drains} drains cannot be: count them from 0.")
    kept = 1.0 - _part(drained, total)
    part_sd = math.hypot(drained.sd_ml, drained.ml / total.ml * total.sd_ml) / total.ml
    slope = drains * kept ** (drains - 1) if drains else 0.0
    return OldShare(share=kept**drains, sd=slope * part_sd)


def _part(drained: Amount, total: Amount) -> float:
    """Return the drained share; a little over 1 by bad measuring counts as all."""
    if not total.ml > 0.0:
        raise ValueError("All the fluid must be more than 0 mL: see the sheet.")
    over = drained.ml - total.ml
    if drained.ml < 0.0 or over > COVERAGE * math.hypot(drained.sd_ml, total.sd_ml):
        raise ValueError(
            f"{drained.ml:.0f} mL came out of {total.ml:.0f} mL in all: that cannot "
            "be, measure again or see the sheet's fill."
        )
    return min(1.0, drained.ml / total.ml)
