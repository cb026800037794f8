"""Values of a job file as words. Nothing here raises, whatever the file holds."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable
from typing import Any

from bridge.units import (
    ABSENT,
    Units,
    printable,
    show_temperature,
    show_volume,
)

LONGEST = 2000


def text(value: object) -> str:
    """Return a text of the file, safe to show; '--' where there is none."""
    return printable(value, LONGEST) if isinstance(value, str) and value else ABSENT


def number(value: object) -> float | None:
    """Return a number of the file; None where there is none."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if math.isfinite(value) else None


def plain(identifier: object) -> str:
    """Return an identifier such as 'too-cold' as words: 'too cold'."""
    return text(identifier).replace("-", " ") if identifier else ABSENT


def listed(values: object) -> str:
    """Return a list of identifiers as words, 'none' where it is empty."""
    if not isinstance(values, list):
        return "not told"
    return ", ".join(plain(v) for v in values) or "none"


def codes(values: object) -> str:
    """Return a list of trouble codes; 'not told' where no unit told."""
    if not isinstance(values, list):
        return "not told"
    return ", ".join(text(v) for v in values) or "none"


def yes_no(value: object) -> str:
    """Return yes, no or not known."""
    return (
        {True: "yes", False: "no"}.get(value, "not known")
        if (isinstance(value, bool))
        else "not known"
    )


def moment_utc(utc_s: float | None) -> str:
    """Return a moment as '2025-11-25 13:01:05 UTC'."""
    if utc_s is None:
        return ABSENT
    try:
        moment = dt.datetime.fromtimestamp(utc_s, dt.UTC)
    except (OverflowError, OSError, ValueError):
        return ABSENT
    return f"{moment:%Y-%m-%d %H:%M:%S} UTC"


Local = Callable[[float], dt.datetime]
"""From seconds since 1970 in UTC to the wall clock where the report is read, with its
zone; it may raise for what no clock shows."""


def here(utc_s: float) -> dt.datetime:
    """Return a moment as this machine's wall clock shows it, with its zone."""
    return dt.datetime.fromtimestamp(utc_s, dt.UTC).astimezone()


def moment_both(utc_s: float | None, local: Local | None) -> str:
    """Return a moment in local time with its zone, and in UTC beside it."""
    utc = moment_utc(utc_s)
    if local is None or utc_s is None or utc == ABSENT:
        return utc
    try:
        moment = local(utc_s)
    except (OverflowError, OSError, ValueError):
        return utc
    offset = moment.strftime("%z")
    zone = f"UTC{offset[:3]}:{offset[3:5]}" if offset.strip("+-0") else "UTC"
    return utc if zone == "UTC" else f"{moment:%Y-%m-%d %H:%M} {zone} ({utc})"


def after(at_s: float) -> str:
    """Return a time since the beginning as hours, minutes, seconds and a tenth."""
    tenths = round(max(0.0, at_s) * 10)
    minutes, tenths = divmod(tenths, 600)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02d}:{tenths // 10:02d}.{tenths % 10}"


def temperature(temp_c: object, units: Units) -> str:
    """Return a temperature given in °C."""
    return show_temperature(number(temp_c), units)


def volume(ml: object, units: Units) -> str:
    """Return a volume given in mL."""
    value = number(ml)
    return show_volume(None if value is None else value / 1000.0, units)


def of(content: dict[str, Any], key: str) -> dict[str, Any]:
    """Return a dictionary inside another; {} where there is none."""
    inner = content.get(key)
    return inner if isinstance(inner, dict) else {}
