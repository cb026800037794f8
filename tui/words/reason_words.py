"""Each reason against GO: what is wrong and what to do. Pure."""

from __future__ import annotations

from bridge.values.conditions import Reason
from bridge.values.frozen import frozen


@frozen
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
REASONS: dict[Reason, SensorSaid] = {
    Reason.CONNECTING: SensorSaid(
        what="Connecting to the car",
        remedy="Ignition on, adapter plugged in; this takes a few seconds.",
    ),
    Reason.LINK_LOST: SensorSaid(
        what="Connection to the adapter lost",
        remedy="Check plug, cable and ignition; it reconnects by itself.",
    ),
    Reason.ADAPTER_SILENT: SensorSaid(
        what="The adapter or the car does not answer",
        remedy="Is the ignition on? Unplug the adapter and plug it in again.",
    ),
    Reason.NO_SIGNAL: SensorSaid(
        what="This sheet does not say where the fluid temperature is read",
        remedy="Choose a sheet with a fluid-temperature signal.",
    ),
    Reason.NO_READING: SensorSaid(
        what="No fluid temperature from the car yet",
        remedy="If that does not change, the sheet may not fit this car.",
    ),
    Reason.READING_STALE: SensorSaid(
        what="The last fluid temperature is too old to trust",
        remedy="Wait for the next reading; check the plug if none comes.",
    ),
    Reason.READING_REFUSED: SensorSaid(
        what="The gearbox unit refuses to give the fluid temperature",
        remedy="Ignition on? If so, the sheet does not fit this car.",
    ),
    Reason.READING_IMPLAUSIBLE: SensorSaid(
        what="The fluid temperature read is not plausible",
        remedy="Wait for good readings; if none come, sheet or sensor is wrong.",
    ),
    **SENSOR_REASONS,
    Reason.SOURCES_DISAGREE: SensorSaid(
        what="Thermometer and fluid sensor disagree",
        remedy="Measure again (key t). On a shiny pan infrared reads low.",
    ),
    Reason.CLOCK_JUMPED: SensorSaid(
        what="The computer was asleep: every reading is old",
        remedy="Wait for new readings, and keep the computer awake.",
    ),
    Reason.TEMPERATURE_UNCERTAIN: SensorSaid(
        what="The temperature is not yet known well enough",
        remedy="Wait: it takes a few steady readings.",
    ),
    Reason.TOO_COLD: SensorSaid(
        what="Too cold: {temp}, the window opens at {low}",
        remedy="Wait: set now, the level would come out too high.",
    ),
    Reason.TOO_HOT: SensorSaid(
        what="Too hot: {temp}, the window ends at {high}",
        remedy="Wait: set now, the level would come out too low.",
    ),
    Reason.AT_WINDOW_EDGE: SensorSaid(
        what="Too near the edge of the window to be sure ({temp})",
        remedy="Wait until the fluid is clearly inside the window.",
    ),
    Reason.STAY_UNKNOWN: SensorSaid(
        what="Not known if the fluid will stay in the window long enough",
        remedy="The level takes {settle} to settle; wait for the forecast.",
    ),
    Reason.WINDOW_TOO_SHORT: SensorSaid(
        what="Too little time left in the window for the level to settle",
        remedy="It takes {settle}. Do not start now; let the fluid come back.",
    ),
    Reason.CLOSING_NEAR: SensorSaid(
        what="Too late to open: the temperature to close at is here or near",
        remedy="It would have to be closed at once. Let the fluid come back first.",
    ),
    Reason.ENGINE_UNKNOWN: SensorSaid(
        what="The engine speed is not known",
        remedy="The sheet wants it {engine}; without an adapter press 5.",
    ),
    Reason.ENGINE_STOPPED: SensorSaid(
        what="The engine is stopped, the sheet wants it idling",
        remedy="Start the engine and let it idle, with the exhaust led outside.",
    ),
    Reason.ENGINE_TOO_SLOW: SensorSaid(
        what="The engine is too slow: {rpm}, idle is {idle}",
        remedy="Wait until it idles steadily.",
    ),
    Reason.ENGINE_TOO_FAST: SensorSaid(
        what="The engine is too fast: {rpm}, idle is {idle}",
        remedy="Foot off the pedal, or wait until it idles steadily.",
    ),
    Reason.ENGINE_RUNNING: SensorSaid(
        what="The engine is running ({rpm}), the sheet wants it off",
        remedy="Switch the engine off.",
    ),
    Reason.VOLTAGE_LOW: SensorSaid(
        what="The car's battery voltage is low: {volts}",
        remedy="Control units may reset: charge or support the battery first.",
    ),
    Reason.CAUTIONS_OPEN: SensorSaid(
        what="The cautions are not confirmed",
        remedy="Read them (key ?), then press 1.",
    ),
    Reason.FIGURES_UNCHECKED: SensorSaid(
        what="This sheet is a draft: nobody has checked its figures",
        remedy="Hold window and torques against the manual, then press 8.",
    ),
    Reason.CAR_LEVEL_UNKNOWN: SensorSaid(
        what="Whether the car is level is not confirmed",
        remedy="Measure it: press l and type the two angles, or press 2.",
    ),
    Reason.CAR_NOT_LEVEL: SensorSaid(
        what="The car is tilted more than the sheet allows: {tilt}",
        remedy="Level it again, then press l and type the angles.",
    ),
    Reason.NOT_EXERCISED: SensorSaid(
        what="The selector has not been cycled through its positions",
        remedy="Do it as the maker says, foot on the brake, then press 3.",
    ),
    Reason.SELECTOR_UNKNOWN: SensorSaid(
        what="The selector position is not known",
        remedy="Put it where the sheet says{position}, then press 4.",
    ),
    Reason.SELECTOR_WRONG: SensorSaid(
        what="The selector is in {selector}, the sheet wants{position}",
        remedy="Foot on the brake, move the selector.",
    ),
    Reason.MOVEMENT_UNKNOWN: SensorSaid(
        what="Whether the car is stationary is not known",
        remedy="The car does not report its speed; without an adapter press 6.",
    ),
    Reason.VEHICLE_MOVING: SensorSaid(
        what="The car is moving: {speed}",
        remedy="Stop, brake on, wheels chocked.",
    ),
    Reason.DRIVE_NOT_SAFE: SensorSaid(
        what="Nobody has said that the car cannot start or move by itself",
        remedy="{safe}; then press 9 and type who saw to it.",
    ),
    Reason.BRAKE_NOT_HELD: SensorSaid(
        what="The car stands in gear and nobody is named at the brake",
        remedy="Press 0 and type who sits at the brake, and who lies under.",
    ),
    Reason.WAIT_NOT_OVER: SensorSaid(
        what="The sheet's wait is not over: {wait}",
        remedy="Leave the engine {engine}; the call comes by itself.",
    ),
    Reason.AIR_UNKNOWN: SensorSaid(
        what="The window hangs on the outside air, which is not known",
        remedy="Hang a thermometer in the shade, then press i and type it.",
    ),
    Reason.AIR_NOT_LISTED: SensorSaid(
        what="The sheet has no window for air of {air}",
        remedy="Go by the maker's document. Wrong? Press i and type the air.",
    ),
    Reason.LEVEL_COMES_LATER: SensorSaid(
        what="No level is set in this phase: leave every plug in",
        remedy="When its work is done, say so (key x).",
    ),
}
"""The wording of each reason; the words in braces come from the snapshot."""
