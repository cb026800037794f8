"""What is said while the plug is in: at every limit, which side is which."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from bridge.level.step.machine import advance, begin
from bridge.level.step.plan import Plan
from bridge.level.step.step_values import Bell, Instruction, Phase, Step, StepView
from bridge.level.step.transitions import begins_again_s, expected
from bridge.level.viscosity import Fluid
from bridge.values.conditions import Reason, Verdict
from bridge.values.outlook import Crossing, Trend
from bridge.values.sheet import (
    OPEN_C,
    Confirmation,
    EngineRule,
    LevelMethod,
    Window,
)
from tests.level.test_procedure import BLIND, COLD, GO, HOT, PLAN, opened

OFF = replace(PLAN, engine=EngineRule.OFF)
STICK = replace(PLAN, method=LevelMethod.STICK)
ANY = replace(PLAN, window=Window(low_c=-OPEN_C, high_c=OPEN_C))
INSIDE = replace(GO, verdict=Verdict.NO_GO)
WAITED = replace(INSIDE, reasons=(Reason.WAIT_NOT_OVER,))


def said(
    view: StepView, plan: Plan = PLAN, step: Step | None = None
) -> tuple[Phase, Instruction]:
    step = advance(step or begin(0.0), plan, view, 1.0)
    return step.phase, step.instruction


def opens_in(p50_s: float | None) -> StepView:
    crossing = Crossing(p05_s=None, p50_s=p50_s, p95_s=None, chance=0.9)
    return replace(COLD, opens=crossing)


@pytest.mark.parametrize(
    ("left_s", "what"),
    [
        (60.0, (Phase.GET_READY, Instruction.STAND_BY)),
        (60.1, (Phase.WAIT, Instruction.WAIT_OUT)),
        (None, (Phase.WAIT, Instruction.WAIT_OUT)),
    ],
)
def test_the_person_is_called_a_minute_before_the_wait_is_over(left_s, what) -> None:
    assert said(replace(WAITED, wait_left_s=left_s)) == what


def test_nobody_is_called_for_a_wait_while_the_fluid_is_not_inside() -> None:
    both = (Reason.TOO_COLD, Reason.WAIT_NOT_OVER)
    cold = replace(COLD, reasons=both, wait_left_s=10.0)
    assert said(cold) == (Phase.WAIT, Instruction.WAIT_OUT)
    blind = replace(WAITED, temp_c=None, wait_left_s=10.0)
    assert said(blind, ANY) == (Phase.GET_READY, Instruction.STAND_BY)
    stick = replace(WAITED, wait_left_s=10.0)
    assert said(stick, STICK) == (Phase.GET_READY, Instruction.HOLD_STICK)


def test_a_wait_is_not_all_that_is_missing() -> None:
    more = (Reason.WAIT_NOT_OVER, Reason.CAR_NOT_LEVEL)
    view = replace(WAITED, reasons=more, wait_left_s=10.0)
    assert said(view) == (Phase.WAIT, Instruction.MEET_CONDITIONS)
    unread = (Reason.ENGINE_STOPPED, Reason.READING_STALE)
    assert said(replace(INSIDE, reasons=unread)) == (
        Phase.WAIT,
        Instruction.WAIT_READING,
    )


@pytest.mark.parametrize(
    ("plan", "ready"),
    [(PLAN, Instruction.GET_UNDER), (STICK, Instruction.GET_TO_STICK)],
)
def test_the_person_is_called_a_minute_before_it_opens(plan, ready) -> None:
    assert said(opens_in(60.0), plan) == (Phase.GET_READY, ready)
    assert said(opens_in(60.1), plan)[0] is Phase.WAIT
    assert said(opens_in(None), plan)[0] is Phase.WAIT
    assert said(replace(COLD, opens=None), plan)[0] is Phase.WAIT


def test_who_was_called_stays_called_until_it_is_half_as_far_again() -> None:
    called = advance(begin(0.0), PLAN, opens_in(60.0), 1.0)
    assert said(opens_in(90.0), step=called)[0] is Phase.GET_READY
    assert said(opens_in(90.1), step=called)[0] is Phase.WAIT


@pytest.mark.parametrize(
    ("temp_c", "trend", "what"),
    [
        (40.0, Trend.WARMING, Instruction.WARM_FIRST),
        (45.0, Trend.STEADY, Instruction.WARM_FIRST),
        (45.1, Trend.WARMING, Instruction.MEET_CONDITIONS),
        (40.0, Trend.COOLING, Instruction.MEET_CONDITIONS),
    ],
)
def test_an_engine_to_be_off_runs_only_until_the_fluid_is_warm(
    temp_c, trend, what
) -> None:
    running = replace(
        INSIDE, temp_c=temp_c, trend=trend, reasons=(Reason.ENGINE_RUNNING,)
    )
    assert said(running, OFF) == (Phase.WAIT, what)


def test_where_any_temperature_is_right_a_running_engine_is_switched_off() -> None:
    plan = replace(ANY, engine=EngineRule.OFF)
    for temp_c in (None, 20.0, 90.0):  # and is not to be warmed beyond no end
        running = replace(INSIDE, temp_c=temp_c, reasons=(Reason.ENGINE_RUNNING,))
        running = replace(running, trend=Trend.WARMING)
        assert said(running, plan) == (Phase.WAIT, Instruction.MEET_CONDITIONS)


def test_the_edge_itself_is_not_missed() -> None:
    edge = replace(INSIDE, reasons=(Reason.AT_WINDOW_EDGE,))
    assert said(replace(edge, temp_c=45.0))[0] is Phase.GET_READY
    cooling = replace(edge, trend=Trend.COOLING)
    assert said(replace(cooling, temp_c=35.0), OFF)[0] is Phase.GET_READY


@pytest.mark.parametrize(
    ("plan", "far_c", "still_c", "again_c"),
    [
        # 30 % of the window from the edge the step starts at: 35 + 3, 45 - 3
        (PLAN, 46.0, 38.1, 38.0),
        (OFF, 34.0, 41.9, 42.0),
        # up to the temperature to close at: 35 + 0.3 * 5, 45 - 0.3 * 5
        (replace(PLAN, close_at_c=40.0), 41.0, 36.6, 36.5),
        (replace(OFF, close_at_c=40.0), 39.0, 43.4, 43.5),
    ],
)
def test_what_was_missed_begins_again_where_it_is_said_to(
    plan, far_c, still_c, again_c
) -> None:
    away = Trend.WARMING if plan.engine is EngineRule.IDLING else Trend.COOLING
    towards = -1.0 if plan.engine is EngineRule.IDLING else 1.0
    view = replace(INSIDE, trend=away, reasons=(Reason.AT_WINDOW_EDGE,))
    missed = advance(begin(0.0), plan, replace(view, temp_c=far_c), 1.0)
    assert missed.phase is Phase.MISSED
    back = replace(view, trend=Trend.STEADY, rate_c_per_s=towards * 0.01)
    on_the_way = replace(back, temp_c=still_c, settles_at_c=None)
    assert said(on_the_way, plan, missed)[0] is Phase.MISSED
    # at the present rate: the rest of the way over 0.01 degC a second
    left_s = abs(still_c - again_c) / 0.01
    assert begins_again_s(on_the_way, plan) == pytest.approx(left_s)
    there = replace(back, temp_c=again_c)
    assert said(there, plan, missed)[0] is not Phase.MISSED
    assert begins_again_s(there, plan) == 0.0


def test_an_engine_off_fluid_comes_back_as_newton_says() -> None:
    # rate * (end - T0) constant: from 30 to 42 degC, end 80 degC, 0.02 degC/s now
    view = replace(COLD, temp_c=30.0, rate_c_per_s=0.02, settles_at_c=80.0)
    left_s = math.log(50.0 / 38.0) * 50.0 / 0.02
    assert begins_again_s(view, OFF) == pytest.approx(left_s)


@pytest.mark.parametrize(
    "change",
    [
        {"temp_c": None},
        {"rate_c_per_s": None},
        {"rate_c_per_s": 0.0},
        {"rate_c_per_s": 0.01},  # away from it
        {"settles_at_c": 40.0},  # short of it
        {"settles_at_c": 38.0},  # on it: never quite there
        {"settles_at_c": 43.0},  # where it is already
        {"settles_at_c": 50.0},  # the other way: rate and end contradict each other
    ],
    ids=str,
)
def test_when_it_begins_again_is_not_told_where_nobody_knows(change) -> None:
    cooling = replace(HOT, temp_c=43.0, rate_c_per_s=-0.01, settles_at_c=20.0)
    assert begins_again_s(cooling, PLAN) is not None
    assert begins_again_s(replace(cooling, **change), PLAN) is None


def lasting(inside_s: float) -> StepView:
    """Return a cold view whose window opens in 300 s and stays so long open."""
    return replace(
        COLD,
        opens=Crossing(p05_s=299.0, p50_s=300.0, p95_s=301.0, chance=1.0),
        shuts=Crossing(
            p05_s=299.0 + inside_s,
            p50_s=300.0 + inside_s,
            p95_s=301.0 + inside_s,
            chance=1.0,
        ),
    )


def test_too_short_is_less_than_settling_and_two_hands_take() -> None:
    # 60 s to settle, 5 s to open and 5 s to close: even chances at 70 s
    short = advance(begin(0.0), PLAN, lasting(69.0), 1.0)
    assert short.instruction is Instruction.TOO_SHORT
    assert said(lasting(71.0))[1] is Instruction.WAIT_WARMING
    # once said it takes a chance of 0.6 to take it back
    assert said(lasting(71.0), step=short)[1] is Instruction.TOO_SHORT
    assert said(lasting(76.0), step=short)[1] is Instruction.WAIT_WARMING


def test_a_settle_time_is_the_sheets_and_as_long_as_its_fluid_is_thick() -> None:
    assert expected(PLAN, None).points_s == expected(PLAN, 40.0).points_s
    # Hagen-Poiseuille: in proportion to the viscosity, so the steeper fluid by more
    steep = replace(PLAN, fluid=Fluid(at_40_mm2_s=200.0, at_100_mm2_s=10.0))
    assert expected(steep, 25.0).p50_s > 1.2 * expected(PLAN, 25.0).p50_s
    # log-normal: the 95 % point lies 1.645 spreads above the middle
    wide = expected(replace(PLAN, settle_spread=0.4), 40.0)
    assert wide.p95_s / wide.p50_s == pytest.approx(math.exp(1.645 * 0.4), rel=0.05)


def test_in_gear_the_selector_comes_first_and_out_from_under_the_car() -> None:
    in_gear = replace(PLAN, in_gear=True, confirm=(Confirmation.CAUTIONS,))
    view = replace(INSIDE, reasons=(Reason.SELECTOR_WRONG,))
    assert said(view, in_gear) == (Phase.PREPARE, Instruction.SHIFT)
    assert said(INSIDE, in_gear) == (Phase.PREPARE, Instruction.CONFIRM)
    sure = replace(in_gear, confirm=())
    assert said(view, sure) == (Phase.PREPARE, Instruction.SHIFT)
    assert said(GO, sure) == (Phase.GO, Instruction.OPEN_NOW)
    assert said(view) == (Phase.WAIT, Instruction.MEET_CONDITIONS)


def test_no_go_so_near_the_temperature_to_close_at_that_nothing_would_come() -> None:
    plan = replace(PLAN, close_at_c=44.0)
    near = replace(GO, temp_c=43.5, rate_c_per_s=0.025)  # there in 20 s: hand and lead
    assert said(near, plan)[0] is not Phase.GO
    assert said(replace(near, rate_c_per_s=0.024), plan)[0] is Phase.GO


def test_a_bell_rings_once_and_not_again_within_ten_seconds() -> None:
    step = advance(begin(0.0), PLAN, GO, 1.0)
    assert (step.bell, step.rung, step.rung_at_s) == (Bell.OPEN, Bell.OPEN, 1.0)
    assert advance(step, PLAN, GO, 2.0).bell is None
    gone = advance(step, PLAN, COLD, 2.0)
    assert (gone.bell, gone.rung, gone.rung_at_s) == (None, Bell.OPEN, 1.0)
    assert advance(gone, PLAN, GO, 10.9).bell is None
    assert advance(gone, PLAN, GO, 11.0).bell is Bell.OPEN
    # another bell is not held back
    assert advance(gone, PLAN, HOT, 3.0).bell is Bell.TROUBLE


def test_going_back_from_go_to_get_ready_does_not_call_again() -> None:
    edge = replace(INSIDE, reasons=(Reason.AT_WINDOW_EDGE,))
    step = advance(begin(0.0), PLAN, GO, 1.0)
    step = advance(step, PLAN, edge, 60.0)
    assert (step.phase, step.bell) == (Phase.GET_READY, None)
    # from under the car to standing by: nor does that
    near = advance(begin(0.0), PLAN, opens_in(30.0), 1.0)
    assert near.bell is Bell.GET_READY
    assert advance(near, PLAN, edge, 60.0).bell is None


def test_a_phase_is_as_old_as_its_first_moment() -> None:
    step = advance(begin(0.0), PLAN, COLD, 1.0)
    step = advance(step, PLAN, COLD, 5.0)
    assert (step.phase, step.phase_at_s, step.now_at_s) == (Phase.WAIT, 1.0, 5.0)
    back = advance(step, PLAN, COLD, 3.0)
    assert back.now_at_s == 5.0, "time does not run backwards"


def test_what_is_claimed_is_the_chance_at_go_alone() -> None:
    step = advance(begin(0.0), PLAN, COLD, 1.0)
    assert step.claimed is None
    step = advance(step, PLAN, GO, 2.0)
    assert step.claimed == 0.97
    assert advance(step, PLAN, replace(COLD, stay_chance=0.2), 3.0).claimed == 0.97


def test_the_same_call_for_another_reason_is_not_rung_again() -> None:
    step = advance(opened(), PLAN, GO, 90.0)
    assert (step.instruction, step.bell) == (Instruction.CLOSE_TIMER, Bell.CLOSE)
    other = replace(step, instruction=Instruction.CLOSE_SETTLED)
    after = advance(other, PLAN, GO, 101.0)
    assert (after.phase, after.bell) == (Phase.SETTLED, None)


def test_a_call_that_nobody_follows_is_rung_again_once_it_is_overdue() -> None:
    step = advance(opened(), PLAN, GO, 90.0)
    late = advance(step, PLAN, GO, 106.0)
    assert (late.phase, late.instruction) == (Phase.CLOSE, Instruction.CLOSE_TIMER)
    assert late.bell is Bell.CLOSE


def test_a_trouble_that_lasts_is_rung_once() -> None:
    step = advance(opened(), PLAN, BLIND, 20.0)
    assert (step.instruction, step.bell) == (Instruction.READING_LOST, Bell.TROUBLE)
    assert advance(step, PLAN, BLIND, 31.0).bell is None
