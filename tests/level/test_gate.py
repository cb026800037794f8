"""The gate, exhaustively: GO for one combination of facts, and doubt never opens it."""

import itertools
import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.level.gate import Facts, ReadingState, judge, verdict
from bridge.level.status_3026 import level_status
from bridge.values.conditions import (
    Condition,
    ConditionName,
    ConditionState,
    Reason,
    TiltWorth,
    ToldBy,
    Verdict,
)
from bridge.values.readings import LinkState
from bridge.values.sheet import (
    Confirmation,
    EngineRule,
    Role,
    Sheet,
    Signal,
    Window,
)

IDLING = Sheet(name="t", source="t", window=Window(low_c=35.0, high_c=45.0))
OFF = replace(IDLING, engine=EngineRule.OFF)
GOOD = Facts(
    link=LinkState.LIVE,
    reading=ReadingState.LIVE,
    raw_c=40.0,
    temp_c=40.0,
    inside_chance=0.999,
    stay_chance=0.95,
    engine_rpm=750.0,
    speed_kmh=0.0,
)


def decide(facts: Facts, sheet: Sheet = IDLING) -> tuple[Verdict, tuple[Reason, ...]]:
    return verdict(judge(facts, sheet))


def test_everything_met_is_go() -> None:
    assert decide(GOOD) == (Verdict.GO, ())
    assert decide(replace(GOOD, engine_rpm=0.0), OFF) == (Verdict.GO, ())


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"link": LinkState.CONNECTING}, Reason.CONNECTING),
        ({"link": LinkState.SILENT}, Reason.ADAPTER_SILENT),
        ({"link": LinkState.LOST}, Reason.LINK_LOST),
        ({"reading": ReadingState.NO_SIGNAL}, Reason.NO_SIGNAL),
        ({"reading": ReadingState.NONE}, Reason.NO_READING),
        ({"reading": ReadingState.STALE}, Reason.READING_STALE),
        ({"reading": ReadingState.REFUSED}, Reason.READING_REFUSED),
        ({"reading": ReadingState.IMPLAUSIBLE}, Reason.READING_IMPLAUSIBLE),
        ({"reading": ReadingState.CLOCK}, Reason.CLOCK_JUMPED),
        ({"temp_c": 34.9}, Reason.TOO_COLD),
        ({"temp_c": 45.1}, Reason.TOO_HOT),
        ({"temp_c": 35.1, "inside_chance": 0.7}, Reason.AT_WINDOW_EDGE),
        ({"temp_c": 35.1, "raw_c": 34.0}, Reason.AT_WINDOW_EDGE),
        ({"temp_c": None}, Reason.TEMPERATURE_UNCERTAIN),
        ({"temp_c": math.nan}, Reason.TEMPERATURE_UNCERTAIN),
        ({"raw_c": None}, Reason.TEMPERATURE_UNCERTAIN),
        ({"inside_chance": None}, Reason.TEMPERATURE_UNCERTAIN),
        ({"stay_chance": None}, Reason.STAY_UNKNOWN),
        ({"stay_chance": math.nan}, Reason.STAY_UNKNOWN),
        ({"stay_chance": 0.89}, Reason.WINDOW_TOO_SHORT),
        ({"too_late": True}, Reason.CLOSING_NEAR),
        ({"stay_chance": 0.89, "telling": False}, Reason.STAY_UNKNOWN),
        ({"engine_rpm": None}, Reason.ENGINE_UNKNOWN),
        ({"engine_rpm": math.inf}, Reason.ENGINE_UNKNOWN),
        ({"engine_rpm": 0.0}, Reason.ENGINE_STOPPED),
        ({"engine_rpm": 400.0}, Reason.ENGINE_TOO_SLOW),
        ({"engine_rpm": 1500.0}, Reason.ENGINE_TOO_FAST),
        ({"speed_kmh": None}, Reason.MOVEMENT_UNKNOWN),
        ({"speed_kmh": 1.0}, Reason.VEHICLE_MOVING),
    ],
)
def test_each_doubt_is_no_go_with_its_reason(
    change: dict[str, object], reason: Reason
) -> None:
    answer, reasons = decide(replace(GOOD, **change))  # type: ignore[arg-type]
    assert answer is Verdict.NO_GO
    assert reason in reasons


