"""Entries of a service to plain values and back: what the job file keeps of them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from bridge.values.service_events import CarFacts, ServiceEvent, ServiceKind
from bridge.values.service_sheet import StepKind, Tick

if TYPE_CHECKING:
    from collections.abc import Mapping

_TEXTS = ("name", "text", "who")
_NUMBERS = ("ml", "temp_c", "km", "torque_nm")
_CODES = ("stored", "pending", "permanent")


def to_plain(entry: ServiceEvent) -> dict[str, Any]:
    """Return an entry as values JSON can hold; what says nothing is left out."""
    told: dict[str, Any] = {"deed": entry.kind.value, "at_utc_s": entry.at_utc_s}
    if entry.step is not None:
        told["step"] = entry.step.value
    if entry.tick is not None:
        told["tick"] = entry.tick.value
    told |= {key: value for key in _TEXTS if (value := getattr(entry, key))}
    told |= {k: v for k in _NUMBERS if (v := getattr(entry, k)) is not None}
    if entry.back is not None:
        told["back"] = entry.back
    if entry.car is not None:
        told["car"] = _plain_car(entry.car)
    return told


def _plain_car(car: CarFacts) -> dict[str, Any]:
    lists = {key: getattr(car, key) for key in _CODES}
    return {
        **{key: None if found is None else list(found) for key, found in lists.items()},
        "lamp": car.lamp,
        "vin": car.vin,
        "voltage_v": car.voltage_v,
        "engine_rpm": car.engine_rpm,
    }


def from_plain(told: Mapping[str, Any]) -> ServiceEvent:
    """Return the entry that ``to_plain`` made.

    Raises:
        ValueError: it is none.
    """
    try:
        back = told.get("back")
        return ServiceEvent(
            kind=ServiceKind(told["deed"]),
            at_utc_s=_number(told["at_utc_s"]),
            step=StepKind(told["step"]) if "step" in told else None,
            name=str(told.get("name", "")),
            tick=Tick(told["tick"]) if "tick" in told else None,
            text=str(told.get("text", "")),
            ml=_maybe(told.get("ml")),
            temp_c=_maybe(told.get("temp_c")),
            km=_maybe(told.get("km")),
            torque_nm=_maybe(told.get("torque_nm")),
            car=_car(told["car"]) if "car" in told else None,
            back=None if back is None else int(back),
            who=str(told.get("who", "")),
        )
    except (KeyError, TypeError, AttributeError) as problem:
        raise ValueError(f"no entry of a service ({problem!r})") from None


def _car(told: Mapping[str, Any]) -> CarFacts:
    lamp = told.get("lamp")
    return CarFacts(
        stored=_codes(told.get("stored")),
        pending=_codes(told.get("pending")),
        permanent=_codes(told.get("permanent")),
        lamp=lamp if isinstance(lamp, bool) else None,
        vin=str(told.get("vin", "")),
        voltage_v=_maybe(told.get("voltage_v")),
        engine_rpm=_maybe(told.get("engine_rpm")),
    )


def _codes(value: Any) -> tuple[str, ...] | None:
    return None if value is None else tuple(str(code) for code in value)


def _number(value: Any) -> float:
    number = float(value)
    if not math.isfinite(number):
        raise ValueError(f"{value!r} is no number a job can hold")
    return number


def _maybe(value: Any) -> float | None:
    return None if value is None else _number(value)
