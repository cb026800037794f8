"""Units as people say and print them: "ft-lbs", "N m", "RPM", "quarts"."""

from __future__ import annotations

import re

from bridge.units.kinds import Dimension

_SPOKEN: dict[Dimension, dict[str, str]] = {
    Dimension.TEMPERATURE: {"degC": "c degc celsius", "degF": "f degf fahrenheit"},
    Dimension.VOLUME: {
        "L": "l litre liter",
        "dL": "dl",
        "cL": "cl",
        "mL": "ml millilitre milliliter",
        "cm3": "cc cm3",
        "qt": "qt quart",
        "pt": "pt pint",
        "gal": "gal gallon",
        "floz": "floz fluidounce",
    },
    Dimension.MASS: {"kg": "kg kilogram", "g": "g gram", "lb": "lb pound"},
    Dimension.TORQUE: {
        "N*m": "nm n*m newtonmetre newtonmeter",
        "lbf*ft": "ftlb lbft lbfft ftlbf lb*ft ft*lb",
        "lbf*in": "inlb lbin lbfin inlbf",
    },
    Dimension.ENGINE_SPEED: {"rpm": "rpm 1/min min1 rev/min r/min"},
    Dimension.ANGLE: {"deg": "deg degree", "turn": "turn"},
    Dimension.LENGTH: {"mm": "mm", "cm": "cm", "in": 'in inch "'},
    Dimension.DISTANCE: {"km": "km kilometre kilometer", "mi": "mi mile"},
}
"""A sheet's spelling, and how it is said: no case, blanks, hyphens or plural's s."""
_SPELLED = {
    (dimension, word): unit
    for dimension, units in _SPOKEN.items()
    for unit, words in units.items()
    for word in words.split()
}


def spoken_unit(text: str, dimension: Dimension) -> str:
    """Return a unit's spelling in a sheet; '' if it is not said for that dimension."""
    plain = re.sub(r"[\s.\-]", "", text.casefold())
    plain = plain.replace("°", "deg").replace("º", "deg").replace("³", "3")
    plain = plain.replace("·", "*").replace("⋅", "*")
    said = _SPELLED.get((dimension, plain))
    return said or _SPELLED.get((dimension, plain.removesuffix("s")), "")
