"""Doubts about a signal that came from a search."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.level.found_signal import unconfirmed
from bridge.sheets.warnings.warning import Doubt, doubt
from bridge.units import Units
from bridge.values.sheet import Sheet


def found(sheet: Sheet, _: Units) -> Iterator[Doubt]:
    """Doubt a found signal that no thermometer has borne out."""
    if why := unconfirmed(sheet):
        yield doubt(
            "found.signal",
            f"is not confirmed, so that the gate stays at NO-GO ({why})",
            "confirm it with sumpgate find --confirm SHEET",
        )


LOOKS = (found,)
