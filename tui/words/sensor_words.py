"""What is said against the fluid's sensor, and what the person can do. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from bridge.values.conditions import Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorSaid:
    """What stands against a GO, and what the person can do about it."""

    what: str
    remedy: str


SENSOR_REASONS: dict[Reason, SensorSaid] = {
    Reason.SENSOR_CODE: SensorSaid(
        what="The car holds a trouble code against its fluid sensor",
        remedy="P0710 to P0713: repair the sensor before you trust the reading.",
    ),
    Reason.SIGNAL_UNCONFIRMED: SensorSaid(
        what="The signal was found by search and is not confirmed yet",
        remedy="Compare with a thermometer: sumpgate find --confirm SHEET.",
    ),
    Reason.SENSOR_OFFSET: SensorSaid(
        what="After a cold soak fluid, coolant and air do not agree",
        remedy="Sensor or sheet is wrong. Poured fluid in? Press 7 to say so.",
    ),
    Reason.SENSOR_STUCK: SensorSaid(
        what="The fluid sensor has not moved since it was first read",
        remedy="It is stuck, or the sheet reads something else.",
    ),
    Reason.SENSOR_STOPPED: SensorSaid(
        what="The fluid temperature stopped dead; fluid would have moved on",
        remedy="It clears once the value moves. If not: use a thermometer (key t).",
    ),
    Reason.SENSOR_JUMPED: SensorSaid(
        what="The fluid temperature jumped further than fluid can",
        remedy="Check it with a thermometer (t). Poured fluid in? Press 7 to say so.",
    ),
    Reason.SENSOR_IS_COOLANT: SensorSaid(
        what="What is read as fluid follows the engine's coolant",
        remedy="The sheet reads the coolant: find the fluid's own signal.",
    ),
    Reason.SENSOR_BELOW_AIR: SensorSaid(
        what="The fluid reads colder than the air and the coolant",
        remedy="Nothing cools it so far: sensor or scaling is wrong.",
    ),
}
