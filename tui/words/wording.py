"""The plain-English wording of every state the monitor can be in. Pure.

One place for all words that stand for a value of bridge.values, so that a
screen, a page and a log say the same thing. Nothing here raises, whatever the
snapshot holds.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, assert_never

from bridge.level.settling.outflow import settle_told
from bridge.snapshot import Snapshot
from bridge.units.kinds import MILE_KM
from bridge.values.conditions import (
    ConditionName,
    ConditionState,
    Reason,
    TiltWorth,
)
from bridge.values.outlook import Trend
from bridge.values.readings import LinkState
from bridge.values.sheet import EngineRule, LevelMethod
from tui.words import figures
from tui.words.sensor_words import SENSOR_REASONS, SensorSaid

if TYPE_CHECKING:
    from bridge.values.sheet import Sheet
    from tui.words.figures import TemperatureUnit


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
        remedy="Keep the plug in: set now, the level would be too high.",
    ),
    Reason.TOO_HOT: SensorSaid(
        what="Too hot: {temp}, the window ends at {high}",
        remedy="Keep the plug in: set now, the level would be too low.",
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
        what="The car is tilted more than the sheet allows: {lean}",
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
}
"""The wording of each reason; the words in braces come from the snapshot."""
_NOT_TYPED = SensorSaid(
    what="No thermometer reading has been typed yet",
    remedy="Measure the fluid and type it (key t).",
)


def reason(
    which: Reason, snapshot: Snapshot, sheet: Sheet, unit: TemperatureUnit
) -> SensorSaid:
    """Word one reason with the figures it speaks of."""
    blanks = {
        "temp": figures.temperature(snapshot.temp_c, unit),
        "low": window_edge(sheet.window.low_c, unit),
        "high": window_edge(sheet.window.high_c, unit),
        "settle": settle_time(sheet),
        "engine": engine_rule(sheet.engine),
        "rpm": engine_speed(snapshot.engine_rpm),
        "idle": idle_range(sheet),
        "speed": car_speed(snapshot.speed_kmh, unit),
        "volts": voltage(snapshot.voltage_v),
        "lean": lean(snapshot.lean, unit),
        "selector": figures.clean(snapshot.selector or "") or figures.UNKNOWN,
        "position": _position(sheet),
    }
    said = REASONS[which]
    if which is Reason.NO_READING and snapshot.hand and snapshot.hand.thermometer.alone:
        said = _NOT_TYPED
    return SensorSaid(
        what=said.what.format(**blanks).replace(f"{figures.UNKNOWN}, ", ""),
        remedy=said.remedy.format(**blanks),
    )


_CONDITIONS: dict[ConditionName, str] = {
    ConditionName.LINK: "Link to the car",
    ConditionName.READING: "Reading live",
    ConditionName.TEMPERATURE: "Fluid in window",
    ConditionName.STAYS: "Stays in window",
    ConditionName.ENGINE: "Engine {engine}",
    ConditionName.STANDING: "Car stationary",
    ConditionName.VOLTAGE: "Battery",
    ConditionName.CAUTIONS: "Cautions read",
    ConditionName.FIGURES: "Figures checked",
    ConditionName.CAR_LEVEL: "Car level",
    ConditionName.EXERCISE: "Selector cycled",
    ConditionName.SELECTOR: "Selector{place}",
}


def condition_name(name: ConditionName, sheet: Sheet) -> str:
    """Name one condition of a good level, in 15 characters at most."""
    given = figures.clean(sheet.selector_position, 3)
    place = f" in {given}" if given else ""
    return _CONDITIONS[name].format(engine=engine_rule(sheet.engine), place=place)


def lean(told: TiltWorth | None, unit: TemperatureUnit) -> str:
    """Word the car's tilt and what it is worth at the level opening."""
    if told is None:
        return "not measured"
    angles = f"{told.lengthways_deg:+.1f}° lengthways, {told.across_deg:+.1f}° across"
    worth = figures.height(told.error_mm, unit)
    if told.error_ml is not None:
        worth += f", {figures.amount(told.error_ml, unit, signed=True)}"
    return f"{angles} ({worth})"


