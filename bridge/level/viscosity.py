"""How thick the fluid is at a temperature, from the two figures on its data sheet.

ASTM D341 (Walther): log10(log10(nu + 0.7)) = A - B log10(T), nu in mm2/s, T in
kelvin; the plain form holds above 2 mm2/s. We use ratios of it only: how much
longer a cold fluid takes to run down than a warm one.
"""

from __future__ import annotations

import math

from bridge.values.frozen import frozen

KELVIN = 273.15
LEAST_MM2_S = 2.0
"""Below this the short form of D341 does not hold."""
TEMP_LIMITS_C = (-50.0, 150.0)
_LOW_C, _HIGH_C = 40.0, 100.0


def _doubled_log(nu_mm2_s: float) -> float:
    return math.log10(math.log10(nu_mm2_s + 0.7))


@frozen
class Fluid:
    """A fluid by its kinematic viscosities in mm2/s (= cSt).

    Raises ValueError unless at_40 > at_100 > 2. The default figures are those of a
    low-viscosity automatic fluid (common practice, no source).
    """

    at_40_mm2_s: float = 30.0
    at_100_mm2_s: float = 6.0

    def __post_init__(self) -> None:
        """Refuse what the equation cannot describe."""
        thick, thin = self.at_40_mm2_s, self.at_100_mm2_s
        if not (LEAST_MM2_S < thin < thick < math.inf):
            raise ValueError(
                f"The fluid's viscosities {thick:g} mm2/s at 40 °C and {thin:g} "
                "mm2/s at 100 °C cannot be: the first must be the larger, both "
                "above 2. Take them from the fluid's data sheet."
            )


USUAL = Fluid()
"""For a sheet that names no viscosities (common practice, no source)."""


def constants(fluid: Fluid) -> tuple[float, float]:
    """Return A and B of ASTM D341, with T = t + 273.15."""
    thick, thin = _doubled_log(fluid.at_40_mm2_s), _doubled_log(fluid.at_100_mm2_s)
    low, high = math.log10(_LOW_C + KELVIN), math.log10(_HIGH_C + KELVIN)
    slope = (thick - thin) / (high - low)
    return thick + slope * low, slope


def viscosity_mm2_s(temp_c: float, fluid: Fluid = USUAL) -> float:
    """Return the kinematic viscosity in mm2/s at -50..150 degC.

    Raises ValueError outside that range, and where the fluid is thinner than
    2 mm2/s (ASTM D341's short form ends there).
    """
    low, high = TEMP_LIMITS_C
    if not low <= temp_c <= high:
        raise ValueError(
            f"No viscosity can be told at {temp_c:g} °C: the equation is used "
            f"from {low:g} to {high:g} °C."
        )
    a, b = constants(fluid)
    nu = float(10.0 ** (10.0 ** (a - b * math.log10(temp_c + KELVIN)))) - 0.7
    if nu <= LEAST_MM2_S:
        raise ValueError(
            f"At {temp_c:g} °C this fluid is thinner than 2 mm2/s, where ASTM D341's "
            "equation no longer holds."
        )
    return nu


def ratio(temp_c: float, reference_c: float, fluid: Fluid = USUAL) -> float:
    """Return the viscosity at ``temp_c`` over that at ``reference_c``.

    Above 1: thicker than at the reference. Raises ValueError as
    ``viscosity_mm2_s`` does.
    """
    return viscosity_mm2_s(temp_c, fluid) / viscosity_mm2_s(reference_c, fluid)
