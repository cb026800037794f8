"""From the value of a signal to the bytes a control unit would answer with."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

from bridge.values.sheet import Role

if TYPE_CHECKING:
    from bridge.values.sheet import Signal
    from simulators.car.car import Car


class NoReading(Exception):  # noqa: N818 - a state of the car, not a mistake
    """The unit has no value and the signal has no raw value that says so."""


def encode(signal: Signal, car: Car) -> bytes:
    """Return the signal's own bytes for the car as it is now.

    The inverse of value = raw * factor + offset, held within what the bytes can
    carry. Raises NoReading where there is no value and no 'not available' code.
    """
    raw = _raw(signal, car)
    if raw is None:
        if not signal.not_available:
            raise NoReading(signal.role.value)
        raw = signal.not_available[0]
    size = 8 * signal.length
    order: Literal["big", "little"] = "big" if signal.byte_order == "big" else "little"
    return (raw % (1 << size)).to_bytes(signal.length, order)


def _raw(signal: Signal, car: Car) -> int | None:
    if signal.role is Role.SELECTOR:
        return _selector_raw(signal, car.selector)
    value = value_of(car, signal.role)
    if value is None:
        return None
    exact = (value - signal.offset) / signal.factor
    # Half-way cases go up: the tie rule must not depend on the raw number.
    return _reachable(math.floor(exact + 0.5), signal)


def _reachable(raw: int, signal: Signal) -> int:
    """Hold a raw value inside its bytes and off the 'not available' codes."""
    size = 8 * signal.length
    low = -(1 << size - 1) if signal.signed else 0
    high = low + (1 << size) - 1
    raw = min(max(raw, low), high)
    step = -1 if raw > (low + high) // 2 else 1
    while raw in signal.not_available and low <= raw + step <= high:
        raw += step
    return raw


def _selector_raw(signal: Signal, position: str) -> int | None:
    wanted = position.strip().upper()
    for raw, label in signal.labels:
        if label.strip().upper() == wanted:
            return raw
    for raw, label in signal.labels:
        if label.strip().upper()[:1] == wanted[:1]:
            return raw
    return None if signal.labels else 0


def value_of(car: Car, role: Role) -> float | None:
    """Return the car's value for a role in the role's own unit; None: no reading."""
    values: dict[Role, float | None] = {
        Role.FLUID_TEMPERATURE: car.sensor_c,
        Role.COOLANT_TEMPERATURE: car.coolant_c,
        Role.AMBIENT_TEMPERATURE: car.ambient_c,
        Role.ENGINE_SPEED: car.engine_rpm,
        Role.VEHICLE_SPEED: car.road_speed_kmh,
        Role.ENGINE_RUN_TIME: car.run_s,
        Role.MODULE_VOLTAGE: car.voltage_v,
        Role.SELECTOR: None,
    }
    return values[role]
