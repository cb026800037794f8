"""The car before the service against the car after it: what is new, gone, strange.

Only what was read both times is compared; a list that was not read the first time
makes no code new. Nothing is ever cleared by the tool, so a code that is gone went by
itself or was cleared by another.
"""

from __future__ import annotations

import math
from enum import StrEnum

from bridge.protocol.trouble_codes import FLUID_SENSOR_CODES
from bridge.values.frozen import frozen
from bridge.values.service_events import CarFacts

LOW_OFF_V = 11.8
"""With the engine off the battery is nearly flat (common practice, no source)."""
LOW_RUNNING_V = 13.0
"""With the engine running it is hardly charged (common practice, no source)."""
RUNNING_RPM = 300.0
"""Above it the engine runs by itself; a starter turns slower (common practice, no
source)."""


class CodeKind(StrEnum):
    """Which of a car's lists a code stands in (SAE J1979 services 03, 07, 0A)."""

    STORED = "stored"
    PENDING = "pending"
    PERMANENT = "permanent"


class Oddity(StrEnum):
    """What a person should be told, the gravest first."""

    ANOTHER_CAR = "another-car"
    ODOMETER_BACKWARDS = "odometer-backwards"
    FLUID_SENSOR_CODE = "fluid-sensor-code"
    NEW_CODES = "new-codes"
    LAMP_CAME_ON = "lamp-came-on"
    VOLTAGE_LOW_BEFORE = "voltage-low-before"
    VOLTAGE_LOW_AFTER = "voltage-low-after"
    CODES_NOT_COMPARED = "codes-not-compared"
    VIN_NOT_COMPARED = "vin-not-compared"


ODDITY_TEXT: dict[Oddity, str] = {
    Oddity.ANOTHER_CAR: (
        "The identification number changed: this is another car, so nothing else is "
        "compared. Check that the right job is open."
    ),
    Oddity.ODOMETER_BACKWARDS: (
        "The odometer is lower after than before: check both readings as typed."
    ),
    Oddity.FLUID_SENSOR_CODE: (
        "There is a code of the fluid's temperature sensor: do not trust a level that "
        "was set by it; find the cause and set it again."
    ),
    Oddity.NEW_CODES: (
        "There are codes that were not there before: find out why before you drive "
        "far. A plug left off while the ignition was on is a common cause."
    ),
    Oddity.LAMP_CAME_ON: "The warning lamp is on and was not before.",
    Oddity.VOLTAGE_LOW_BEFORE: (
        "The voltage was low before the service: codes may come from that alone."
    ),
    Oddity.VOLTAGE_LOW_AFTER: (
        "The voltage is low: charge the battery, or have the charging looked at."
    ),
    Oddity.CODES_NOT_COMPARED: (
        "Not all lists of codes were read both times, so a code in them cannot be "
        "called new or gone."
    ),
    Oddity.VIN_NOT_COMPARED: (
        "The identification number was not read both times: make sure yourself that "
        "it is the same car."
    ),
}


@frozen
class CodeNews:
    """One list of codes, before against after."""

    kind: CodeKind
    compared: bool
    """False: not read both times; then new, gone and same are empty."""
    new: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    same: tuple[str, ...] = ()
    unjudged: tuple[str, ...] = ()
    """Read after but not before: they may be old or new."""


@frozen
class Differences:
    """All that differs between two records of a car."""

    codes: tuple[CodeNews, ...]
    """One for each kind; empty for another car."""
    new_codes: tuple[str, ...]
    """In some list now and in none before; a code that moved up is not new."""
    oddities: tuple[Oddity, ...]
    """The gravest first."""
    driven_km: float | None
    """Between the two odometer readings; None: not both told, or backwards."""


def compare(
    before: CarFacts,
    after: CarFacts,
    *,
    before_km: float | None = None,
    after_km: float | None = None,
) -> Differences:
    """Return what differs; the odometer readings None where not typed."""
    if _another_car(before, after):
        return Differences(
            codes=(), new_codes=(), oddities=(Oddity.ANOTHER_CAR,), driven_km=None
        )
    codes = tuple(_news(kind, before, after) for kind in CodeKind)
    new = _new_codes(codes, before)
    driven = None if before_km is None or after_km is None else after_km - before_km
    found = {
        Oddity.ODOMETER_BACKWARDS: driven is not None and driven < 0.0,
        Oddity.FLUID_SENSOR_CODE: fluid_sensor_code(after),
        Oddity.NEW_CODES: bool(new),
        Oddity.LAMP_CAME_ON: before.lamp is False and after.lamp is True,
        Oddity.VOLTAGE_LOW_BEFORE: voltage_low(before),
        Oddity.VOLTAGE_LOW_AFTER: voltage_low(after),
        Oddity.CODES_NOT_COMPARED: not all(news.compared for news in codes),
        Oddity.VIN_NOT_COMPARED: not (before.vin.strip() and after.vin.strip()),
    }
    return Differences(
        codes=codes,
        new_codes=new,
        oddities=tuple(oddity for oddity, there in found.items() if there),
        driven_km=None if driven is None or driven < 0.0 else driven,
    )


def fluid_sensor_code(car: CarFacts) -> bool:
    """Return whether any list holds a code of the fluid's temperature sensor."""
    return bool(FLUID_SENSOR_CODES & _all_codes(car))


def voltage_low(car: CarFacts) -> bool:
    """Return whether the voltage is low for what the engine does.

    Where the engine's speed is not known only the lower limit, that of a standing
    engine, is used. A voltage that is not known is not low.
    """
    if car.voltage_v is None or not math.isfinite(car.voltage_v):
        return False
    running = car.engine_rpm is not None and car.engine_rpm > RUNNING_RPM
    return car.voltage_v < (LOW_RUNNING_V if running else LOW_OFF_V)


def _another_car(before: CarFacts, after: CarFacts) -> bool:
    first, second = (car.vin.strip().upper() for car in (before, after))
    return bool(first and second) and first != second


def _list_of(car: CarFacts, kind: CodeKind) -> tuple[str, ...] | None:
    return {
        CodeKind.STORED: car.stored,
        CodeKind.PENDING: car.pending,
        CodeKind.PERMANENT: car.permanent,
    }[kind]


def _all_codes(car: CarFacts) -> frozenset[str]:
    lists = (_list_of(car, kind) or () for kind in CodeKind)
    return frozenset(code for codes in lists for code in codes)


def _news(kind: CodeKind, before: CarFacts, after: CarFacts) -> CodeNews:
    first, second = _list_of(before, kind), _list_of(after, kind)
    if first is None or second is None:
        return CodeNews(kind=kind, compared=False, unjudged=second or ())
    was, now = dict.fromkeys(first), dict.fromkeys(second)
    return CodeNews(
        kind=kind,
        compared=True,
        new=tuple(code for code in now if code not in was),
        gone=tuple(code for code in was if code not in now),
        same=tuple(code for code in now if code in was),
    )


def _new_codes(codes: tuple[CodeNews, ...], before: CarFacts) -> tuple[str, ...]:
    known = _all_codes(before)
    listed = dict.fromkeys(code for news in codes for code in news.new)
    return tuple(code for code in listed if code not in known)
