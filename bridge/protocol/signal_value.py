"""From a signal's data bytes to its value: raw x factor + offset, nothing more."""

from __future__ import annotations

import math

from bridge.values.readings import Fault, FaultKind, Reading
from bridge.values.sheet import Role, Signal

BELIEVABLE: dict[Role, tuple[float, float]] = {
    Role.FLUID_TEMPERATURE: (-50.0, 180.0),
    Role.COOLANT_TEMPERATURE: (-50.0, 180.0),
    Role.AMBIENT_TEMPERATURE: (-60.0, 80.0),
    Role.ENGINE_SPEED: (0.0, 12000.0),
    Role.VEHICLE_SPEED: (0.0, 400.0),
    Role.ENGINE_RUN_TIME: (0.0, 65535.0),
    Role.MODULE_VOLTAGE: (0.0, 36.0),
}
"""Widest limits for each role where the sheet gives none (common practice, no
source): beyond them it is the sensor or the sheet that is wrong, not the car."""


def raw_value(signal: Signal, data: bytes) -> int:
    """Return the integer a signal's bytes hold; ``data`` follows the echo.

    Raises:
        ValueError: the data is shorter than the signal needs.
    """
    field = data[signal.first_byte : signal.first_byte + signal.length]
    if len(field) != signal.length:
        raise ValueError("data shorter than the signal")
    if signal.byte_order == "little":
        return int.from_bytes(field, "little", signed=signal.signed)
    return int.from_bytes(field, "big", signed=signal.signed)


def read_signal(
    signal: Signal, data: bytes, *, t_s: float, raw: bytes
) -> Reading | Fault:
    """Return the signal's value in its role's unit, or the fault that it is."""
    code = raw_value(signal, data)
    if code in signal.not_available or _is_no_measurement(signal, code):
        return Fault(
            kind=FaultKind.NOT_AVAILABLE,
            t_s=t_s,
            role=signal.role,
            detail=f"the control unit says 'no reading' (raw value 0x{code:X})",
        )
    if signal.labels:
        label = dict(signal.labels).get(code, "")
        return Reading(
            role=signal.role, value=float(code), label=label, t_s=t_s, raw=raw
        )
    return in_range(signal, code * signal.factor + signal.offset, t_s=t_s, raw=raw)


def _is_no_measurement(signal: Signal, code: int) -> bool:
    """SAE J1939-71: raw values from FB.. upwards are errors or 'not available'."""
    return signal.pgn is not None and code >= 0xFB << 8 * (signal.length - 1)


def in_range(
    signal: Signal, value: float, *, t_s: float, raw: bytes
) -> Reading | Fault:
    """Return the reading, or a fault if no such value is believable."""
    low, high = BELIEVABLE.get(signal.role, (-math.inf, math.inf))
    low = low if signal.minimum is None else signal.minimum
    high = high if signal.maximum is None else signal.maximum
    if math.isfinite(value) and low <= value <= high:
        return Reading(role=signal.role, value=value, t_s=t_s, raw=raw)
    return Fault(
        kind=FaultKind.OUT_OF_RANGE,
        t_s=t_s,
        role=signal.role,
        detail=f"{value:.6g} is outside what the sensor can give ({low:g} to {high:g})",
    )
