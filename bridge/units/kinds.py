"""What a quantity can measure: units inside the program, limits, usual spellings.

The factors are exact by definition (NIST Special Publication 811, Appendix B.8).
"""

from __future__ import annotations

from dataclasses import dataclass, field
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


@dataclass(frozen=True, slots=True)
class UnitKind:
    """How one dimension is spoken of, its limits in our unit, its usual spellings."""

    words: str
    example: str
    low: float
    high: float
    factors: dict[str, float]
    """What one of each usual unit is in ours."""
    offsets: dict[str, float] = field(default_factory=dict)
    """Where a unit's zero lies in ours, if not at zero."""

    def linear(self, unit: str) -> Linear:
        """Return how to turn a usual unit into ours; KeyError if it is none."""
        return self.factors[unit], self.offsets.get(unit, 0.0)


# Exact by definition (NIST SP 811, B.8): inch, pound, standard gravity, gallon.
FOOT_M = 0.3048
POUND_KG = 0.45359237
KGF_M_NM = 9.80665
LBF_FT_NM = POUND_KG * KGF_M_NM * FOOT_M
LBF_IN_NM = LBF_FT_NM / 12
US_QUART_L = 0.946352946
MILE_KM = 1.609344
INCH_MM = 25.4

KINDS: dict[Dimension, UnitKind] = {
    Dimension.TEMPERATURE: UnitKind(
        "a temperature", "42 degC", -273.15, 2000.0,
        {"degC": 1.0, "degF": 5 / 9, "K": 1.0, "kelvin": 1.0},
        {"degF": -160 / 9, "K": -273.15, "kelvin": -273.15},
    ),
    Dimension.TEMPERATURE_STEP: UnitKind(
        "a temperature difference", "1.5 degC", -1000.0, 1000.0,
        {"degC": 1.0, "degF": 5 / 9, "K": 1.0},
    ),
    Dimension.DURATION: UnitKind(
        "a duration", "60 s", -1e9, 1e9, {"s": 1.0, "min": 60.0, "h": 3600.0}
    ),
    Dimension.VOLUME: UnitKind(
        "a volume", "5.5 L", -1e4, 1e4,
        {
            "L": 1.0, "l": 1.0, "mL": 1e-3, "ml": 1e-3, "cm3": 1e-3,
            "gal": US_QUART_L * 4, "qt": US_QUART_L, "pt": US_QUART_L / 2,
            "floz": US_QUART_L / 32,
        },
    ),
    Dimension.MASS: UnitKind(
        "a mass", "2.8 kg", 0.0, 1e5, {"kg": 1.0, "g": 1e-3, "lb": POUND_KG}
    ),
    Dimension.TORQUE: UnitKind(
        "a torque", "25 N*m", -1e5, 1e5,
        {
            "N*m": 1.0, "Nm": 1.0, "kgf*m": KGF_M_NM,
            "lbf*ft": LBF_FT_NM, "ft*lbf": LBF_FT_NM,
            "lbf*in": LBF_IN_NM, "in*lbf": LBF_IN_NM,
        },
    ),
    Dimension.ENGINE_SPEED: UnitKind(
        "an engine speed", "700 rpm", -1e6, 1e6, {"rpm": 1.0}
    ),
    Dimension.ROAD_SPEED: UnitKind(
        "a road speed", "5 km/h", -1e4, 1e4, {"km/h": 1.0, "mph": MILE_KM, "m/s": 3.6}
    ),
    Dimension.VOLTAGE: UnitKind(
        "a voltage", "12.6 V", -1e6, 1e6, {"V": 1.0, "mV": 1e-3}
    ),
    Dimension.ANGLE: UnitKind(
        "an angle", "90 deg", -1e6, 1e6, {"deg": 1.0, "turn": 360.0, "turns": 360.0}
    ),
    Dimension.LENGTH: UnitKind(
        "a length", "1.5 mm", -1e7, 1e7, {"mm": 1.0, "cm": 10.0, "in": INCH_MM}
    ),
    Dimension.AREA: UnitKind(
        "an area", "500 cm2", -1e7, 1e7, {"cm2": 1.0, "mm2": 0.01, "in2": 6.4516}
    ),
    Dimension.DISTANCE: UnitKind(
        "a distance", "60000 km", -1e7, 1e7, {"km": 1.0, "mi": MILE_KM, "mile": MILE_KM}
    ),
    Dimension.DENSITY: UnitKind(
        "a density", "850 kg/m3", 0.0, 1e5,
        {"kg/m3": 1.0, "g/cm3": 1000.0, "kg/L": 1000.0},
    ),
    Dimension.VISCOSITY: UnitKind(
        "a kinematic viscosity", "30 mm2/s", 0.0, 1e7,
        {"mm2/s": 1.0, "cSt": 1.0, "St": 100.0},
    ),
}  # fmt: skip
