"""A hand thermometer as a source: what is typed, what it is good for. Pure."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import StrEnum

COLDEST_C, HOTTEST_C = -50.0, 180.0
LEAST_ACCURACY_C, MOST_ACCURACY_C = 0.1, 6.0
_TYPED = re.compile(r"([+-]?\d{1,3}(?:[.,]\d{1,3})?)\s*°?\s*(?:deg)?\s*([CFcf]?)")


class Kind(StrEnum):
    """How the thermometer measures."""

    PROBE = "probe"
    INFRARED = "infrared"


USUAL_ACCURACY_C = {Kind.PROBE: 1.5, Kind.INFRARED: 4.0}
"""Plus or minus, in use and not in the data sheet (common practice, no source)."""
ADVICE = {
    Kind.PROBE: "Hold the probe in the stream or the fluid itself, until it stands.",
    Kind.INFRARED: (
        "Infrared reads low on a shiny pan: blacken a spot or put tape on it, and "
        "aim at that from close by."
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Thermometer:
    """What reads the temperature, as the person told it."""

    kind: Kind = Kind.PROBE
    accuracy_c: float = USUAL_ACCURACY_C[Kind.PROBE]
    """Within plus or minus this in 19 of 20 cases."""
    alone: bool = True
    """Whether it is the only source; False: an adapter reads the car beside it."""

    @property
    def noise_sd_c(self) -> float:
        """What differs from reading to reading, as a standard deviation."""
        return 0.5 * self.accuracy_c

    @property
    def bias_sd_c(self) -> float:
        """What is the same in every reading and does not average away.

        Half as much as the noise again: calibration, the spot, the pan's shine
        (common practice, no source). The gate reckons with it; a forecast in the
        thermometer's own degrees need not.
        """
        return 0.25 * self.accuracy_c


def read_typed(text: str, *, fahrenheit: bool = False) -> float | str:
    """Return a typed temperature in degC, or a sentence that says what is wrong.

    ``fahrenheit``: the unit where none is typed.
    """
    match = _TYPED.fullmatch(text.strip())
    if match is None:
        shown = text.strip()[:20]
        return f"{shown!r} is no temperature: type it like 38.5, 38.5 C or 101 F"
    value = float(match[1].replace(",", "."))
    unit = match[2].upper() or ("F" if fahrenheit else "C")
    temp_c = (value - 32.0) / 1.8 if unit == "F" else value
    if not COLDEST_C <= temp_c <= HOTTEST_C:
        return f"{text.strip()[:20]!r} is no temperature of a gearbox: measure again"
    return temp_c


def read_accuracy(text: str) -> float | str:
    """Return a typed accuracy in degC, or a sentence that says what is wrong."""
    match = re.fullmatch(
        r"(?:±|\+/?-)?\s*(\d{1,2}(?:[.,]\d+)?)\s*°?\s*([CFcf]?)", text.strip()
    )
    value = float(match[1].replace(",", ".")) if match else math.nan
    if match is not None and match[2].upper() == "F":
        value /= 1.8
    if LEAST_ACCURACY_C <= value <= MOST_ACCURACY_C:
        return value
    return (
        f"{text.strip()[:20]!r} is no accuracy: write what the thermometer is good for "
        f"in °C, {LEAST_ACCURACY_C:g} to {MOST_ACCURACY_C:g}"
    )