@pytest.mark.parametrize("wanted", [0.8, 0.95])
def test_the_chance_of_staying_is_the_sheets(wanted: float) -> None:
    sheet = replace(IDLING, stay_chance=wanted)
    below, above = (replace(GOOD, stay_chance=wanted + d) for d in (-0.01, 0.01))
    assert decide(below, sheet) == (Verdict.NO_GO, (Reason.WINDOW_TOO_SHORT,))
    assert decide(above, sheet) == (Verdict.GO, ())


@pytest.mark.parametrize(
    ("inside", "stay", "reason"),
    [
        (0.6, 0.58, Reason.AT_WINDOW_EDGE),
        (0.97, 0.88, Reason.AT_WINDOW_EDGE),
        (0.6, 0.3, Reason.WINDOW_TOO_SHORT),
        (1.0, 0.88, Reason.WINDOW_TOO_SHORT),
    ],
)
def test_not_sure_to_be_inside_yet_is_no_window_too_short(
    inside: float, stay: float, reason: Reason
) -> None:
    answer, reasons = decide(replace(GOOD, inside_chance=inside, stay_chance=stay))
    assert answer is Verdict.NO_GO
    assert reason in reasons
    other = {Reason.AT_WINDOW_EDGE, Reason.WINDOW_TOO_SHORT} - {reason}
    assert inside < 0.95 or not other & set(reasons)
    assert Reason.WINDOW_TOO_SHORT not in reasons or reason is Reason.WINDOW_TOO_SHORT


@pytest.mark.parametrize("speed", [0.6, -0.6])
def test_rolling_backwards_is_moving_as_well(speed: float) -> None:
    assert Reason.VEHICLE_MOVING in decide(replace(GOOD, speed_kmh=speed))[1]


@pytest.mark.parametrize(("rpm", "turns"), [(0.5, False), (1.0, True), (150.0, True)])
def test_an_engine_that_is_cranked_turns(rpm: float, turns: bool) -> None:
    turning = decide(replace(GOOD, engine_rpm=rpm))[1]
    assert turning == (Reason.ENGINE_TOO_SLOW if turns else Reason.ENGINE_STOPPED,)
    still = decide(replace(GOOD, engine_rpm=rpm), OFF)[1]
    assert still == ((Reason.ENGINE_RUNNING,) if turns else ())


def test_engine_off_sheets_want_it_off() -> None:
    assert decide(GOOD, OFF) == (Verdict.NO_GO, (Reason.ENGINE_RUNNING,))


LINKS = list(LinkState)
READINGS = list(ReadingState)
TEMPS = [None, math.nan, -300.0, 34.0, 40.0, 46.0, math.inf]
CHANCES = [None, math.nan, 0.0, 0.89, 0.96, 1.0]
SPEEDS = [None, 0.0, 300.0, 800.0, 2000.0]


@pytest.mark.parametrize("every", [11, pytest.param(1, marks=pytest.mark.slow)])
def test_every_combination_go_only_without_a_reason_and_only_when_all_is_well(
    every: int,
) -> None:
    """Of a day every eleventh: no list's length is a multiple, so each value comes."""
    full = itertools.product(LINKS, READINGS, TEMPS, CHANCES, CHANCES, SPEEDS, SPEEDS)
    grid = itertools.islice(full, 0, None, every)
    seen = 0
    for link, reading, temp, inside, stay, rpm, speed in grid:
        facts = Facts(
            link=link,
            reading=reading,
            raw_c=temp,
            temp_c=temp,
            inside_chance=inside,
            stay_chance=stay,
            engine_rpm=rpm,
            speed_kmh=speed,
        )
        answer, reasons = decide(facts)
        well = (link, reading, temp) == (LinkState.LIVE, ReadingState.LIVE, 40.0)
        well = well and inside in (0.96, 1.0) and stay in (0.96, 1.0)
        well = well and rpm == 800.0 and speed == 0.0
        assert (answer is Verdict.GO) == well
        assert bool(reasons) != well
        seen += 1
    assert seen == math.ceil(4 * 7 * 7 * 6 * 6 * 5 * 5 / every)


