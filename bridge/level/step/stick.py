"""Reading a stick: several readings against the sheet's marks at the fluid's heat.

A reading is told in mm from the stick's own zero, against a table of marks by
temperature, or, where the sheet has no table, as below, inside or above the marks. One
reading proves nothing (fluid clings to the tube): two must agree, and where the doubt
reaches over a mark, more are asked for. What is said is proven by the whole doubt
(ISO 14253-1, from memory): how the readings scatter, the temperature by which the
marks are found, how accurate its sensor is, and how the car may lean. Pure.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from bridge.level.budget import (
    COVERAGE,
    RECTANGULAR,
    Budget,
    BudgetPart,
    Source,
    summed,
)
from bridge.level.volume import volume_ml
from bridge.values.events import Band
from bridge.values.frozen import frozen
from bridge.values.sheet import StickMarks

LEAST_READS = 2
MOST_READS = 6
"""After so many that reach over a mark it cannot be told by this stick."""
READ_SD_MM = 1.0
"""Of one careful reading at least (common practice, no source)."""
_STUDENT = {1: 13.97, 2: 4.53, 3: 3.31, 4: 2.87, 5: 2.65}
"""t for 95.45 % by degrees of freedom (JCGM 100, table G.2): from a few readings their
scatter is known badly."""


@frozen
class StickRead:
    """One reading, taken while GO stood."""

    at_s: float
    temp_c: float
    sd_c: float
    mm: float | None = None
    """From the stick's zero; None: told by the marks alone."""
    band: Band | None = None
    """Where the fluid stood against the marks; None: told in mm."""


@frozen
class StickResult:
    """What the readings come to."""

    band: Band | None
    """None: it cannot be told."""
    reads: int
    over_middle_mm: float | None = None
    """From the middle of the marks, above 0 too much; None: told without mm."""
    expanded_mm: float | None = None
    """The doubt of that, either way (k = 2)."""
    to_middle_ml: float | None = None
    """To fill in (above 0) or draw off; None: no mm, or no sump area on the sheet."""


@frozen
class Beside:
    """What a stick's level is uncertain by beside its readings."""

    sensor_accuracy_c: float | None = None
    """Within plus or minus so much; None: not stated, and not in the sum."""
    tilt_sd_mm: float | None = None
    """Of the height where the stick stands; None: not known."""


ALONE = Beside()


def marks_at(table: Sequence[StickMarks], temp_c: float) -> tuple[float, float]:
    """Return the lower and upper mark in mm at a temperature.

    Straight between two rows of the table; beyond its ends the end's own. Raises
    ValueError for an empty table.
    """
    rows = sorted(table, key=lambda row: row.temp_c)
    if not rows:
        raise ValueError("The stick has no marks: add [[stick]] to the sheet.")
    if temp_c <= rows[0].temp_c or len(rows) == 1:
        return rows[0].low_mm, rows[0].high_mm
    for before, after in pairwise(rows):
        if temp_c <= after.temp_c:
            share = (temp_c - before.temp_c) / (after.temp_c - before.temp_c)
            low = before.low_mm + share * (after.low_mm - before.low_mm)
            return low, before.high_mm + share * (after.high_mm - before.high_mm)
    return rows[-1].low_mm, rows[-1].high_mm


def result(
    reads: Sequence[StickRead],
    table: Sequence[StickMarks],
    area_cm2: float | None = None,
    beside: Beside = ALONE,
) -> StickResult | None:
    """Return what the readings come to; None: another one is needed."""
    if len(reads) < LEAST_READS:
        return None
    if not _in_mm(reads, table):
        return _by_word(reads)
    return _by_mm(reads, table, area_cm2, beside)


def worth(
    reads: Sequence[StickRead],
    table: Sequence[StickMarks],
    area_cm2: float | None,
    beside: Beside,
) -> Budget | None:
    """Return the budget of a level read so, against the middle of the marks.

    None: it was read by the marks alone, or the sheet gives no area.
    """
    if area_cm2 is None or not _in_mm(reads, table):
        return None
    low_mm, high_mm = _over(reads, table)
    off_ml = volume_ml(0.5 * (low_mm + high_mm), area_cm2)
    parts = [
        BudgetPart(
            source=source,
            off_ml=off_ml if source is Source.READING else 0.0,
            sd_ml=None if sd_mm is None else volume_ml(sd_mm, area_cm2),
        )
        for source, sd_mm in _doubts_mm(reads, table, beside).items()
    ]
    return summed(parts, area_cm2)


