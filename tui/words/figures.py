"""Numbers to text: temperatures in either unit, times, rates. Pure, never raises.

A figure that is None, not finite or outside what its meaning allows comes out
as ``UNKNOWN``: such a number is never shown.
"""

from __future__ import annotations

from datetime import UTC, datetime
from math import ceil, floor, hypot, isfinite, sqrt
from typing import Literal

from bridge.units import Units, show_chance, show_distance
from bridge.units.kinds import INCH_MM, US_QUART_L
from bridge.values.service_sheet import Interval

TemperatureUnit = Literal["C", "F"]

UNKNOWN = "--"
UNKNOWN_BIG = "--.-"
_LOWEST_C, _HIGHEST_C = -90.0, 400.0
"""Outside these no gearbox has ever been; such a number is a fault."""
_MINUTE_S, _HOUR_S = 60, 3600


def known(value: float | None, low: float = -1e9, high: float = 1e9) -> float | None:
    """Return the value if it is finite and within low..high, else None."""
    if value is None or not isfinite(value) or not low <= value <= high:
        return None
    return value + 0.0


def known_c(temp_c: float | None) -> float | None:
    """Return a temperature a gearbox can have, else None."""
    return known(temp_c, _LOWEST_C, _HIGHEST_C)


def in_unit(temp_c: float, unit: TemperatureUnit) -> float:
    """Convert a temperature (NIST SP 811, B.8: degF = 1.8 degC + 32)."""
    return temp_c if unit == "C" else 1.8 * temp_c + 32.0


def difference_in_unit(difference_c: float, unit: TemperatureUnit) -> float:
    """Convert a temperature difference: no offset (NIST SP 811, B.8)."""
    return difference_c if unit == "C" else 1.8 * difference_c


def decimal(value: float, digits: int = 1) -> str:
    """Write with a true minus sign and without a negative zero."""
    text = f"{value:.{digits}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", "−")


def temperature_number(temp_c: float | None, unit: TemperatureUnit) -> str:
    """Write the bare number for the big digits: '24.6', or '--.-'."""
    value = known_c(temp_c)
    return UNKNOWN_BIG if value is None else decimal(in_unit(value, unit))


def temperature(temp_c: float | None, unit: TemperatureUnit, digits: int = 1) -> str:
    """Write a temperature with its unit: '24.6 °C', or '--'."""
    value = known_c(temp_c)
    if value is None:
        return UNKNOWN
    return f"{decimal(in_unit(value, unit), digits)} °{unit}"


def amount(ml: float | None, unit: TemperatureUnit, *, signed: bool = False) -> str:
    """Write a small volume: '250 mL', or '0.26 qt' beside degrees Fahrenheit."""
    value = known(ml, -1e5, 1e5)
    if value is None:
        return UNKNOWN
    text = f"{value:.0f} mL" if unit == "C" else f"{value / (1000 * US_QUART_L):.2f} qt"
    return ("+" if signed and value >= 0 else "") + text.replace("-", "−")


def height(
    length_mm: float | None, unit: TemperatureUnit, *, signed: bool = True
) -> str:
    """Write a difference in height with its sign: '+1.5 mm', or '+0.06 in'."""
    value = known(length_mm, -1e4, 1e4)
    if value is None:
        return UNKNOWN
    text = f"{value:+.1f} mm" if unit == "C" else f"{value / INCH_MM:+.2f} in"
    text = text if signed else text.removeprefix("+")
    return text.replace("-", "−")


def edge(temp_c: float, unit: TemperatureUnit) -> str:
    """Write a window's edge as the sheet means it: no needless decimals."""
    value = known(temp_c)
    if value is None:
        return UNKNOWN
    return decimal(in_unit(value, unit)).removesuffix(".0")


def spread(
    temp_sd_c: float | None, unit: TemperatureUnit, accuracy_c: float | None = None
) -> str:
    """Write two standard deviations, rounded up: '±0.4', or ''.

    Two: for a normal error the truth is inside 19 times in 20. ``accuracy_c``: of the
    sensor, either way, which counts as rectangular (JCGM 100, 4.3.7).
    """
    value = known(temp_sd_c, 0.0, 400.0)
    if value is None:
        return ""
    value = hypot(value, (accuracy_c or 0.0) / sqrt(3.0))
    tenths = ceil(difference_in_unit(2 * value, unit) * 10 - 1e-9)
    return f"±{max(tenths, 1) / 10:.1f}"


