"""The odometer as a person writes it: kilometres for the file, and their own words."""

from __future__ import annotations

from typing import Any

from bridge.values.errors import UsageError

MOST_KM = 5e6


def read_odometer(text: str) -> dict[str, Any]:
    """Return the content of an odometer event: ``km`` and the ``text`` as written.

    Raises UsageError where it is no distance a car can have gone.
    """
    from bridge.units import Dimension, QuantityError, parse_quantity

    try:
        km = parse_quantity(text, Dimension.DISTANCE)
    except QuantityError as problem:
        raise UsageError(f"--odometer {problem}") from None
    if not 0.0 < km <= MOST_KM:
        raise UsageError(
            f"--odometer {text!r} is no reading of an odometer: write what it shows, "
            'such as "123456 km"'
        )
    return {"km": km, "text": text.strip()}
