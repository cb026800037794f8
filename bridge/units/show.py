"""Floats in our units come in, text in a person's units goes out."""

from __future__ import annotations

import math
from enum import StrEnum
from typing import TypeGuard

from bridge.units.kinds import INCH_MM, LBF_FT_NM, LBF_IN_NM, MILE_KM, US_QUART_L
from bridge.values.sheet import Window


class Units(StrEnum):
    """Which units a person wants to see, everywhere."""

    METRIC = "metric"
    US = "us"


ABSENT = "--"
"""Shown where no number is known: never a stale or a made-up one."""


def temperature_in(temp_c: float, units: Units) -> float:
    """Return a temperature in °C as the number to show (°C or °F)."""
    return temp_c if units is Units.METRIC else temp_c * 9 / 5 + 32


def temperature_step_in(step_c: float, units: Units) -> float:
    """Return a temperature difference (°C) as the number to show (°C or °F)."""
    return step_c if units is Units.METRIC else step_c * 9 / 5


def temperature_unit(units: Units) -> str:
    """Return the unit's sign: °C or °F."""
    return "°C" if units is Units.METRIC else "°F"


def show_temperature(temp_c: float | None, units: Units, *, digits: int = 1) -> str:
    """Return ``38.4 °C``, or ``--`` where it is not known or not finite."""
    shown = None if temp_c is None else temperature_in(temp_c, units)
    return _figure(shown, digits, temperature_unit(units))


def show_temperature_step(
    step_c: float | None, units: Units, *, digits: int = 1
) -> str:
    """Return a difference or an uncertainty, ``0.5 °C``, or ``--``."""
    shown = None if step_c is None else temperature_step_in(step_c, units)
    return _figure(shown, digits, temperature_unit(units))


def show_temperature_span(
    low_c: float, high_c: float, units: Units, *, digits: int = 0
) -> str:
    """Return a window as ``42 to 52 °C``; ends that are no whole number keep one.

    With an open end ``42 °C or more`` and ``up to 52 °C``.
    """
    span = Window(low_c=low_c, high_c=high_c)
    ends = [temperature_in(low_c, units), temperature_in(high_c, units)]
    if any(abs(end - round(end, digits)) > 0.02 for end in ends):
        digits += 1
    low, high = (_fixed(end, digits) for end in ends)
    unit = temperature_unit(units)
    if span.closed:
        return f"{low} to {high} {unit}"
    if span.below_open and span.above_open:
        return "any temperature"
    return f"up to {high} {unit}" if span.below_open else f"{low} {unit} or more"


def show_rate(rate_c_per_s: float | None, units: Units, *, digits: int = 1) -> str:
    """Return a rate (given in °C/s) as ``+2.4 °C/min``, or ``--``."""
    if not _known(rate_c_per_s):
        return ABSENT
    rate = temperature_step_in(rate_c_per_s * 60.0, units)
    text = _fixed(rate, digits)
    sign = "+" if float(text) > 0 else ""
    return f"{sign}{text} {temperature_unit(units)}/min"


def show_volume(volume_l: float | None, units: Units) -> str:
    """Return ``5.50 L``, below one litre ``350 mL``, or ``5.81 qt`` (US liquid)."""
    if not _known(volume_l):
        return ABSENT
    if units is Units.US:
        return _figure(volume_l / US_QUART_L, 2, "qt")
    if abs(volume_l) < 0.9995:
        return _figure(volume_l * 1000.0, 0, "mL")
    return _figure(volume_l, 2, "L")


def show_length(length_mm: float | None, units: Units) -> str:
    """Return ``4.5 mm`` or ``0.177 in``."""
    if not _known(length_mm):
        return ABSENT
    if units is Units.US:
        return _figure(length_mm / INCH_MM, 3, "in")
    return f"{length_mm:.4g} mm"


def show_area(area_cm2: float, units: Units) -> str:
    """Return ``500 cm²`` or ``78 square inches``."""
    if units is Units.US:
        return f"{area_cm2 / (INCH_MM / 10.0) ** 2:.0f} square inches"
    return f"{area_cm2:g} cm²"


def show_torque(
    torque_nm: float | None, units: Units, give_nm: float | None = None
) -> str:
    """Return ``25.0 N·m`` or ``18.4 lbf·ft``, with its tolerance ``25.0 ± 2.5 N·m``.

    Small ones have a decimal more or are told in lbf·in; so is their tolerance.
    """
    if not _known(torque_nm):
        return ABSENT
    worth_nm, unit, digits = 1.0, "N·m", 1 if abs(torque_nm) >= 1.0 else 2
    if units is Units.US:
        small = abs(torque_nm) < LBF_FT_NM
        unit, digits = "lbf·in" if small else "lbf·ft", 1
        worth_nm = LBF_IN_NM if small else LBF_FT_NM
    figures = [_fixed(torque_nm / worth_nm, digits)]
    if _known(give_nm):
        figures.append(_fixed(give_nm / worth_nm, digits))
    return f"{' ± '.join(figures)} {unit}"


def show_distance(distance_km: float | None, units: Units) -> str:
    """Return ``60000 km`` or ``37282 mi``."""
    if units is Units.US and distance_km is not None:
        return _figure(distance_km / MILE_KM, 0, "mi")
    return _figure(distance_km, 0, "km")


def show_duration(duration_s: float | None) -> str:
    """Return ``45 s``, ``3 min 05 s`` or ``1 h 02 min``; ``--`` if none or negative."""
    if not _known(duration_s) or duration_s < 0:
        return ABSENT
    whole = round(duration_s)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60:02d} s"
    return f"{whole // 3600} h {whole % 3600 // 60:02d} min"


def show_chance(chance: float) -> str:
    """Return a probability 0..1 as whole percent: nothing here is ever sure."""
    if chance < 0.01:
        return "under 1 %"
    return "over 99 %" if chance > 0.99 else f"{chance * 100:.0f} %"


def _known(value: float | None) -> TypeGuard[float]:
    return value is not None and math.isfinite(value)


def _figure(value: float | None, digits: int, unit: str) -> str:
    return f"{_fixed(value, digits)} {unit}" if _known(value) else ABSENT


def _fixed(value: float, digits: int) -> str:
    """Return the number with so many decimals, and never a "-0"."""
    return f"{round(value, digits) + 0.0:.{digits}f}"
