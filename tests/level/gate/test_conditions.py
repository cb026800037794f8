"""Each condition by itself: at its line of the list, with its state, at its limits."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from bridge.level.gate import PERSONS, Facts, ReadingState, judge, needless_in, verdict
from bridge.values.conditions import (
    Condition,
    ConditionName,
    ConditionState,
    Reason,
    ToldBy,
    Verdict,
)
from bridge.values.readings import LinkState
from bridge.values.sheet import (
    NO_WINDOW,
    OPEN_C,
    AirWindow,
    Confirmation,
    EngineRule,
    LegEnd,
    Sheet,
    Window,
)
from tests.level.test_gate import ANSWERED, ASKING, GOOD, IDLING, OFF, one

MET, NOT_MET = ConditionState.MET, ConditionState.NOT_MET
UNKNOWN, NEEDLESS = ConditionState.UNKNOWN, ConditionState.NEEDLESS
ANY = Window(low_c=-OPEN_C, high_c=OPEN_C)
"""Where every temperature is right."""
LOST = {"link": LinkState.LOST}
STALE = {"reading": ReadingState.STALE}


@pytest.mark.parametrize(
    ("name", "change", "state", "reasons"),
    [
        (ConditionName.LINK, {}, MET, ()),
        (ConditionName.LINK, LOST, NOT_MET, (Reason.LINK_LOST,)),
        (
            ConditionName.LINK,
            {"link": LinkState.CONNECTING},
            NOT_MET,
            (Reason.CONNECTING,),
        ),
        (ConditionName.READING, {}, MET, ()),
        (ConditionName.READING, STALE, NOT_MET, (Reason.READING_STALE,)),
        (
            ConditionName.READING,
            {"sensor_code": True, "doubts": (Reason.SENSOR_STUCK,)},
            NOT_MET,
            (Reason.SENSOR_CODE, Reason.SENSOR_STUCK),
        ),
        (ConditionName.TEMPERATURE, {}, MET, ()),
        (ConditionName.TEMPERATURE, STALE, UNKNOWN, ()),
        (ConditionName.TEMPERATURE, LOST, UNKNOWN, ()),
        (
            ConditionName.TEMPERATURE,
            {"temp_c": None},
            UNKNOWN,
            (Reason.TEMPERATURE_UNCERTAIN,),
        ),
        (
            ConditionName.TEMPERATURE,
            {"waiting": True},
            UNKNOWN,
            (Reason.TEMPERATURE_UNCERTAIN,),
        ),
        (ConditionName.TEMPERATURE, {"temp_c": 35.0}, MET, ()),
        (ConditionName.TEMPERATURE, {"temp_c": 45.0}, MET, ()),
        (ConditionName.TEMPERATURE, {"raw_c": 35.0}, MET, ()),
        (ConditionName.TEMPERATURE, {"raw_c": 45.0}, MET, ()),
        (ConditionName.TEMPERATURE, {"temp_c": 34.9}, NOT_MET, (Reason.TOO_COLD,)),
        (ConditionName.TEMPERATURE, {"temp_c": 45.1}, NOT_MET, (Reason.TOO_HOT,)),
        (ConditionName.TEMPERATURE, {"inside_chance": 0.95}, MET, ()),
        (
            ConditionName.TEMPERATURE,
            {"inside_chance": 0.949},
            NOT_MET,
            (Reason.AT_WINDOW_EDGE,),
        ),
        (
            ConditionName.TEMPERATURE,
            {"raw_c": 45.1},
            NOT_MET,
            (Reason.AT_WINDOW_EDGE,),
        ),
        (ConditionName.STAYS, {}, MET, ()),
        (ConditionName.STAYS, {"stay_chance": 0.9}, MET, ()),
        (ConditionName.STAYS, {"temp_c": 35.0}, MET, ()),
        (ConditionName.STAYS, {"temp_c": 45.0}, MET, ()),
        # outside, the temperature's own condition says why
        (ConditionName.STAYS, {"temp_c": 34.9}, NOT_MET, ()),
        (ConditionName.STAYS, {"temp_c": 45.1}, NOT_MET, ()),
        (ConditionName.STAYS, STALE, UNKNOWN, ()),
        (ConditionName.STAYS, {"temp_c": None}, UNKNOWN, ()),
        (ConditionName.STAYS, {"stay_chance": None}, UNKNOWN, (Reason.STAY_UNKNOWN,)),
        (
            ConditionName.STAYS,
            {"stay_chance": 0.89, "telling": False},
            UNKNOWN,
            (Reason.STAY_UNKNOWN,),
        ),
        (ConditionName.STAYS, {"too_late": True}, NOT_MET, (Reason.CLOSING_NEAR,)),
        # 0.45 of 0.5: once inside it stays with the sheet's 0.9
        (ConditionName.STAYS, {"inside_chance": 0.5, "stay_chance": 0.45}, NOT_MET, ()),
        (
            ConditionName.STAYS,
            {"inside_chance": 0.95, "stay_chance": 0.89},
            NOT_MET,
            (Reason.AT_WINDOW_EDGE,),
        ),
        *(
            (
                ConditionName.STAYS,
                {"inside_chance": inside, "stay_chance": 0.4},
                NOT_MET,
                (Reason.WINDOW_TOO_SHORT,),
            )
            for inside in (0.5, 0.0, None)
        ),
        (ConditionName.ENGINE, {}, MET, ()),
        (ConditionName.ENGINE, {"engine_rpm": IDLING.idle_low_rpm}, MET, ()),
        (ConditionName.ENGINE, {"engine_rpm": IDLING.idle_high_rpm}, MET, ()),
        (
            ConditionName.ENGINE,
            {"engine_rpm": IDLING.idle_low_rpm - 1.0},
            NOT_MET,
            (Reason.ENGINE_TOO_SLOW,),
        ),
        (
            ConditionName.ENGINE,
            {"engine_rpm": IDLING.idle_high_rpm + 1.0},
            NOT_MET,
            (Reason.ENGINE_TOO_FAST,),
        ),
        (ConditionName.ENGINE, LOST, UNKNOWN, ()),
        (ConditionName.ENGINE, {"engine_rpm": None}, UNKNOWN, (Reason.ENGINE_UNKNOWN,)),
        (ConditionName.STANDING, {}, MET, ()),
        (ConditionName.STANDING, LOST, UNKNOWN, ()),
        (ConditionName.STANDING, {"speed_kmh": 0.49}, MET, ()),
        (
            ConditionName.STANDING,
            {"speed_kmh": 0.5},
            NOT_MET,
            (Reason.VEHICLE_MOVING,),
        ),
        (
            ConditionName.STANDING,
            {"speed_kmh": None},
            UNKNOWN,
            (Reason.MOVEMENT_UNKNOWN,),
        ),
        (
            ConditionName.STANDING,
            {"speed_kmh": math.nan},
            UNKNOWN,
            (Reason.MOVEMENT_UNKNOWN,),
        ),
        (ConditionName.VOLTAGE, {"voltage_v": 11.0}, MET, ()),
        (
            ConditionName.VOLTAGE,
            {"voltage_v": 10.99},
            NOT_MET,
            (Reason.VOLTAGE_LOW,),
        ),
    ],
)
def test_each_condition_stands_at_its_own_line(
    name: ConditionName,
    change: dict[str, object],
    state: ConditionState,
    reasons: tuple[Reason, ...],
) -> None:
    facts = replace(GOOD, **change)  # type: ignore[arg-type]
    told = Condition(name=name, state=state, reasons=reasons)
    assert one(facts, name) == told


def names(facts: Facts, sheet: Sheet) -> set[ConditionName]:
    return {c.name for c in judge(facts, sheet)}


@pytest.mark.parametrize("volts", [None, math.nan, math.inf])
def test_a_car_that_does_not_tell_its_voltage_is_not_asked_for_it(volts) -> None:
    assert ConditionName.VOLTAGE not in names(replace(GOOD, voltage_v=volts), IDLING)


@pytest.mark.parametrize(
    ("rpm", "told", "state", "reasons", "by"),
    [
        (0.0, None, MET, (), ToldBy.CAR),
        (700.0, None, NOT_MET, (Reason.ENGINE_RUNNING,), ToldBy.CAR),
        # a car that says it runs is believed against the person
        (700.0, True, NOT_MET, (Reason.ENGINE_RUNNING,), ToldBy.CAR),
        (None, True, MET, (), ToldBy.PERSON),
    ],
)
def test_an_engine_to_be_off(rpm, told, state, reasons, by) -> None:
    facts = replace(GOOD, engine_rpm=rpm, engine_told=told)
    assert one(facts, ConditionName.ENGINE, OFF) == Condition(
        name=ConditionName.ENGINE, state=state, reasons=reasons, by=by
    )


@pytest.mark.parametrize(
    ("change", "state", "reasons"),
    [
        ({}, MET, ()),
        ({"selector": "D"}, NOT_MET, (Reason.SELECTOR_WRONG,)),
        ({"selector": None}, UNKNOWN, (Reason.SELECTOR_UNKNOWN,)),
        (LOST, UNKNOWN, (Reason.SELECTOR_UNKNOWN,)),
    ],
)
def test_the_selector_by_the_car(change, state, reasons) -> None:
    facts = replace(ANSWERED, **change)
    assert one(facts, ConditionName.SELECTOR, ASKING) == Condition(
        name=ConditionName.SELECTOR, state=state, reasons=reasons
    )


def test_the_selector_by_word_where_the_sheet_only_asks_for_it() -> None:
    asked = replace(
        IDLING, confirm=(Confirmation.SELECTOR_POSITION,), selector_position=""
    )
    readable = replace(asked, signals=ASKING.signals)
    for sheet in (asked, readable):
        assert one(GOOD, ConditionName.SELECTOR, sheet) == Condition(
            name=ConditionName.SELECTOR,
            state=UNKNOWN,
            reasons=(Reason.SELECTOR_UNKNOWN,),
            by=ToldBy.PERSON,
        )
    assert ConditionName.SELECTOR not in names(GOOD, IDLING)


@pytest.mark.parametrize(
    "what", [c for c in PERSONS if c is not Confirmation.SELECTOR_POSITION]
)
def test_what_the_person_confirms_is_theirs_and_has_one_line(what) -> None:
    name, reason = PERSONS[what]
    sheet = replace(IDLING, confirm=(what,))
    facts = replace(GOOD, engine_told=False, standing_told=False)
    before = [c for c in judge(facts, sheet) if c.name is name]
    assert before[-1] == Condition(
        name=name, state=UNKNOWN, reasons=(reason,), by=ToldBy.PERSON
    )
    after = judge(replace(facts, confirmed=(what,)), sheet)
    assert Condition(name=name, state=MET, by=ToldBy.PERSON) in after


WAITS = replace(OFF, wait_s=120.0)
STOPPED = replace(GOOD, engine_rpm=0.0)


@pytest.mark.parametrize(
    ("sheet", "stood_s", "state", "reasons"),
    [
        (WAITS, None, NOT_MET, (Reason.WAIT_NOT_OVER,)),
        (WAITS, 119.9, NOT_MET, (Reason.WAIT_NOT_OVER,)),
        (WAITS, 120.0, MET, ()),
        (replace(WAITS, wait_s=0.5), None, NOT_MET, (Reason.WAIT_NOT_OVER,)),
        # a phase that sets no level never says GO
        (replace(OFF, ends=LegEnd.TOLD), 0.0, NOT_MET, (Reason.LEVEL_COMES_LATER,)),
        (
            replace(WAITS, ends=LegEnd.TOLD),
            1.0,
            NOT_MET,
            (Reason.WAIT_NOT_OVER, Reason.LEVEL_COMES_LATER),
        ),
    ],
)
def test_a_wait_and_a_phase_without_a_level(sheet, stood_s, state, reasons) -> None:
    facts = replace(STOPPED, engine_for_s=stood_s)
    told = Condition(name=ConditionName.DUE, state=state, reasons=reasons)
    assert one(facts, ConditionName.DUE, sheet) == told


def test_without_a_wait_nothing_is_due() -> None:
    assert ConditionName.DUE not in names(STOPPED, OFF)


def test_where_any_temperature_is_right_none_need_be_read() -> None:
    sheet = replace(OFF, window=ANY)
    of_reading = {
        ConditionName.READING,
        ConditionName.TEMPERATURE,
        ConditionName.STAYS,
    }
    assert needless_in(sheet) == of_reading
    unread = replace(STOPPED, reading=ReadingState.NONE, temp_c=None, raw_c=None)
    found = judge(unread, sheet)
    assert verdict(found) == (Verdict.GO, ())
    for name in of_reading:
        assert Condition(name=name, state=NEEDLESS) in found
    key_off = replace(sheet, engine=EngineRule.KEY_OFF)
    assert needless_in(key_off) == of_reading | {ConditionName.LINK}
    warm = replace(key_off, window=IDLING.window)
    assert needless_in(warm) == set()


def test_where_nothing_is_opened_nothing_has_to_settle() -> None:
    sheet = replace(IDLING, ends=LegEnd.WARM)
    assert needless_in(sheet) == {ConditionName.STAYS}
    assert one(GOOD, ConditionName.STAYS, sheet).state is NEEDLESS
    assert one(GOOD, ConditionName.TEMPERATURE, sheet).state is MET
    assert needless_in(replace(sheet, window=ANY)) >= {ConditionName.READING}


@pytest.mark.parametrize(
    ("air_c", "reason"),
    [(None, Reason.AIR_UNKNOWN), (45.0, Reason.AIR_NOT_LISTED)],
)
def test_a_window_that_hangs_on_the_air_is_not_known_without_it(air_c, reason) -> None:
    row = AirWindow(air=Window(low_c=0.0, high_c=20.0), window=IDLING.window)
    sheet = replace(IDLING, air_windows=(row,), window=NO_WINDOW)
    assert sheet.wants_air
    assert one(replace(GOOD, air_c=air_c), ConditionName.TEMPERATURE, sheet) == (
        Condition(name=ConditionName.TEMPERATURE, state=UNKNOWN, reasons=(reason,))
    )
    assert verdict(judge(replace(GOOD, air_c=air_c), sheet))[0] is Verdict.NO_GO


def test_go_wants_each_condition_met_or_needless_and_a_reason_is_said_once() -> None:
    met = Condition(name=ConditionName.LINK, state=MET)
    needless = Condition(name=ConditionName.STAYS, state=NEEDLESS)
    assert verdict((met, needless)) == (Verdict.GO, ())
    # not known, and another condition says why
    silent = Condition(name=ConditionName.ENGINE, state=UNKNOWN)
    assert verdict((met, silent)) == (Verdict.NO_GO, ())
    # a reason against it ends it, whatever the state
    odd = replace(met, reasons=(Reason.TOO_HOT,))
    assert verdict((odd, odd)) == (Verdict.NO_GO, (Reason.TOO_HOT,))