def _position(sheet: Sheet) -> str:
    place = figures.clean(sheet.selector_position)
    return f" {place}" if place else ""


def condition_state(state: ConditionState) -> str:
    """Say how a condition stands."""
    match state:
        case ConditionState.MET:
            return "OK"
        case ConditionState.NOT_MET:
            return "not OK"
        case ConditionState.UNKNOWN:
            return "not known"
        case _:
            assert_never(state)


def link_state(state: LinkState) -> str:
    """Say how the link stands."""
    match state:
        case LinkState.CONNECTING:
            return "connecting"
        case LinkState.LIVE:
            return "live"
        case LinkState.SILENT:
            return "no answer"
        case LinkState.LOST:
            return "lost, trying again"
        case _:
            assert_never(state)


def trend(which: Trend, rate_c_per_s: float | None, unit: TemperatureUnit) -> str:
    """Say where the temperature is going, with its rate where that is known."""
    per_minute = figures.rate(rate_c_per_s, unit)
    match which:
        case Trend.WARMING:
            return f"warming {per_minute}".rstrip()
        case Trend.COOLING:
            return f"cooling {per_minute}".rstrip()
        case Trend.STEADY:
            return "steady"
        case Trend.UNKNOWN:
            return "trend not known"
        case _:
            assert_never(which)


def engine_rule(rule: EngineRule) -> str:
    """Say what the sheet wants of the engine."""
    match rule:
        case EngineRule.IDLING:
            return "idling"
        case EngineRule.OFF:
            return "off"
        case _:
            assert_never(rule)


def level_step(method: LevelMethod) -> str:
    """Say what is done while GO shows."""
    match method:
        case LevelMethod.OVERFLOW_TUBE:
            return "open the plug, close it when the stream breaks into drips"
        case LevelMethod.LEVEL_PLUG:
            return "open the level plug, close it when the stream breaks into drips"
        case LevelMethod.STICK:
            return "read the stick now"
        case LevelMethod.MEASURED_REFILL:
            return "fill in what came out"
        case _:
            assert_never(method)


def window_edge(temp_c: float, unit: TemperatureUnit) -> str:
    """Write one edge of the window with its unit."""
    return f"{figures.edge(temp_c, unit)} °{unit}"


def window(sheet: Sheet, unit: TemperatureUnit) -> str:
    """Write the window: '42–52 °C', 'from 35 °C', 'up to 50 °C'."""
    ends = sheet.window
    if ends.below_open and ends.above_open:
        return "any temperature"
    low = figures.edge(ends.low_c, unit)
    high = figures.edge(ends.high_c, unit)
    if not ends.closed:
        return f"up to {high} °{unit}" if ends.below_open else f"from {low} °{unit}"
    return (
        f"{low}–{high} °{unit}"
        if "−" not in low + high
        else (f"{low} to {high} °{unit}")
    )


def settle_time(sheet: Sheet) -> str:
    """Write the sheet's settle time, or what is reckoned where it states none."""
    value = figures.known(settle_told(sheet).time_s, 0.0)
    if value is None:
        return figures.UNKNOWN
    return figures.spoken_time(value).replace(" min 00 s", " min")


def idle_range(sheet: Sheet) -> str:
    """Write the range of engine speeds the sheet calls idling."""
    low = figures.quantity(sheet.idle_low_rpm, "", 0, 20_000).strip()
    high = figures.quantity(sheet.idle_high_rpm, "", 0, 20_000).strip()
    return f"{low}–{high} rpm"


def engine_speed(rpm: float | None) -> str:
    """Write an engine speed."""
    return figures.quantity(rpm, "rpm", 0, 20_000)


def car_speed(kmh: float | None, unit: TemperatureUnit) -> str:
    """Write the car's speed: km/h, or mph beside degrees Fahrenheit."""
    if unit == "C" or figures.known(kmh, 0, 500) is None:
        return figures.quantity(kmh, "km/h", 0, 500)
    return figures.quantity((kmh or 0.0) / MILE_KM, "mph", 0, 500)


def voltage(volts: float | None) -> str:
    """Write the supply voltage."""
    return figures.quantity(volts, "V", 0, 100, 1)
