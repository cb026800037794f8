"""What the car's tilt is worth at the level opening, from angles the person read."""

from __future__ import annotations

import math

from bridge.level.volume import MOST_TILT_DEG, Opening, Tilt, tilt_mm, volume_ml
from bridge.values.conditions import TiltWorth
from bridge.values.events import Tilted
from bridge.values.sheet import Sheet


def can_be(tilted: Tilted) -> bool:
    """Return whether angles are those of a car somebody works under."""
    angles = (tilted.lengthways_deg, tilted.across_deg)
    return all(math.isfinite(a) and abs(a) <= MOST_TILT_DEG for a in angles)


def tilt_of(sheet: Sheet, tilted: Tilted | None) -> TiltWorth | None:
    """Return what the angles are worth on this sheet; None: none were typed in."""
    if tilted is None:
        return None
    tilt = Tilt(along_deg=tilted.lengthways_deg, across_deg=tilted.across_deg)
    opening = Opening(
        forward_mm=sheet.opening_forward_mm, right_mm=sheet.opening_right_mm
    )
    height, area = tilt_mm(tilt, opening), sheet.sump_area_cm2
    worst, limit = (
        max(abs(tilted.lengthways_deg), abs(tilted.across_deg)),
        sheet.tilt_limit_deg,
    )
    return TiltWorth(
        lengthways_deg=tilted.lengthways_deg,
        across_deg=tilted.across_deg,
        error_mm=height,
        error_ml=None if area is None else volume_ml(height, area),
        inside_limit=None if limit is None else worst <= limit,
    )
