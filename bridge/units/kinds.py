"""What a quantity can measure: units inside the program, limits, usual spellings.

The factors are exact by definition (NIST Special Publication 811, Appendix B.8).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Dimension(StrEnum):
    """What a quantity measures; the value is the unit it has inside the program."""

    TEMPERATURE = "degC"
    TEMPERATURE_STEP = "delta_degC"
    """A difference or an accuracy: written degC, and 1.8 degF of it are 1 degC."""
    DURATION = "s"
    VOLUME = "L"
    MASS = "kg"
    TORQUE = "N*m"
    ENGINE_SPEED = "rpm"
    ROAD_SPEED = "km/h"
    VOLTAGE = "V"
    ANGLE = "deg"
    LENGTH = "mm"
    AREA = "cm**2"
    DISTANCE = "km"
    DENSITY = "kg/m**3"
    VISCOSITY = "mm**2/s"


Linear = tuple[float, float]
"""(factor, offset): value in our unit = factor * value in the given unit + offset."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitKind:
    """How one dimension is spoken of, its limits in our unit, its usual spellings."""

    words: str
    example: str
    low: float
    high: float
    usual: dict[str, Linear]


# Exact by definition (NIST SP 811, B.8): inch, pound, standard gravity, gallon.
FOOT_M = 0.3048
POUND_KG = 0.45359237
LBF_FT_NM = POUND_KG * 9.80665 * FOOT_M
KGF_M_NM = 9.80665
US_QUART_L = 0.946352946
MILE_KM = 1.609344
INCH_MM = 25.4

KINDS: dict[Dimension, UnitKind] = {
    Dimension.TEMPERATURE: UnitKind(
        words="a temperature",
        example="42 degC",
        low=-273.15,
        high=2000.0,
        usual={
            "degC": (1.0, 0.0),
            "degF": (5 / 9, -160 / 9),
            "K": (1.0, -273.15),
            "kelvin": (1.0, -273.15),
        },
    ),
    Dimension.TEMPERATURE_STEP: UnitKind(
        words="a temperature difference",
        example="1.5 degC",
        low=-1000.0,
        high=1000.0,
        usual={"degC": (1.0, 0.0), "degF": (5 / 9, 0.0), "K": (1.0, 0.0)},
    ),
    Dimension.DURATION: UnitKind(
        words="a duration",
        example="60 s",
        low=-1e9,
        high=1e9,
        usual={"s": (1.0, 0.0), "min": (60.0, 0.0), "h": (3600.0, 0.0)},
    ),
    Dimension.VOLUME: UnitKind(
        words="a volume",
        example="5.5 L",
        low=-1e4,
        high=1e4,
        usual={
            "L": (1.0, 0.0),
            "l": (1.0, 0.0),
            "mL": (1e-3, 0.0),
            "ml": (1e-3, 0.0),
            "qt": (US_QUART_L, 0.0),
            "pt": (US_QUART_L / 2, 0.0),
            "gal": (US_QUART_L * 4, 0.0),
            "cm3": (1e-3, 0.0),
            "floz": (US_QUART_L / 32, 0.0),
        },
    ),
    Dimension.MASS: UnitKind(
        words="a mass",
        example="2.8 kg",
        low=0.0,
        high=1e5,
        usual={"kg": (1.0, 0.0), "g": (1e-3, 0.0), "lb": (POUND_KG, 0.0)},
    ),
    Dimension.TORQUE: UnitKind(
        words="a torque",
        example="25 N*m",
        low=-1e5,
        high=1e5,
        usual={
            "N*m": (1.0, 0.0),
            "Nm": (1.0, 0.0),
            "lbf*ft": (LBF_FT_NM, 0.0),
            "ft*lbf": (LBF_FT_NM, 0.0),
            "lbf*in": (LBF_FT_NM / 12, 0.0),
            "in*lbf": (LBF_FT_NM / 12, 0.0),
            "kgf*m": (KGF_M_NM, 0.0),
        },
    ),
    Dimension.ENGINE_SPEED: UnitKind(
        words="an engine speed",
        example="700 rpm",
        low=-1e6,
        high=1e6,
        usual={"rpm": (1.0, 0.0)},
    ),
    Dimension.ROAD_SPEED: UnitKind(
        words="a road speed",
        example="5 km/h",
        low=-1e4,
        high=1e4,
        usual={"km/h": (1.0, 0.0), "mph": (MILE_KM, 0.0), "m/s": (3.6, 0.0)},
    ),
    Dimension.VOLTAGE: UnitKind(
        words="a voltage",
        example="12.6 V",
        low=-1e6,
        high=1e6,
        usual={"V": (1.0, 0.0), "mV": (1e-3, 0.0)},
    ),
    Dimension.ANGLE: UnitKind(
        words="an angle",
        example="90 deg",
        low=-1e6,
        high=1e6,
        usual={"deg": (1.0, 0.0), "turn": (360.0, 0.0), "turns": (360.0, 0.0)},
    ),
    Dimension.LENGTH: UnitKind(
        words="a length",
        example="1.5 mm",
        low=-1e7,
        high=1e7,
        usual={"mm": (1.0, 0.0), "cm": (10.0, 0.0), "in": (25.4, 0.0)},
    ),
    Dimension.AREA: UnitKind(
        words="an area",
        example="500 cm2",
        low=-1e7,
        high=1e7,
        usual={"cm2": (1.0, 0.0), "mm2": (0.01, 0.0), "in2": (6.4516, 0.0)},
    ),
    Dimension.DISTANCE: UnitKind(
        words="a distance",
        example="60000 km",
        low=-1e7,
        high=1e7,
        usual={"km": (1.0, 0.0), "mi": (MILE_KM, 0.0), "mile": (MILE_KM, 0.0)},
    ),
    Dimension.DENSITY: UnitKind(
        words="a density",
        example="850 kg/m3",
        low=0.0,
        high=1e5,
        usual={"kg/m3": (1.0, 0.0), "g/cm3": (1000.0, 0.0), "kg/L": (1000.0, 0.0)},
    ),
    Dimension.VISCOSITY: UnitKind(
        words="a kinematic viscosity",
        example="30 mm2/s",
        low=0.0,
        high=1e7,
        usual={"mm2/s": (1.0, 0.0), "cSt": (1.0, 0.0), "St": (100.0, 0.0)},
    ),
}
