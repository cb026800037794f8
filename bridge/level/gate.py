"""The gate: every condition of a good level, in one place.

GO only if no reason stands. A condition that is not known is a reason like one
that is not met. The published precedent for such a list is SAE J1939 SPN 3026
(transmission oil level measurement status).
"""

from __future__ import annotations

import math
from enum import StrEnum

from bridge.values.conditions import (
    Condition,
    ConditionName,
    ConditionState,
    Reason,
    TiltWorth,
    ToldBy,
    Verdict,
)
from bridge.values.frozen import frozen
from bridge.values.readings import LinkState
from bridge.values.sheet import Confirmation, EngineRule, LegEnd, Role, Sheet

INSIDE_CHANCE = 0.95
"""Least chance that the fluid itself, not only its reading, is inside the window."""
STANDING_KMH = 0.5
ENGINE_TURNS_RPM = 1.0
LEAST_V = 11.0
"""Below this, units and adapters reset by themselves (common practice, no source)."""


class ReadingState(StrEnum):
    """How the fluid's reading stands."""

    LIVE = "live"
    NO_SIGNAL = "no-signal"
    NONE = "none"
    STALE = "stale"
    REFUSED = "refused"
    IMPLAUSIBLE = "implausible"
    CLOCK = "clock"


_READING_REASONS: dict[ReadingState, Reason] = {
    ReadingState.NO_SIGNAL: Reason.NO_SIGNAL,
    ReadingState.NONE: Reason.NO_READING,
    ReadingState.STALE: Reason.READING_STALE,
    ReadingState.REFUSED: Reason.READING_REFUSED,
    ReadingState.IMPLAUSIBLE: Reason.READING_IMPLAUSIBLE,
    ReadingState.CLOCK: Reason.CLOCK_JUMPED,
}

_LINK_REASONS: dict[LinkState, Reason] = {
    LinkState.CONNECTING: Reason.CONNECTING,
    LinkState.SILENT: Reason.ADAPTER_SILENT,
    LinkState.LOST: Reason.LINK_LOST,
}


@frozen
class Facts:
    """What the gate decides on. None: not known, or too old to count."""

    link: LinkState
    reading: ReadingState
    raw_c: float | None = None
    """The last accepted reading itself."""
    temp_c: float | None = None
    inside_chance: float | None = None
    """Probability that the fluid is inside the window now."""
    waiting: bool = False
    """Whether too little was read so far, or since a change, for any decision."""
    stay_chance: float | None = None
    """Probability that it stays inside until the surplus has settled."""
    telling: bool = True
    """False: a low stay chance comes from knowing too little, not from the fluid."""
    too_late: bool = False
    """Whether a plug opened now would be called in before anything came of it."""
    engine_rpm: float | None = None
    speed_kmh: float | None = None
    engine_told: bool | None = None
    """The person's word that the engine is as the sheet wants; None: the car tells."""
    standing_told: bool | None = None
    """The person's word that the car stands; None: the car tells."""
    sensor_code: bool = False
    """Whether a trouble code stands against the fluid's temperature sensor."""
    doubts: tuple[Reason, ...] = ()
    """Why the sensor, or the signal it is read by, is not to be believed."""
    voltage_v: float | None = None
    selector: str | None = None
    """Where the car says the selector stands."""
    confirmed: tuple[str, ...] = ()
    """What the person has confirmed (Confirmation's words)."""
    tilt: TiltWorth | None = None
    air_c: float | None = None
    """The outside air, where the sheet's window hangs on it."""
    engine_for_s: float | None = None
    """For how long the engine has been as the sheet wants it; None: it is not."""


def judge(facts: Facts, sheet: Sheet) -> tuple[Condition, ...]:
    """Return every condition with its state and the reasons against it."""
    needless = needless_in(sheet)
    asked = (
        _link(facts),
        _reading(facts),
        _temperature(facts, sheet),
        _stays(facts, sheet),
        _engine(facts, sheet),
        _standing(facts),
        *_voltage(facts),
        *_by_the_person(facts, sheet),
        *_selector(facts, sheet),
        *_due(facts, sheet),
    )
    return tuple(
        Condition(name=c.name, state=ConditionState.NEEDLESS)
        if c.name in needless
        else c
        for c in asked
    )


