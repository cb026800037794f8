"""Which units a report speaks: those asked for, or those of the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bridge.units import Units


def units_of(asked: str | None) -> Units:
    """Return the units asked for; without, those that the screen's °C or °F goes with.

    A degree Fahrenheit goes with quarts, miles and pound-feet.
    """
    from bridge.units import Units
    from tui.settings import load_settings

    if asked is not None:
        return Units(asked)
    return Units.US if load_settings().temperature_unit == "F" else Units.METRIC