def _in_mm(reads: Sequence[StickRead], table: Sequence[StickMarks]) -> bool:
    return bool(table) and all(r.mm is not None for r in reads)


def _by_word(reads: Sequence[StickRead]) -> StickResult | None:
    one, two = reads[-2].band, reads[-1].band
    if one is not None and one is two:
        return StickResult(band=one, reads=len(reads))
    return _undecided(reads)


def _undecided(reads: Sequence[StickRead]) -> StickResult | None:
    many = len(reads)
    return StickResult(band=None, reads=many) if many >= MOST_READS else None


def _by_mm(
    reads: Sequence[StickRead],
    table: Sequence[StickMarks],
    area_cm2: float | None,
    beside: Beside,
) -> StickResult | None:
    low_mm, high_mm = _over(reads, table)
    known = [sd for sd in _doubts_mm(reads, table, beside).values() if sd is not None]
    doubt = COVERAGE * math.hypot(*known)
    band = _band(low_mm, high_mm, doubt)
    if band is None and len(reads) < MOST_READS:
        return None
    middle_mm = 0.5 * (low_mm + high_mm)
    to_middle = None if area_cm2 is None else -volume_ml(middle_mm, area_cm2)
    return StickResult(
        band=band,
        reads=len(reads),
        over_middle_mm=middle_mm,
        expanded_mm=doubt,
        to_middle_ml=to_middle,
    )


def _over(
    reads: Sequence[StickRead], table: Sequence[StickMarks]
) -> tuple[float, float]:
    """How far over the lower and the upper mark the fluid stands, on average."""
    marks = [marks_at(table, read.temp_c) for read in reads]
    read_mm = math.fsum(read.mm or 0.0 for read in reads)
    low_mm, high_mm = (math.fsum(heights) for heights in zip(*marks, strict=True))
    return (read_mm - low_mm) / len(reads), (read_mm - high_mm) / len(reads)


def _doubts_mm(
    reads: Sequence[StickRead], table: Sequence[StickMarks], beside: Beside
) -> dict[Source, float | None]:
    """What each source is worth as a standard uncertainty; None: not known."""
    newest, accuracy_c = reads[-1], beside.sensor_accuracy_c
    per_c = _mm_per_c(table, newest.temp_c)
    return {
        Source.READING: _reading_sd_mm(reads, table),
        Source.TEMPERATURE: per_c * newest.sd_c,
        Source.SENSOR: (
            None if accuracy_c is None else per_c * accuracy_c * RECTANGULAR
        ),
        Source.TILT: beside.tilt_sd_mm,
    }


def _reading_sd_mm(reads: Sequence[StickRead], table: Sequence[StickMarks]) -> float:
    """The mean's standard uncertainty by the readings' own scatter.

    Never below a careful hand's; half of what Student's factor makes of the scatter,
    so that twice it holds what two standard deviations promise (JCGM 100, G.3.2).
    """
    from statistics import stdev  # loads much: only when it is needed

    over = [(r.mm or 0.0) - marks_at(table, r.temp_c)[0] for r in reads]
    seen_mm = _STUDENT[min(len(over), MOST_READS) - 1] / COVERAGE * stdev(over)
    return max(READ_SD_MM, seen_mm) / math.sqrt(len(over))


def _mm_per_c(table: Sequence[StickMarks], temp_c: float) -> float:
    """How fast the marks rise with the heat, on the steeper side."""
    here, *beside = (marks_at(table, temp_c + by_c)[0] for by_c in (0.0, -1.0, 1.0))
    return max(abs(other - here) for other in beside)


def _band(over_low: float, over_high: float, doubt: float) -> Band | None:
    if over_low + doubt < 0.0:
        return Band.BELOW
    if over_high - doubt > 0.0:
        return Band.ABOVE
    return Band.INSIDE if over_low >= doubt and over_high <= -doubt else None
