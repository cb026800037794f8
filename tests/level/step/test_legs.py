"""Phases of the level: what one that sets none says, what ends it, what goes along."""

from __future__ import annotations

from dataclasses import fields, replace

import pytest

from bridge.level.step.machine import advance, begin, next_leg
from bridge.level.step.marks import mark
from bridge.level.step.plan import Plan
from bridge.level.step.step_values import (
    Instruction,
    LegDone,
    Outcome,
    Phase,
    Step,
    StepView,
)
from bridge.values.conditions import Reason
from bridge.values.events import Mark
from bridge.values.outlook import Trend
from bridge.values.sheet import OPEN_C, Confirmation, LegEnd, LevelMethod, Window
from tests.level.test_procedure import GO, PLAN, opened

TOLD = Plan(window=Window(low_c=-OPEN_C, high_c=OPEN_C), ends=LegEnd.TOLD)
BY_HEAT = replace(TOLD, window=Window(low_c=35.0, high_c=45.0))
WARM = Plan(window=Window(low_c=50.0, high_c=60.0), ends=LegEnd.WARM)
LATER = Reason.LEVEL_COMES_LATER
SEEN = StepView(reasons=(LATER,), temp_c=40.0, temp_sd_c=0.5, trend=Trend.WARMING)


def said(plan: Plan, *reasons: Reason, temp_c: float | None = 40.0) -> Instruction:
    view = replace(SEEN, reasons=(*reasons, LATER), temp_c=temp_c)
    step = advance(begin(0.0), plan, view, 1.0)
    assert step.phase is Phase.WAIT
    return step.instruction


@pytest.mark.parametrize(
    ("plan", "reasons", "temp_c", "what"),
    [
        (TOLD, (), 40.0, Instruction.DO_PHASE),
        (TOLD, (Reason.READING_STALE,), None, Instruction.DO_PHASE),
        (TOLD, (Reason.SENSOR_STUCK,), 40.0, Instruction.DO_PHASE),
        (TOLD, (Reason.ENGINE_STOPPED,), 40.0, Instruction.MEET_CONDITIONS),
        (TOLD, (Reason.WAIT_NOT_OVER,), 40.0, Instruction.WAIT_OUT),
        (BY_HEAT, (), 40.0, Instruction.DO_PHASE),
        (BY_HEAT, (Reason.TOO_COLD,), 30.0, Instruction.WAIT_WARMING),
        (BY_HEAT, (Reason.READING_STALE,), None, Instruction.WAIT_READING),
        (WARM, (Reason.TOO_COLD,), 40.0, Instruction.WAIT_HEAT),
        (WARM, (), 40.0, Instruction.WAIT_HEAT),
        (WARM, (Reason.ENGINE_STOPPED,), 40.0, Instruction.MEET_CONDITIONS),
        (WARM, (Reason.READING_STALE,), None, Instruction.TELL_HEAT),
        (WARM, (), None, Instruction.TELL_HEAT),
        (WARM, (Reason.READING_IMPLAUSIBLE,), 40.0, Instruction.TELL_HEAT),
        (WARM, (Reason.SENSOR_STUCK,), 40.0, Instruction.TELL_HEAT),
    ],
)
def test_a_phase_that_sets_no_level_says_what_it_waits_for(
    plan: Plan, reasons: tuple[Reason, ...], temp_c: float | None, what: Instruction
) -> None:
    assert said(plan, *reasons, temp_c=temp_c) is what


def test_nobody_is_sent_to_a_plug_that_this_phase_leaves_alone() -> None:
    near = replace(SEEN, reasons=(Reason.WAIT_NOT_OVER, LATER), wait_left_s=5.0)
    for plan in (TOLD, BY_HEAT, WARM):
        step = advance(begin(0.0), plan, near, 1.0)
        assert (step.phase, step.instruction) == (Phase.WAIT, Instruction.WAIT_OUT)
        assert step.bell is None


def test_the_words_of_waiting_stand_here_too_until_another_trend_is_clear() -> None:
    cold = replace(SEEN, reasons=(Reason.TOO_COLD, LATER), temp_c=30.0)
    unclear = replace(cold, trend=Trend.UNKNOWN)
    step = advance(begin(0.0), BY_HEAT, unclear, 1.0)
    assert step.instruction is Instruction.WAIT
    step = advance(advance(step, BY_HEAT, cold, 2.0), BY_HEAT, unclear, 3.0)
    assert step.instruction is Instruction.WAIT_WARMING