def needless_in(sheet: Sheet) -> frozenset[ConditionName]:
    """Return the conditions that the sheet's present phase does not ask for.

    Where any temperature is right none need be read, and with the key out no unit of
    the car need answer either. Where nothing is opened nothing has to settle.
    """
    found = set()
    if sheet.ends is not LegEnd.LEVEL:
        found.add(ConditionName.STAYS)
    if sheet.window.any:
        found |= {
            ConditionName.READING,
            ConditionName.TEMPERATURE,
            ConditionName.STAYS,
        }
        if sheet.engine is EngineRule.KEY_OFF:
            found.add(ConditionName.LINK)
    return frozenset(found)


def verdict(conditions: tuple[Condition, ...]) -> tuple[Verdict, tuple[Reason, ...]]:
    """Return GO only if every condition is met and no reason stands."""
    reasons = tuple(dict.fromkeys(r for c in conditions for r in c.reasons))
    all_met = bool(conditions) and all(
        c.state in (ConditionState.MET, ConditionState.NEEDLESS) for c in conditions
    )
    return (Verdict.GO if all_met and not reasons else Verdict.NO_GO), reasons


def _met(name: ConditionName) -> Condition:
    return Condition(name=name, state=ConditionState.MET)


def _not_met(name: ConditionName, *reasons: Reason) -> Condition:
    return Condition(name=name, state=ConditionState.NOT_MET, reasons=reasons)


def _unknown(name: ConditionName, *reasons: Reason) -> Condition:
    """Not known; no reason of its own where another condition already says why."""
    return Condition(name=name, state=ConditionState.UNKNOWN, reasons=reasons)


def _link(facts: Facts) -> Condition:
    if facts.link is LinkState.LIVE:
        return _met(ConditionName.LINK)
    return _not_met(ConditionName.LINK, _LINK_REASONS[facts.link])


def _reading(facts: Facts) -> Condition:
    reasons = []
    if facts.reading is not ReadingState.LIVE:
        reasons.append(_READING_REASONS[facts.reading])
    if facts.sensor_code:
        reasons.append(Reason.SENSOR_CODE)
    reasons += facts.doubts
    return (
        _not_met(ConditionName.READING, *reasons)
        if reasons
        else _met(ConditionName.READING)
    )


def _temperature(facts: Facts, sheet: Sheet) -> Condition:
    name, window = ConditionName.TEMPERATURE, sheet.window
    values = (facts.temp_c, facts.raw_c, facts.inside_chance)
    temp_c, raw_c, inside = (
        v if v is not None and math.isfinite(v) else None for v in values
    )
    if sheet.wants_air:
        unknown = facts.air_c is None
        return _unknown(name, Reason.AIR_UNKNOWN if unknown else Reason.AIR_NOT_LISTED)
    if facts.reading is not ReadingState.LIVE or facts.link is not LinkState.LIVE:
        return _unknown(name)
    if temp_c is None or raw_c is None or inside is None:
        return _unknown(name, Reason.TEMPERATURE_UNCERTAIN)
    if temp_c < window.low_c:
        return _not_met(name, Reason.TOO_COLD)
    if temp_c > window.high_c:
        return _not_met(name, Reason.TOO_HOT)
    reading_inside = window.low_c <= raw_c <= window.high_c
    if not reading_inside or inside < INSIDE_CHANCE:
        return _not_met(name, Reason.AT_WINDOW_EDGE)
    if facts.waiting:
        return _unknown(name, Reason.TEMPERATURE_UNCERTAIN)
    return _met(name)


