"""What the person types on the service page, read into numbers; or what is wrong."""

from __future__ import annotations

import re
from typing import NamedTuple

from bridge.units import Dimension, QuantityError, Units, parse_quantity

_LARGEST_L = 40.0
"""No gearbox of a car holds more (common practice, no source)."""
_COLDEST_C, _HOTTEST_C = -40.0, 150.0
_FARTHEST_KM = 3_000_000.0
_BARE = re.compile(r"[+-]?[0-9]*\.?[0-9]+")
_SPLIT = re.compile(r"\s+(?:at|@)\s+|\s*[@;]\s*")
_DEGREES = re.compile(r"(?<![A-Za-z])(?:°\s*|deg\s*)?([CcFf])$")


class Amount(NamedTuple):
    """A volume and the temperature it was measured at, None if not told."""

    ml: float
    temp_c: float | None


def read_amount(text: str, units: Units) -> Amount | str:
    """Return a typed amount such as '4.8 L at 35 C' or '5 qt', or what is wrong.

    A bare number is in litres, or quarts where the person uses those.
    """
    parts = _SPLIT.split(_points(text.strip()), maxsplit=1)
    try:
        volume = _with_unit(parts[0], "L" if units is Units.METRIC else "qt")
        litres = parse_quantity(volume, Dimension.VOLUME)
        temp_c = _temperature(parts[1], units) if len(parts) > 1 else None
    except QuantityError:
        return f"{text[:20]!r} is not understood. {_how(units)}"
    if not 0 < litres <= _LARGEST_L:
        return f"{text[:20]!r} is no amount of a gearbox. {_how(units)}"
    if temp_c is not None and not _COLDEST_C <= temp_c <= _HOTTEST_C:
        return f"{parts[1][:12]!r} is no temperature of a fluid. {_how(units)}"
    return Amount(ml=1000.0 * litres, temp_c=temp_c)


def _how(units: Units) -> str:
    if units is Units.METRIC:
        return "Type for example 4.8 L, or 4.8 L at 35 C."
    return "Type for example 5 qt, or 5 qt at 95 F."


def _temperature(text: str, units: Units) -> float:
    typed = _with_unit(text.strip(), "C" if units is Units.METRIC else "F")
    spelled = _DEGREES.sub(lambda found: f" deg{found[1].upper()}", typed)
    return parse_quantity(spelled, Dimension.TEMPERATURE)


def read_odometer(text: str, units: Units) -> float | str:
    """Return a typed odometer in km, or what is wrong with it."""
    unit = "km" if units is Units.METRIC else "mi"
    how = f"Type for example 123456 {unit}."
    plain = re.sub(r"(?<=[0-9])[ ,.'](?=[0-9]{3}(?![0-9]))", "", text.strip())
    try:
        km = parse_quantity(_with_unit(plain, unit), Dimension.DISTANCE)
    except QuantityError:
        return f"{text[:20]!r} is not understood. {how}"
    if not 0 <= km <= _FARTHEST_KM:
        return f"{text[:20]!r} is no odometer of a car. {how}"
    return km


def _points(text: str) -> str:
    """Return the text with decimal commas as points."""
    return re.sub(r"(?<=[0-9]),(?=[0-9])", ".", text)


def _with_unit(text: str, unit: str) -> str:
    return f"{text} {unit}" if _BARE.fullmatch(text.strip()) else text
