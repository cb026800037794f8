"""What a careful reader would doubt about a sheet that has no mistake in it."""

from __future__ import annotations

from bridge.sheets.warnings import (
    about_fasteners,
    about_level,
    about_service,
)
from bridge.sheets.warnings.warning import SheetWarning
from bridge.units import Units
from bridge.values.sheet import Sheet

_LOOKS = (
    *about_level.LOOKS,
    *about_service.LOOKS,
    *about_fasteners.LOOKS,
)


def doubts_of(sheet: Sheet, units: Units = Units.METRIC) -> tuple[SheetWarning, ...]:
    """Return the doubts about a sheet, their figures in a person's units.

    A doubt forbids nothing: the sheet loads, and the gate decides as ever.
    """
    return tuple(doubt for look in _LOOKS for doubt in look(sheet, units))


def review_sheet(sheet: Sheet, units: Units = Units.METRIC) -> tuple[str, ...]:
    """Return the doubts as sentences; empty if there are none."""
    return tuple(str(doubt) for doubt in doubts_of(sheet, units))