def _stays(facts: Facts, sheet: Sheet) -> Condition:
    chance, temp_c = facts.stay_chance, facts.temp_c
    if facts.reading is not ReadingState.LIVE or temp_c is None:
        return _unknown(ConditionName.STAYS)
    if not sheet.window.low_c <= temp_c <= sheet.window.high_c:
        return Condition(name=ConditionName.STAYS, state=ConditionState.NOT_MET)
    if chance is None or not math.isfinite(chance):
        return _unknown(ConditionName.STAYS, Reason.STAY_UNKNOWN)
    if chance < sheet.stay_chance:
        if not facts.telling:
            return _unknown(ConditionName.STAYS, Reason.STAY_UNKNOWN)
        return _short_stay(facts, chance, sheet)
    if facts.too_late:
        return _not_met(ConditionName.STAYS, Reason.CLOSING_NEAR)
    return _met(ConditionName.STAYS)


def _short_stay(facts: Facts, chance: float, sheet: Sheet) -> Condition:
    """Say why the chance of staying is low: the whole window, or only its near edge.

    The chance is of being inside now and all the while. While it is not sure that the
    fluid is inside at all, what counts is the chance once it is.
    """
    inside = facts.inside_chance or 0.0
    if inside <= 0.0 or chance / inside < sheet.stay_chance:
        return _not_met(ConditionName.STAYS, Reason.WINDOW_TOO_SHORT)
    if inside < INSIDE_CHANCE:  # the temperature's own condition says so
        return _not_met(ConditionName.STAYS)
    return _not_met(ConditionName.STAYS, Reason.AT_WINDOW_EDGE)


def _engine(facts: Facts, sheet: Sheet) -> Condition:
    rpm = facts.engine_rpm
    turns = rpm is not None and rpm >= ENGINE_TURNS_RPM
    if turns and sheet.engine is not EngineRule.IDLING:
        return _not_met(ConditionName.ENGINE, Reason.ENGINE_RUNNING)
    if facts.engine_told is not None:
        return _word(
            ConditionName.ENGINE, Reason.ENGINE_UNKNOWN, given=facts.engine_told
        )
    if facts.link is not LinkState.LIVE:
        return _unknown(ConditionName.ENGINE)
    if rpm is None or not math.isfinite(rpm):
        return _unknown(ConditionName.ENGINE, Reason.ENGINE_UNKNOWN)
    reason = _engine_reason(rpm, sheet)
    return (
        _not_met(ConditionName.ENGINE, reason) if reason else _met(ConditionName.ENGINE)
    )


def _engine_reason(rpm: float, sheet: Sheet) -> Reason | None:
    if sheet.engine is not EngineRule.IDLING:
        return None
    if rpm < ENGINE_TURNS_RPM:
        return Reason.ENGINE_STOPPED
    if rpm < sheet.idle_low_rpm:
        return Reason.ENGINE_TOO_SLOW
    return Reason.ENGINE_TOO_FAST if rpm > sheet.idle_high_rpm else None


def _standing(facts: Facts) -> Condition:
    speed = facts.speed_kmh
    if facts.standing_told is not None:
        return _word(
            ConditionName.STANDING, Reason.MOVEMENT_UNKNOWN, given=facts.standing_told
        )
    if facts.link is not LinkState.LIVE:
        return _unknown(ConditionName.STANDING)
    if speed is None or not math.isfinite(speed):
        return _unknown(ConditionName.STANDING, Reason.MOVEMENT_UNKNOWN)
    if abs(speed) >= STANDING_KMH:
        return _not_met(ConditionName.STANDING, Reason.VEHICLE_MOVING)
    return _met(ConditionName.STANDING)


def _voltage(facts: Facts) -> tuple[Condition, ...]:
    """A condition only where the car tells its voltage."""
    volts = facts.voltage_v
    if volts is None or not math.isfinite(volts):
        return ()
    if volts < LEAST_V:
        return (_not_met(ConditionName.VOLTAGE, Reason.VOLTAGE_LOW),)
    return (_met(ConditionName.VOLTAGE),)


def _by_the_person(facts: Facts, sheet: Sheet) -> tuple[Condition, ...]:
    """What the sheet wants confirmed, each as its own condition."""
    return tuple(
        _car_level(facts)
        if what == Confirmation.CAR_LEVEL
        else _confirmed(facts, what, *PERSONS[what])
        for what in sheet.confirmations
        if what != Confirmation.SELECTOR_POSITION
    )


