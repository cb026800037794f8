"""The plain-English wording of every state the monitor can be in. Pure.

One place for all words that stand for a value of bridge.values, so that a
screen, a page and a log say the same thing. Nothing here raises, whatever the
snapshot holds.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, assert_never

from bridge.level.settling.outflow import settle_of
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
from bridge.values.sheet import EngineRule, LegEnd, LevelMethod
from tui.words import figures
from tui.words.reason_words import REASONS, SensorSaid

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bridge.level.step.step_values import Step
    from bridge.values.sheet import Sheet
    from tui.words.figures import TemperatureUnit


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
        "tilt": tilt(snapshot.tilt, unit),
        "selector": figures.clean(snapshot.selector or "") or figures.UNKNOWN,
        "position": _position(sheet),
        "safe": _SAFE[sheet.engine is EngineRule.IDLING],
        "air": figures.temperature(_air_c(snapshot), unit, 0),
        "wait": _wait(snapshot.wait_left_s),
    }
    said = REASONS[which]
    status = snapshot.thermometer_status
    if which is Reason.NO_READING and status and status.thermometer.alone:
        said = _NOT_TYPED
    return SensorSaid(
        what=said.what.format(**blanks).replace(f"{figures.UNKNOWN}, ", ""),
        remedy=said.remedy.format(**blanks),
    )


_SAFE = {
    True: "Held running by the maker's service mode",
    False: "Ready mode off, key away from the car",
}
"""By whether the engine idles: what keeps it from starting or stopping by itself."""


def _air_c(snapshot: Snapshot) -> float | None:
    air_c = snapshot.step.air_c if snapshot.step else None
    return snapshot.ambient_c if air_c is None else air_c


def _wait(left_s: float | None) -> str:
    """Say how much of the sheet's wait is left."""
    if figures.known(left_s, 0.0) is None:
        return "the engine is not as it wants it yet"
    return f"{figures.spoken_time(max(1.0, left_s or 0.0))} to go"


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
    ConditionName.DRIVE: "Drive made safe",
    ConditionName.BRAKE: "Brake held",
    ConditionName.DUE: "Level due",
}


def condition_name(name: ConditionName, sheet: Sheet) -> str:
    """Name one condition of a good level, in 15 characters at most."""
    given = figures.clean(sheet.selector_position, 3)
    place = f" in {given}" if given else ""
    engine = engine_rule(sheet.engine).removeprefix("off, ")
    return _CONDITIONS[name].format(engine=engine, place=place)


def tilt(found: TiltWorth | None, unit: TemperatureUnit) -> str:
    """Word the car's tilt and what it is worth at the level opening."""
    if found is None:
        return "not measured"
    angles = f"{found.lengthways_deg:+.1f}° lengthways, {found.across_deg:+.1f}° across"
    worth = figures.height(found.error_mm, unit)
    if found.error_ml is not None:
        worth += f", {figures.amount(found.error_ml, unit, signed=True)}"
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
        case ConditionState.NEEDLESS:
            return "not asked"
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
        case EngineRule.KEY_OFF:
            return "key out"
        case EngineRule.PUMP:
            return "off, pump on"
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
    if sheet.wants_air:
        return "by the air, not known yet"
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


def heading(sheet: Sheet, step: Step | None, unit: TemperatureUnit) -> tuple[str, ...]:
    """Write phase, window and gearbox for the first line of the screen.

    The fullest first, then ever shorter ones: words of the gearbox go, then words of
    the phase; the window stays.
    """
    before = "" if sheet.window.any else "window "
    where = f"{before}{window(sheet, unit)}"
    full = f"{phase}: {where}" if (phase := leg(sheet, step)) else where
    texts = [f"{full}, {name}" for name in _by_words(figures.clean(sheet.name))]
    texts += [f"{name}: {where}" for name in _by_words(phase)]
    return (*texts, where)


def _by_words(text: str) -> Iterator[str]:
    """Yield a text with ever fewer of its words, all of them first."""
    words = text.split()
    for many in range(len(words), 0, -1):
        left = " ".join(words[:many])
        yield left if many == len(words) else f"{left.rstrip(',:')}…"


def leg(sheet: Sheet, step: Step | None) -> str:
    """Name the present phase of a level that is set in several; '': in one."""
    if step is None or not sheet.legs:
        return ""
    name = figures.clean(sheet.legs[step.leg].name)
    return f"phase {step.leg + 1} of {step.legs}, {name}"


LEG_ENDS = {
    LegEnd.LEVEL: "sets the level",
    LegEnd.TOLD: "ends when you say so",
    LegEnd.WARM: "ends when the fluid is inside its window",
}


def settle_time(sheet: Sheet) -> str:
    """Write the sheet's settle time, or what is reckoned where it states none."""
    value = figures.known(settle_of(sheet).time_s, 0.0)
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
