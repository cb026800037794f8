"""What heat, tilt and tube height are worth: volumes, and heights over the sump.

The oil's expansion follows API MPMS chapter 11.1 (ASTM D1250, ISO 91), table 54D
for lubricating oils. The plain formula agrees with the 2004 procedure to 1e-5.
Nothing is clamped: outside the standard's limits the answer is a ValueError.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from bridge.values.frozen import frozen

if TYPE_CHECKING:
    from bridge.values.sheet import Window

BASE_C = 15.0
K1_PER_C = 0.6278
"""Lubricating-oil constant per degC. Per degF it is 0.34878: never mix the two."""
DENSITY_KG_M3 = 850.0
"""At 15 degC, where the fluid's data sheet is not at hand (common practice, no
source: gearbox fluids have 840..870)."""
DENSITY_LIMITS_KG_M3 = (800.0, 1164.0)
TEMP_LIMITS_C = (-50.0, 150.0)
MOST_TILT_DEG = 30.0
"""Beyond this an angle is a mistake in typing, not a floor."""


def _within(value: float, limits: tuple[float, float], what: str, unit: str) -> float:
    low, high = limits
    if not low <= value <= high:
        raise ValueError(
            f"{what} {value:g} {unit} is outside {low:g} to {high:g} {unit}, "
            "where the published oil table ends: check the figure."
        )
    return value


def _positive(value: float, what: str) -> float:
    if not (value > 0 and math.isfinite(value)):
        raise ValueError(f"{what} must be more than 0, not {value:g}.")
    return value


def expansion_per_c(density_kg_m3: float = DENSITY_KG_M3) -> float:
    """Return the expansion at 15 degC per degC for a density at 15 degC.

    Raises ValueError outside 800..1164 kg/m3 (API MPMS 11.1, 54D).
    """
    density = _within(
        density_kg_m3, DENSITY_LIMITS_KG_M3, "The fluid's density", "kg/m3"
    )
    return K1_PER_C / density


def correction(temp_c: float, density_kg_m3: float = DENSITY_KG_M3) -> float:
    """Return volume at 15 degC over volume at ``temp_c`` (the table's VCF).

    ``density_kg_m3`` is the density at 15 degC. Raises ValueError outside -50..150
    degC or 800..1164 kg/m3.
    """
    delta_c = _within(temp_c, TEMP_LIMITS_C, "The temperature", "°C") - BASE_C
    alpha = expansion_per_c(density_kg_m3)
    return math.exp(-alpha * delta_c * (1.0 + 0.8 * alpha * delta_c))


def volume_at(
    volume_ml: float,
    *,
    from_c: float,
    to_c: float,
    density_kg_m3: float = DENSITY_KG_M3,
) -> float:
    """Return the volume in mL that ``volume_ml`` at ``from_c`` has at ``to_c``.

    Raises ValueError as ``correction`` does.
    """
    ratio = correction(from_c, density_kg_m3) / correction(to_c, density_kg_m3)
    return volume_ml * ratio


def height_mm(volume_ml: float, area_cm2: float) -> float:
    """Return the height in mm of a volume over a sump area; signs are kept."""
    return 10.0 * volume_ml / _positive(area_cm2, "The sump's area in cm2")


def volume_ml(height: float, area_cm2: float) -> float:
    """Return the volume in mL of a height in mm over a sump area; signs are kept.

    1 mm over 100 cm2 is 10 mL.
    """
    return height * _positive(area_cm2, "The sump's area in cm2") / 10.0


@frozen
class LevelError:
    """How far a level is off at the reference: above 0 overfilled, below under."""

    volume_ml: float
    height_mm: float | None
    """None: the sheet does not give the sump's area."""


def _error(volume: float, area_cm2: float | None) -> LevelError:
    height = None if area_cm2 is None else height_mm(volume, area_cm2)
    return LevelError(volume_ml=volume, height_mm=height)


def level_error(
    temp_c: float,
    window: Window,
    *,
    fill_ml: float,
    area_cm2: float | None = None,
    density_kg_m3: float = DENSITY_KG_M3,
    meant_c: float | None = None,
) -> LevelError:
    """Return the error of a level set at ``temp_c`` instead of the window's middle.

    ``meant_c``: the temperature it is meant for, where that is not the middle.
    ``fill_ml`` is all the fluid in the gearbox with the level right, not just the
    sump's share: all of it grows. Set too hot is underfilled (below 0), too cold
    overfilled. Raises ValueError as ``correction`` does.
    """
    fill = _positive(fill_ml, "The fill in mL")
    to_c = window.middle_c if meant_c is None else meant_c
    kept = volume_at(fill, from_c=temp_c, to_c=to_c, density_kg_m3=density_kg_m3)
    return _error(kept - fill, area_cm2)


@frozen
class Tilt:
    """How the car stands, in degrees; above 0: nose up, and right side up."""

    along_deg: float
    across_deg: float


@frozen
class Opening:
    """Where the level opening is, in mm from the centroid of the fluid's surface."""

    forward_mm: float
    """Above 0: in front of the centroid."""
    right_mm: float
    """Above 0: to the right of it."""


def _slope(angle_deg: float) -> float:
    if not abs(angle_deg) <= MOST_TILT_DEG:
        raise ValueError(
            f"A tilt of {angle_deg:g} degrees is more than {MOST_TILT_DEG:g}: "
            "type the angle of the car against the level, in degrees."
        )
    return math.tan(math.radians(angle_deg))


def tilt_mm(tilt: Tilt, opening: Opening) -> float:
    """Return how far tilt lifts the opening over the level surface, in mm.

    Above 0: the opening is too high, so too much stays in (overfilled). Raises
    ValueError beyond 30 degrees either way.
    """
    along, across = _slope(tilt.along_deg), _slope(tilt.across_deg)
    return opening.forward_mm * along + opening.right_mm * across


def tube_mm(turns: float, pitch_mm: float) -> float:
    """Return how far an overflow tube moves in ``turns``: single-start, lead = pitch.

    The sign of ``turns`` is kept: above 0 out (higher). Raises ValueError for a
    pitch of 0 or less.
    """
    return turns * _positive(pitch_mm, "The thread's pitch in mm")