PERSONS: dict[Confirmation, tuple[ConditionName, Reason]] = {
    Confirmation.CAUTIONS: (ConditionName.CAUTIONS, Reason.CAUTIONS_OPEN),
    Confirmation.CAR_LEVEL: (ConditionName.CAR_LEVEL, Reason.CAR_LEVEL_UNKNOWN),
    Confirmation.SELECTOR_EXERCISED: (ConditionName.EXERCISE, Reason.NOT_EXERCISED),
    Confirmation.SELECTOR_POSITION: (ConditionName.SELECTOR, Reason.SELECTOR_UNKNOWN),
    Confirmation.ENGINE: (ConditionName.ENGINE, Reason.ENGINE_UNKNOWN),
    Confirmation.STANDING: (ConditionName.STANDING, Reason.MOVEMENT_UNKNOWN),
    Confirmation.DRIVE_SAFE: (ConditionName.DRIVE, Reason.DRIVE_NOT_SAFE),
    Confirmation.BRAKE_HELD: (ConditionName.BRAKE, Reason.BRAKE_NOT_HELD),
    Confirmation.FIGURES: (ConditionName.FIGURES, Reason.FIGURES_UNCHECKED),
}


def _word(name: ConditionName, reason: Reason, *, given: bool) -> Condition:
    """What the person confirms where the car does not tell."""
    return Condition(
        name=name,
        state=ConditionState.MET if given else ConditionState.UNKNOWN,
        reasons=() if given else (reason,),
        by=ToldBy.PERSON,
    )


def _confirmed(
    facts: Facts, what: str, name: ConditionName, reason: Reason
) -> Condition:
    if what in facts.confirmed:
        return Condition(name=name, state=ConditionState.MET, by=ToldBy.PERSON)
    return Condition(
        name=name,
        state=ConditionState.UNKNOWN,
        reasons=(reason,),
        by=ToldBy.PERSON,
    )


def _car_level(facts: Facts) -> Condition:
    """Level by the angles typed in, where the sheet has a limit; else by word."""
    tilt = facts.tilt
    if tilt is None or tilt.inside_limit is None:
        return _confirmed(
            facts, Confirmation.CAR_LEVEL, *PERSONS[Confirmation.CAR_LEVEL]
        )
    return Condition(
        name=ConditionName.CAR_LEVEL,
        state=ConditionState.MET if tilt.inside_limit else ConditionState.NOT_MET,
        reasons=() if tilt.inside_limit else (Reason.CAR_NOT_LEVEL,),
        by=ToldBy.PERSON,
    )


def _selector(facts: Facts, sheet: Sheet) -> tuple[Condition, ...]:
    """The selector's place: by the car where it tells, else by the person's word."""
    asked = Confirmation.SELECTOR_POSITION in sheet.confirm
    readable = sheet.signal(Role.SELECTOR) is not None
    if not sheet.selector_position and not asked:
        return ()
    if not (sheet.selector_position and readable):
        what = Confirmation.SELECTOR_POSITION
        return (_confirmed(facts, what, *PERSONS[what]),)
    if facts.selector is None or facts.link is not LinkState.LIVE:
        return (_unknown(ConditionName.SELECTOR, Reason.SELECTOR_UNKNOWN),)
    if facts.selector != sheet.selector_position:
        return (_not_met(ConditionName.SELECTOR, Reason.SELECTOR_WRONG),)
    return (_met(ConditionName.SELECTOR),)


def _due(facts: Facts, sheet: Sheet) -> tuple[Condition, ...]:
    """A condition only where the sheet has a wait, or this phase sets no level.

    In a phase that sets none nothing may ever say GO.
    """
    if sheet.ends is LegEnd.LEVEL and sheet.wait_s <= 0.0:
        return ()
    reasons = []
    if (facts.engine_for_s or 0.0) < sheet.wait_s:
        reasons.append(Reason.WAIT_NOT_OVER)
    if sheet.ends is not LegEnd.LEVEL:
        reasons.append(Reason.LEVEL_COMES_LATER)
    name = ConditionName.DUE
    return (_not_met(name, *reasons) if reasons else _met(name),)