def rate(rate_c_per_s: float | None, unit: TemperatureUnit) -> str:
    """Write a rate per minute: '3.1 °C/min', or ''."""
    value = known(rate_c_per_s, -5.0, 5.0)
    if value is None:
        return ""
    return f"{decimal(abs(difference_in_unit(value * 60, unit)))} °{unit}/min"


def spoken_time(seconds: float) -> str:
    """Write a time in words and whole seconds: '4 min 10 s'."""
    whole = max(0, floor(seconds))
    if whole < _MINUTE_S:
        return f"{whole} s"
    if whole < _HOUR_S:
        return f"{whole // 60} min {whole % 60:02d} s"
    return f"{whole // 3600} h {whole % 3600 // 60:02d} min"


def clock_time(seconds: float) -> str:
    """Write a time as minutes and seconds: '4:10'."""
    whole = max(0, floor(seconds))
    return f"{whole // 60}:{whole % 60:02d}"


def _grain(seconds: float) -> int:
    if seconds < _MINUTE_S:
        return 1
    return 5 if seconds < 5 * _MINUTE_S else 10


def early_time(seconds: float) -> str:
    """Write the early end of a range, rounded down to a sensible step."""
    step = _grain(seconds)
    return clock_time(floor(seconds / step) * step)


def late_time(seconds: float) -> str:
    """Write the late end of a range, rounded up to a sensible step."""
    step = _grain(seconds)
    return clock_time(ceil(seconds / step) * step)


def rough_time(seconds: float) -> str:
    """Write a time in words, no finer than it is known: 'about 4 min'."""
    if seconds < 2 * _MINUTE_S:
        return f"about {max(10, round(seconds / 10) * 10)} s"
    return f"about {round(seconds / _MINUTE_S)} min"


def rough_ago(seconds: float) -> str:
    """Write how long ago something was, as one says it: 'a minute ago'."""
    if seconds < 45:
        return "just now"
    minutes = max(1, round(seconds / _MINUTE_S))
    return "a minute ago" if minutes == 1 else f"{minutes} min ago"


def whole_minutes(seconds: float) -> str:
    """Write whole minutes without a unit, never none."""
    return str(max(1, round(seconds / _MINUTE_S)))


def at_least(seconds: float) -> str:
    """Write a time that surely passes, rounded down: '1 min', '40 s'."""
    if seconds < _MINUTE_S:
        return f"{max(0, floor(seconds / 5) * 5)} s"
    if seconds < _HOUR_S:
        return f"{floor(seconds / _MINUTE_S)} min"
    return "1 h"


def ago(age_s: float | None) -> str:
    """Write an age: '0.3 s' below ten seconds, then as a spoken time."""
    value = known(age_s, 0.0)
    if value is None:
        return UNKNOWN
    return f"{value:.1f} s" if value < 10 else spoken_time(value)


def percent(chance: float | None) -> str:
    """Write a probability 0..1 as whole percent, or '--' where it is none."""
    value = known(chance, 0.0, 1.0)
    return UNKNOWN if value is None else show_chance(value)


def moment(utc_s: float) -> str:
    """Write a moment as date and time where the person is; '--' where there is none."""
    try:
        here = datetime.fromtimestamp(utc_s, UTC).astimezone()
    except (OverflowError, OSError, ValueError):
        return UNKNOWN
    return f"{here:%Y-%m-%d %H:%M}"


def quantity(
    value: float | None, unit: str, low: float, high: float, digits: int = 0
) -> str:
    """Write a plain quantity within low..high, else '--'."""
    value = known(value, low, high)
    return UNKNOWN if value is None else f"{decimal(value, digits)} {unit}"


def clean(text: str, limit: int = 400) -> str:
    """Make foreign text safe to show: one line, no control characters, bounded."""
    shown = "".join(c if c.isprintable() else " " for c in text[: 4 * limit])
    shown = " ".join(shown.split())
    return shown if len(shown) <= limit else shown[: limit - 1] + "…"


def look_words(interval: Interval, units: Units) -> str:
    """Return when the fluid is looked at: 'every 30000 km or 12 months'; '' if not."""
    km, months = interval.look_distance_km, interval.look_months
    ends = [] if km is None else [show_distance(km, units)]
    ends += [] if months is None else [f"{months} months"]
    return f"every {' or '.join(ends)}" if ends else ""
