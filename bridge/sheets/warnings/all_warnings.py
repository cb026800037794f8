"""What a careful reader would doubt about a sheet that has no mistake in it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from bridge.service.log import circuits_of
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
    found = [doubt for look in _LOOKS for doubt in look(sheet, units)]
    return tuple(dict.fromkeys((*found, *_in_each(sheet, units))))


_IN_EACH = (*about_level.IN_EACH, *about_service.IN_EACH)
_IN_CIRCUIT = {("fluid", "name"): "fluid", ("filter", "holds"): "filter_holds"}
"""Keys that bear another name in [[circuit]]."""


def _in_each(sheet: Sheet, units: Units) -> Iterator[SheetWarning]:
    """Yield the doubts about each fluid, under the keys where its figures stand."""
    for place, one in enumerate(circuits_of(sheet, ())):
        for look in _IN_EACH:
            for doubt in look(one.sheet, units):
                own = one.name and doubt.section in ("fluid", "sump", "filter")
                key = _IN_CIRCUIT.get((doubt.section, doubt.key), doubt.key)
                yield (
                    replace(doubt, section="circuit", key=key, index=place)
                    if own
                    else doubt
                )


def review_sheet(sheet: Sheet, units: Units = Units.METRIC) -> tuple[str, ...]:
    """Return the doubts as sentences; empty if there are none."""
    return tuple(str(doubt) for doubt in doubts_of(sheet, units))
