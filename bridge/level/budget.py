"""What a level is worth: every source of doubt in mL, combined as the GUM has it.

A bound without more knowledge is rectangular (JCGM 100:2008, 4.3.7: half-width over the
root of three); one that lies on one side only shifts the figure by its half (4.3.8);
independent sources add by their squares (5.1.2); what is stated is two standard
deviations (6.2.1, k = 2). What nobody told is listed as not known, and is not in the
sum: then the sum is the least the level may be off by.

The jug has its part where a level is set by measuring alone (`service/sums`); where the
surplus runs off, or a stick is read after the last pour, what a jug was off by is gone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum

from bridge.level.volume import (
    DENSITY_KG_M3,
    Opening,
    Tilt,
    height_mm,
    tilt_mm,
    volume_at,
    volume_ml,
)
from bridge.values.conditions import TiltWorth
from bridge.values.frozen import frozen

COVERAGE = 2.0
"""k of the stated doubt (JCGM 100, 6.2.1 and G.6.6)."""
LEVEL_GIVE_DEG = 0.1
"""How far off a digital level may be either way (common practice, no source)."""
RECTANGULAR = 1.0 / math.sqrt(3.0)


class Source(StrEnum):
    """Where doubt of a level comes from."""

    TEMPERATURE = "temperature"
    """That the estimate is off from what the sensor reads."""
    SENSOR = "sensor"
    """That the sensor reads off from the fluid."""
    TILT = "tilt"
    STILL_RUNNING = "still-running"
    """What of the surplus had not run off when the opening was closed."""
    JUG = "jug"
    """What was read off, left behind or spilt, and the jug's scale."""
    READING = "reading"
    """How high fluid stands on a stick: it clings to it and to its tube."""
    DENSITY = "density"
    """By which amounts are brought to one temperature."""


@frozen
class BudgetPart:
    """What one source is worth; above 0 is too much fluid."""

    source: Source
    off_ml: float | None = None
    """What it surely shifts the level by; None: it is not known."""
    sd_ml: float | None = None
    """Its standard uncertainty; None: it is not known."""


@frozen
class Budget:
    """All that a level is worth at the temperature it is meant for."""

    parts: tuple[BudgetPart, ...]
    off_ml: float
    expanded_ml: float
    """Either way (k = 2), of what is known."""
    off_mm: float | None = None
    """None: the sheet gives no sump area."""
    expanded_mm: float | None = None

    @property
    def unknown(self) -> tuple[Source, ...]:
        """Sources nothing is known about: they are not in the sum."""
        return tuple(p.source for p in self.parts if p.sd_ml is None)


@frozen
class Closing:
    """What is known of the moment the opening was closed."""

    temp_c: float
    sd_c: float
    meant_c: float
    """The temperature the level is meant for."""
    fill_ml: float
    density_kg_m3: float = DENSITY_KG_M3
    area_cm2: float | None = None
    sensor_accuracy_c: float | None = None
    """Within plus or minus so much; None: not stated."""
    tilt: TiltWorth | None = None
    tilt_limit_deg: float | None = None
    """Within which the car was confirmed to stand, where no angles were typed."""
    opening_forward_mm: float = 0.0
    opening_right_mm: float = 0.0
    more_ml: float | None = None
    """About what was still to run off; None: the flow was not marked."""


def budget(at: Closing) -> Budget:
    """Return what a level that was set so is worth.

    Raises ValueError for a temperature or a density beyond the oil table.
    """
    per_c = _ml_per_c(at)
    parts = (
        BudgetPart(
            source=Source.TEMPERATURE,
            off_ml=_kept(at, at.temp_c) - at.fill_ml,
            sd_ml=abs(per_c) * at.sd_c,
        ),
        _sensor(at, per_c),
        _tilt(at),
        _running(at),
    )
    return summed(parts, at.area_cm2)


def _kept(at: Closing, temp_c: float) -> float:
    """What the fluid in a gearbox filled at ``temp_c`` measures where it is meant."""
    return volume_at(
        at.fill_ml, from_c=temp_c, to_c=at.meant_c, density_kg_m3=at.density_kg_m3
    )


def _ml_per_c(at: Closing) -> float:
    return (_kept(at, at.temp_c + 0.5) - _kept(at, at.temp_c - 0.5)) / 1.0


def _sensor(at: Closing, per_c: float) -> BudgetPart:
    if at.sensor_accuracy_c is None:
        return BudgetPart(source=Source.SENSOR)
    sd = abs(per_c) * at.sensor_accuracy_c * RECTANGULAR
    return BudgetPart(source=Source.SENSOR, off_ml=0.0, sd_ml=sd)


def _tilt(at: Closing) -> BudgetPart:
    """The typed angles shift the level; how well they are known is the doubt."""
    if at.area_cm2 is None:
        return BudgetPart(source=Source.TILT)
    if at.tilt is not None:
        off_ml, half_deg = volume_ml(at.tilt.error_mm, at.area_cm2), LEVEL_GIVE_DEG
    elif at.tilt_limit_deg is not None:
        off_ml, half_deg = 0.0, at.tilt_limit_deg
    else:
        return BudgetPart(source=Source.TILT)
    sd = tilt_sd_mm(half_deg, at.opening_forward_mm, at.opening_right_mm)
    return BudgetPart(
        source=Source.TILT, off_ml=off_ml, sd_ml=volume_ml(sd, at.area_cm2)
    )


def tilt_sd_mm(half_deg: float, forward_mm: float, right_mm: float) -> float:
    """Return the standard uncertainty in mm of a tilt within half_deg either way."""
    along = tilt_mm(
        Tilt(along_deg=half_deg, across_deg=0.0),
        Opening(forward_mm=forward_mm, right_mm=0.0),
    )
    across = tilt_mm(
        Tilt(along_deg=0.0, across_deg=half_deg),
        Opening(forward_mm=0.0, right_mm=right_mm),
    )
    return math.hypot(along, across) * RECTANGULAR


def _running(at: Closing) -> BudgetPart:
    """Between nothing and what the drips let expect: one-sided, so it shifts too."""
    if at.more_ml is None:
        return BudgetPart(source=Source.STILL_RUNNING)
    half = 0.5 * max(at.more_ml, 0.0)
    return BudgetPart(
        source=Source.STILL_RUNNING, off_ml=half, sd_ml=half * RECTANGULAR
    )


def summed(parts: Sequence[BudgetPart], area_cm2: float | None) -> Budget:
    """Return all parts together, those that are known."""
    off = math.fsum(p.off_ml for p in parts if p.off_ml is not None)
    sd = math.hypot(*(p.sd_ml for p in parts if p.sd_ml is not None))
    return Budget(
        parts=tuple(parts),
        off_ml=off,
        expanded_ml=COVERAGE * sd,
        off_mm=None if area_cm2 is None else height_mm(off, area_cm2),
        expanded_mm=None if area_cm2 is None else height_mm(COVERAGE * sd, area_cm2),
    )