def test_how_a_phase_that_sets_a_level_came_out_is_kept() -> None:
    low = mark(opened(), PLAN, Mark.NOTHING_CAME, 20.0)
    low = mark(low, PLAN, Mark.ADDED, 30.0, ml=200.0)
    step = advance(mark(low, PLAN, Mark.STREAMING, 40.0), PLAN, GO, 140.0)
    step = advance(mark(step, PLAN, Mark.CLOSED, 145.0), PLAN, GO, 146.0)
    assert step.judgement is not None
    step = replace(step, added_ml=250.0)  # and 50 mL after it was judged
    (done,) = next_leg(step, 99.0, seen=False).legs_done
    assert done.outcome is step.judgement.outcome is Outcome.NOT_OBSERVED
    assert (done.added_ml, done.added_after_ml) == (250.0, 50.0)


@pytest.mark.parametrize(
    ("change", "ends"),
    [
        # proven by the whole doubt: two standard deviations each way are inside
        ({"temp_c": 51.0, "temp_sd_c": 0.5}, True),
        ({"temp_c": 51.0, "temp_sd_c": 0.51}, False),
        ({"temp_c": 59.0, "temp_sd_c": 0.5}, True),
        ({"temp_c": 59.0, "temp_sd_c": 0.51}, False),
        ({"temp_c": 55.0, "temp_sd_c": None}, False),
        ({"temp_c": None, "temp_sd_c": 0.5}, False),
        ({"temp_c": 55.0, "reasons": (LATER, Reason.AT_WINDOW_EDGE)}, True),
        ({"temp_c": 55.0, "reasons": (LATER, Reason.ENGINE_STOPPED)}, False),
        ({"temp_c": 55.0, "reasons": (LATER, Reason.SENSOR_STUCK)}, False),
    ],
    ids=str,
)
def test_a_warm_phase_ends_when_the_fluid_is_proven_warm(
    change: dict[str, object], ends: bool
) -> None:
    step = replace(begin(0.0), legs=2)
    after = advance(step, WARM, replace(SEEN, **change), 7.0)  # type: ignore[arg-type]
    assert after.leg == int(ends)
    assert after.legs_done == ((LegDone(at_s=7.0, seen=True),) if ends else ())


def test_warm_fluid_ends_no_other_phase() -> None:
    other = replace(WARM, ends=LegEnd.TOLD)
    assert advance(begin(0.0), other, replace(SEEN, temp_c=55.0), 1.0).leg == 0


def test_the_next_phase_takes_along_what_is_of_the_car_and_nothing_else() -> None:
    before = replace(
        begin(3.0, attempt=4, method=LevelMethod.STICK),
        leg=1,
        legs=4,
        legs_done=(LegDone(at_s=1.0),),
        phase=Phase.WAIT,
        instruction=Instruction.DO_PHASE,
        confirmed=(
            Confirmation.CAUTIONS,
            Confirmation.ENGINE,
            Confirmation.STANDING,
            Confirmation.SELECTOR_POSITION,
            Confirmation.CAR_LEVEL,
        ),
        seen=advance(begin(0.0), WARM, SEEN, 2.0).seen,
        added_ml=250.0,
        added_temp_c=21.0,
        air_c=12.0,
        air_row=1,
        by_air=True,
        past=(begin(0.0),),
        left_window=True,
        went_blind=True,
        disturbed=True,
    )
    after = next_leg(before, 9.0, seen=False)
    assert after.legs_done == (
        LegDone(at_s=1.0),
        LegDone(at_s=9.0, outcome=None, seen=False, added_ml=250.0),
    )
    assert after.confirmed == (Confirmation.CAUTIONS, Confirmation.CAR_LEVEL)
    assert (after.leg, after.now_at_s, after.phase_at_s) == (2, 9.0, 9.0)
    kept = {"legs", "seen", "added_ml", "added_temp_c", "air_c", "air_row", "by_air"}
    kept.add("past")
    told = {"leg", "legs_done", "confirmed", "now_at_s", "phase_at_s"}
    fresh = Step()
    for name in {f.name for f in fields(Step)} - told:
        source = before if name in kept else fresh
        assert getattr(after, name) == getattr(source, name), name
