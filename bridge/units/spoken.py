"""Units as people say and print them: "ft-lbs", "N m", "RPM", "quarts"."""

from __future__ import annotations

import re

from bridge.units.kinds import Dimension

_SPOKEN: dict[Dimension, dict[str, str]] = {
    Dimension.TEMPERATURE: {
        "c": "degC",
        "f": "degF",
        "degc": "degC",
        "degf": "degF",
        "celsius": "degC",
        "fahrenheit": "degF",
    },
    Dimension.VOLUME: {
        "l": "L",
        "litre": "L",
        "liter": "L",
        "dl": "dL",
        "cl": "cL",
        "ml": "mL",
        "millilitre": "mL",
        "milliliter": "mL",
        "cc": "cm3",
        "cm3": "cm3",
        "qt": "qt",
        "quart": "qt",
        "pt": "pt",
        "pint": "pt",
        "gal": "gal",
        "gallon": "gal",
        "floz": "floz",
        "fluidounce": "floz",
    },
    Dimension.MASS: {
        "kg": "kg",
        "kilogram": "kg",
        "g": "g",
        "gram": "g",
        "lb": "lb",
        "pound": "lb",
    },
    Dimension.TORQUE: {
        "nm": "N*m",
        "n*m": "N*m",
        "newtonmetre": "N*m",
        "newtonmeter": "N*m",
        "ftlb": "lbf*ft",
        "lbft": "lbf*ft",
        "lbfft": "lbf*ft",
        "ftlbf": "lbf*ft",
        "lb*ft": "lbf*ft",
        "ft*lb": "lbf*ft",
        "inlb": "lbf*in",
        "lbin": "lbf*in",
        "lbfin": "lbf*in",
        "inlbf": "lbf*in",
    },
    Dimension.ENGINE_SPEED: dict.fromkeys(
        ("rpm", "1/min", "min1", "rev/min", "r/min"), "rpm"
    ),
    Dimension.ANGLE: {"deg": "deg", "degree": "deg", "turn": "turn"},
    Dimension.LENGTH: {"mm": "mm", "cm": "cm", "in": "in", "inch": "in", '"': "in"},
    Dimension.DISTANCE: {
        "km": "km",
        "kilometre": "km",
        "kilometer": "km",
        "mi": "mi",
        "mile": "mi",
    },
}
"""How units are said, without case, blanks, hyphens and a plural's s."""


def spoken_unit(text: str, dimension: Dimension) -> str:
    """Return a unit's spelling in a sheet; '' if it is not said for that dimension."""
    plain = re.sub(r"[\s.\-]", "", text.casefold())
    plain = plain.replace("°", "deg").replace("º", "deg").replace("³", "3")
    plain = plain.replace("·", "*").replace("⋅", "*")
    table = _SPOKEN.get(dimension, {})
    return table.get(plain) or table.get(plain.removesuffix("s"), "")
