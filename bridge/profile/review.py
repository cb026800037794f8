"""What a careful reader would doubt about a sheet that has no mistake in it."""

from __future__ import annotations

from bridge.core.model import Sheet
from bridge.profile import review_fasteners, review_found, review_level, review_service
from bridge.profile.doubt import Doubt
from bridge.units import Units

_LOOKS = (
    *review_level.LOOKS,
    *review_found.LOOKS,
    *review_service.LOOKS,
    *review_fasteners.LOOKS,
)


def doubts_of(sheet: Sheet, units: Units = Units.METRIC) -> tuple[Doubt, ...]:
    """Return the doubts about a sheet, their figures in a person's units.

    A doubt forbids nothing: the sheet loads, and the gate decides as ever.
    """
    return tuple(doubt for look in _LOOKS for doubt in look(sheet, units))


def review_sheet(sheet: Sheet, units: Units = Units.METRIC) -> tuple[str, ...]:
    """Return the doubts as sentences; empty if there are none."""
    return tuple(str(doubt) for doubt in doubts_of(sheet, units))
