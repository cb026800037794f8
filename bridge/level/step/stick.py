"""Reading a stick: several readings against the sheet's marks at the fluid's heat.

A reading is told in mm from the stick's own zero, against a table of marks by
temperature, or, where the sheet has no table, as below, inside or above the marks. One
reading proves nothing (fluid clings to the tube): two must agree, and where the doubt
reaches over a mark, more are asked for. What is said is proven by the whole doubt
(ISO 14253-1, from memory). Pure.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from bridge.level.volume import volume_ml
from bridge.values.events import Band
from bridge.values.frozen import frozen
from bridge.values.sheet import StickMarks

LEAST_READS = 2
MOST_READS = 6
"""After so many that reach over a mark it cannot be told by this stick."""
READ_SD_MM = 1.0
"""Of one careful reading at least (common practice, no source)."""
COVERAGE = 2.0
"""k of the stated doubt (JCGM 100, 6.2.1)."""


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
) -> StickResult | None:
    """Return what the readings come to; None: another one is needed."""
    if len(reads) < LEAST_READS:
        return None
    if not table or any(r.mm is None for r in reads):
        return _by_word(reads)
    return _by_mm(reads, table, area_cm2)


def _by_word(reads: Sequence[StickRead]) -> StickResult | None:
    one, two = reads[-2].band, reads[-1].band
    if one is not None and one is two:
        return StickResult(band=one, reads=len(reads))
    return _undecided(reads)


def _undecided(reads: Sequence[StickRead]) -> StickResult | None:
    many = len(reads)
    return StickResult(band=None, reads=many) if many >= MOST_READS else None


def _by_mm(
    reads: Sequence[StickRead], table: Sequence[StickMarks], area_cm2: float | None
) -> StickResult | None:
    from statistics import fmean  # loads much: only when it is needed

    over_low, over_high = [], []
    for read in reads:
        low, high = marks_at(table, read.temp_c)
        over_low.append((read.mm or 0.0) - low)
        over_high.append((read.mm or 0.0) - high)
    low_mm, high_mm = fmean(over_low), fmean(over_high)
    doubt = COVERAGE * _sd_mm(over_low, reads, table)
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


def _sd_mm(
    over: Sequence[float], reads: Sequence[StickRead], table: Sequence[StickMarks]
) -> float:
    """The mean's standard uncertainty: scatter of the readings, and the heat's own."""
    from statistics import stdev

    scatter = max(READ_SD_MM, stdev(over)) / math.sqrt(len(over))
    read = reads[-1]
    here = marks_at(table, read.temp_c)[0]
    there = marks_at(table, read.temp_c + read.sd_c)[0]
    return math.hypot(scatter, there - here)


def _band(over_low: float, over_high: float, doubt: float) -> Band | None:
    if over_low + doubt < 0.0:
        return Band.BELOW
    if over_high - doubt > 0.0:
        return Band.ABOVE
    return Band.INSIDE if over_low >= doubt and over_high <= -doubt else None
