"""When a signal that was found by search may be believed: rules, no I/O.

A candidate that merely looks right never opens the gate. A person must have held a
thermometer against it at two temperatures far enough apart, at least once while the
engine's coolant was somewhere else: what follows the coolant is the coolant.
"""

from __future__ import annotations

from bridge.values.found import Checkpoint, Found
from bridge.values.sheet import (
    Role,
    Sheet,
    Signal,
)

LEAST_APART_C = 10.0
"""How far apart the two temperatures must be."""
WITHOUT_COOLANT_APART_C = 20.0
"""How far, where the car does not tell its coolant's temperature."""
MOST_ACCURACY_C = 4.0
"""A thermometer worse than plus or minus this confirms nothing."""
ELSEWHERE_C = 1.0
"""The sensor sits in the sump and the thermometer on it or in the filler: so much
more may lie between the two (common practice, no source)."""
LEAST_SHARE, MOST_SHARE = 0.7, 1.4
"""How far the signal must have moved, as a share of the thermometer's way."""


def spell(signal: Signal) -> str:
    """Return a signal on one line, so that any change to it shows."""
    request, reply = signal.request_id or 0, signal.reply_id or 0
    sign = "signed" if signal.signed else "unsigned"
    return (
        f"{request:X} {reply:X} {signal.service:02X} {signal.identifier:X} "
        f"byte {signal.first_byte} length {signal.length} {signal.byte_order} {sign} "
        f"x{signal.factor:.6g} {signal.offset:+.6g}"
    )


def tolerance_c(accuracy_c: float) -> float:
    """Return how far thermometer and signal may lie apart, in degC."""
    return accuracy_c + ELSEWHERE_C


def why_not_one(check: Checkpoint) -> str:
    """Return why one comparison does not speak for the signal; '' if it does."""
    if not 0.0 < check.accuracy_c <= MOST_ACCURACY_C:
        return (
            f"a thermometer good to ±{check.accuracy_c:g} °C is too coarse; take one "
            f"good to ±{MOST_ACCURACY_C:g} °C or better"
        )
    off_c = check.signal_c - check.thermometer_c
    if not abs(off_c) <= tolerance_c(check.accuracy_c):
        return (
            f"the thermometer says {check.thermometer_c:.1f} °C and the signal "
            f"{check.signal_c:.1f} °C, {abs(off_c):.1f} °C apart where "
            f"{tolerance_c(check.accuracy_c):.1f} °C could be"
        )
    return ""


def why_not(checks: tuple[Checkpoint, ...]) -> str:
    """Return why the comparisons do not confirm a signal; '' if they do.

    One that contradicts is not outvoted by two that agree.
    """
    for check in checks:
        if problem := why_not_one(check):
            return problem
    if len(checks) < 2:
        return (
            "it takes thermometer readings at two temperatures at least "
            f"{LEAST_APART_C:g} °C apart"
        )
    return _why_not_together(checks)


def _why_not_together(checks: tuple[Checkpoint, ...]) -> str:
    low = min(checks, key=lambda c: c.thermometer_c)
    high = max(checks, key=lambda c: c.thermometer_c)
    apart_c = high.thermometer_c - low.thermometer_c
    blind = any(c.coolant_c is None for c in (low, high))
    needed_c = WITHOUT_COOLANT_APART_C if blind else LEAST_APART_C
    if not apart_c >= needed_c:
        return (
            f"the thermometer readings are {apart_c:.1f} °C apart, and it takes "
            f"{needed_c:g} °C"
        )
    moved = (high.signal_c - low.signal_c) / apart_c
    if not LEAST_SHARE <= moved <= MOST_SHARE:
        return (
            f"the fluid went up by {apart_c:.1f} °C and the signal by "
            f"{high.signal_c - low.signal_c:.1f} °C: its scaling is not the right one"
        )
    if not blind and not any(_tells_from_coolant(c) for c in checks):
        return (
            "the coolant was as warm as the fluid each time, so this could be the "
            "coolant; read the thermometer once more while the coolant is hotter"
        )
    return ""


def _tells_from_coolant(check: Checkpoint) -> bool:
    gap_c = abs((check.coolant_c or 0.0) - check.thermometer_c)
    return check.coolant_c is not None and gap_c > 2 * tolerance_c(check.accuracy_c)


def unconfirmed(sheet: Sheet) -> str:
    """Return why the sheet's fluid signal may not open the gate yet.

    '' where it may: it did not come from a search, or it is confirmed.
    """
    found, signal = sheet.found, sheet.signal(Role.FLUID_TEMPERATURE)
    if found is None or signal is None:
        return ""
    if found.signal != spell(signal):
        return (
            "the fluid signal is another one than the one that was found and confirmed"
        )
    return why_not(found.checkpoints)


__all__ = ["Checkpoint", "Found", "spell", "tolerance_c", "unconfirmed", "why_not"]