maybe = st.none() | st.floats(allow_nan=True, allow_infinity=True)
facts_strategy = st.builds(
    Facts,
    link=st.sampled_from(LINKS),
    reading=st.sampled_from(READINGS),
    raw_c=maybe,
    temp_c=maybe,
    inside_chance=maybe,
    stay_chance=maybe,
    engine_rpm=maybe,
    speed_kmh=maybe,
)


@given(facts_strategy, st.sampled_from(["raw_c", "temp_c", "inside_chance"]))
def test_taking_knowledge_away_never_opens_the_gate(facts: Facts, name: str) -> None:
    after, _ = decide(replace(facts, **{name: None}))  # type: ignore[arg-type]
    assert after is Verdict.NO_GO


ASKING = replace(
    IDLING,
    confirm=("cautions", "car-level", "selector-exercised"),
    selector_position="P",
    tilt_limit_deg=0.5,
    signals=(
        Signal(
            role=Role.SELECTOR,
            service=0x22,
            identifier=0x1158,
            request_id=0x7E1,
            reply_id=0x7E9,
            labels=((0, "P"), (3, "D")),
        ),
    ),
)
LEVEL = TiltWorth(
    lengthways_deg=0.2, across_deg=0.1, error_mm=0.5, error_ml=25.0, inside_limit=True
)
ANSWERED = replace(
    GOOD,
    confirmed=("cautions", "selector-exercised"),
    tilt=LEVEL,
    selector="P",
    voltage_v=12.4,
)


def test_what_the_sheet_wants_confirmed_is_waited_for() -> None:
    assert decide(ANSWERED, ASKING) == (Verdict.GO, ())
    assert decide(GOOD, ASKING)[0] is Verdict.NO_GO


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"confirmed": ("selector-exercised",)}, Reason.CAUTIONS_OPEN),
        ({"confirmed": ("cautions",)}, Reason.NOT_EXERCISED),
        ({"tilt": None}, Reason.CAR_LEVEL_UNKNOWN),
        ({"tilt": replace(LEVEL, inside_limit=False)}, Reason.CAR_NOT_LEVEL),
        ({"selector": None}, Reason.SELECTOR_UNKNOWN),
        ({"selector": "D"}, Reason.SELECTOR_WRONG),
        ({"voltage_v": 10.2}, Reason.VOLTAGE_LOW),
    ],
)
def test_each_further_condition_closes_the_gate(
    change: dict[str, object], reason: Reason
) -> None:
    answer, reasons = decide(replace(ANSWERED, **change), ASKING)  # type: ignore[arg-type]
    assert (answer, reasons) == (Verdict.NO_GO, (reason,))


def test_angles_count_more_than_a_word_where_the_sheet_has_a_limit() -> None:
    leaning = replace(
        ANSWERED,
        tilt=replace(LEVEL, inside_limit=False),
        confirmed=("cautions", "car-level", "selector-exercised"),
    )
    assert decide(leaning, ASKING)[1] == (Reason.CAR_NOT_LEVEL,)


def test_who_says_so_is_told() -> None:
    by = {c.name: c.by for c in judge(ANSWERED, ASKING)}
    assert by[ConditionName.ENGINE] is ToldBy.CAR
    assert by[ConditionName.SELECTOR] is ToldBy.CAR
    assert by[ConditionName.CAUTIONS] is ToldBy.PERSON
    mute = replace(ASKING, signals=())
    assert {c.name: c.by for c in judge(ANSWERED, mute)}[
        ConditionName.SELECTOR
    ] is ToldBy.PERSON


def test_a_selector_that_cannot_be_read_is_confirmed() -> None:
    mute = replace(ASKING, signals=())
    assert decide(ANSWERED, mute)[1] == (Reason.SELECTOR_UNKNOWN,)
    said = replace(ANSWERED, confirmed=(*ANSWERED.confirmed, "selector-position"))
    assert decide(said, mute) == (Verdict.GO, ())


def test_no_conditions_at_all_is_no_go() -> None:
    assert verdict(()) == (Verdict.NO_GO, ())


def test_level_status_follows_the_j1939_list() -> None:
    # SAE J1939-71 SPN 3026: 3 too low, 4 too high, 5 moving, 7/8 engine speed,
    # 13 other, 14 error, 15 not available (check-values.md section 2.5).
    assert level_status(Reason.TOO_COLD) == 3
    assert level_status(Reason.TOO_HOT) == 4
    assert level_status(Reason.VEHICLE_MOVING) == 5
    assert level_status(Reason.ENGINE_TOO_SLOW) == 7
    assert level_status(Reason.ENGINE_TOO_FAST) == 8
    assert level_status(Reason.LINK_LOST) == 15
    assert level_status(Reason.WINDOW_TOO_SHORT) == 13
    assert level_status(Reason.READING_IMPLAUSIBLE) == 14


@pytest.mark.parametrize(
    ("wanted", "read", "status"),
    [("P", "D", 2), ("N", "R", 2), ("P", "N", 13), ("D", "P", 13), ("D", "R", 13)],
)
def test_in_gear_is_said_only_where_it_is_and_should_not_be(wanted, read, status):
    # SAE J1939-71 SPN 3026: 2 "transmission in gear", 13 other (from memory)
    got = level_status(Reason.SELECTOR_WRONG, selector=read, wanted=wanted)
    assert got == status


def test_the_figures_of_a_draft_want_a_second_look_before_any_go() -> None:
    from bridge.sheets import parse_sheet
    from bridge.values.sheet import Confirmation

    text = (
        '[gearbox]\nname = "A"\nsource = "B"\n{}'
        '[level]\nwindow = ["35 degC", "45 degC"]\n'
    )
    draft = parse_sheet(text.format('status = "draft"\n'), "draft")
    checked = parse_sheet(text.format('status = "checked"\n'), "checked")
    assert draft.confirm == (Confirmation.FIGURES,)
    assert checked.confirm == ()
    open_facts = replace(GOOD, confirmed=())
    reasons = [r for c in judge(open_facts, draft) for r in c.reasons]
    assert Reason.FIGURES_UNCHECKED in reasons
    looked = replace(GOOD, confirmed=(Confirmation.FIGURES,))
    reasons = [r for c in judge(looked, draft) for r in c.reasons]
    assert Reason.FIGURES_UNCHECKED not in reasons


def one(facts: Facts, name: ConditionName, sheet: Sheet = IDLING) -> Condition:
    (found,) = [c for c in judge(facts, sheet) if c.name is name]
    return found


@pytest.mark.parametrize(
    ("field", "name", "reason"),
    [
        ("engine_told", ConditionName.ENGINE, Reason.ENGINE_UNKNOWN),
        ("standing_told", ConditionName.STANDING, Reason.MOVEMENT_UNKNOWN),
    ],
)
def test_the_persons_word_is_told_as_the_persons(
    field: str, name: ConditionName, reason: Reason
) -> None:
    unread = replace(GOOD, engine_rpm=None, speed_kmh=None)
    assert one(replace(unread, **{field: True}), name) == Condition(
        name=name, state=ConditionState.MET, by=ToldBy.PERSON
    )
    assert one(replace(unread, **{field: False}), name) == Condition(
        name=name, state=ConditionState.UNKNOWN, reasons=(reason,), by=ToldBy.PERSON
    )


@pytest.mark.parametrize(
    ("inside", "confirmed", "state", "reasons"),
    [
        (True, (), ConditionState.MET, ()),
        (False, ("car-level",), ConditionState.NOT_MET, (Reason.CAR_NOT_LEVEL,)),
        (None, ("car-level",), ConditionState.MET, ()),
        (None, (), ConditionState.UNKNOWN, (Reason.CAR_LEVEL_UNKNOWN,)),
    ],
)
def test_the_angles_outweigh_the_word_where_the_sheet_has_a_limit(
    inside: bool | None,
    confirmed: tuple[str, ...],
    state: ConditionState,
    reasons: tuple[Reason, ...],
) -> None:
    sheet = replace(IDLING, confirm=(Confirmation.CAR_LEVEL,))
    tilt = TiltWorth(
        lengthways_deg=0.1,
        across_deg=0.1,
        error_mm=0.2,
        error_ml=None,
        inside_limit=inside,
    )
    facts = replace(GOOD, tilt=tilt, confirmed=confirmed)
    assert one(facts, ConditionName.CAR_LEVEL, sheet) == Condition(
        name=ConditionName.CAR_LEVEL, state=state, reasons=reasons, by=ToldBy.PERSON
    )
