"""What the step takes in with the plug out, and what of it counts at the end."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.level.step.machine import advance, begin, is_fresh, remaining, weigh
from bridge.level.step.marks import mark
from bridge.level.step.step_values import Instruction, Phase, Step, TempSeen
from bridge.level.step.transitions import expected
from bridge.values.conditions import Reason, TiltWorth, Verdict
from bridge.values.events import Mark
from bridge.values.sheet import LevelMethod
from tests.level.test_procedure import BLIND, COLD, GO, HOT, PLAN, opened

OPENED_S = 12.0


def test_a_step_begins_with_nothing_known() -> None:
    assert begin(5.0) == Step(now_at_s=5.0, phase_at_s=5.0)
    again = begin(5.0, attempt=3, method=LevelMethod.STICK)
    assert (again.attempt, again.method) == (3, LevelMethod.STICK)


def test_before_opening_all_of_the_settling_remains_and_both_hands() -> None:
    for temp_c in (36.0, 44.0):
        left = remaining(begin(0.0), PLAN, temp_c, 0.0)
        assert left.p50_s == pytest.approx(expected(PLAN, temp_c).p50_s + 10.0)


def test_once_open_what_was_expected_at_opening_runs_off_and_one_hand_is_left() -> None:
    step = replace(opened(), settling=None)
    points = expected(PLAN, 38.0).points_s
    left = remaining(step, PLAN, 44.0, OPENED_S + 8.0)
    assert left.points_s == pytest.approx([p - 8.0 + 5.0 for p in points])


def test_once_open_the_marks_tell_what_remains() -> None:
    step = opened()
    for t in (60.0, 100.0, 130.0):
        step = advance(mark(step, PLAN, Mark.STREAMING, t), PLAN, GO, t)
    # a stream after 118 s outlasted all that was expected: a fifth to a half more
    left_s = remaining(step, PLAN, 38.0, 130.0).p50_s
    assert left_s == pytest.approx(5.0 + 0.35 * 118.0, rel=0.02)


def test_closed_again_all_of_it_would_remain() -> None:
    step = advance(mark(opened(), PLAN, Mark.CLOSED, 50.0), PLAN, GO, 51.0)
    left = remaining(step, PLAN, 38.0, 51.0)
    assert left.p50_s == pytest.approx(expected(PLAN, 38.0).p50_s + 10.0)


def test_the_drips_are_weighed_once_a_second_and_at_each_mark() -> None:
    step = advance(opened(), PLAN, GO, 20.0)
    assert step.settling is not None
    assert step.settling_at_s == 20.0
    assert weigh(step, PLAN, 20.9) is step
    assert weigh(step, PLAN, 21.0).settling_at_s == 21.0
    marked = mark(step, PLAN, Mark.DRIP, 20.2)
    assert weigh(marked, PLAN, 20.3).settling_at_s == 20.3
    never = begin(0.0)
    assert weigh(never, PLAN, 20.0) is never
    odd = replace(step, expected=None)
    assert weigh(odd, PLAN, 99.0) is odd


def test_what_is_weighed_is_what_was_marked_and_how_the_sheet_says() -> None:
    step = opened()
    for t in range(20, 61, 4):
        step = mark(step, PLAN, Mark.DRIP, float(t))
    told = weigh(step, PLAN, 61.0).settling
    assert told is not None
    assert not told.timer_only
    assert told.rate_per_s == pytest.approx(0.25, abs=0.15)  # a drop every 4 s
    # where a drop every four seconds is still too much, it is not settled yet
    strict = replace(PLAN, drip=replace(PLAN.drip, settled_rate_per_s=0.05))
    slow = weigh(step, strict, 61.0).settling
    assert slow is not None
    assert slow.settled_chance < told.settled_chance
    # a stretch nobody watched is no silence
    unseen = replace(step, blind_s=((49.0, 88.0),))
    watched, gone = (weigh(s, PLAN, 100.0).settling for s in (step, unseen))
    assert watched is not None
    assert gone is not None
    assert gone.rate_per_s != watched.rate_per_s


def test_the_spread_of_the_sheets_time_is_weighed_in() -> None:
    step = opened()
    for t in (20.0, 21.5, 23.0, 24.5):
        step = mark(step, PLAN, Mark.DRIP, t)
    sure, vague = (
        weigh(step, replace(PLAN, settle_spread=s), 26.0).settling for s in (0.05, 0.8)
    )
    assert sure is not None
    assert vague is not None
    assert sure.settled_chance != vague.settled_chance


def test_so_long_without_a_reading_that_it_is_called_in_is_so_long_that_it_counts():
    step = advance(opened(), PLAN, BLIND, 20.0)
    assert step.doubt_at_s == 20.0
    borne = advance(step, PLAN, BLIND, 39.9)
    assert (borne.doubt_at_s, borne.went_blind) == (20.0, False)
    assert borne.instruction is Instruction.READING_LOST
    called = advance(borne, PLAN, BLIND, 40.0)
    assert (called.instruction, called.went_blind) == (Instruction.CLOSE_BLIND, True)
    seen = advance(called, PLAN, GO, 41.0)
    assert (seen.doubt_at_s, seen.went_blind) == (None, True)
    assert advance(seen, PLAN, BLIND, 42.0).went_blind


def test_with_the_plug_in_nothing_of_that_counts() -> None:
    step = advance(begin(0.0), PLAN, BLIND, 1.0)
    assert not advance(step, PLAN, BLIND, 100.0).went_blind
    bad = replace(HOT, reasons=(Reason.ENGINE_STOPPED, Reason.TOO_HOT))
    step = advance(step, PLAN, bad, 101.0)
    assert (step.disturbed, step.left_window) == (False, False)


def test_one_moment_of_a_broken_condition_is_remembered() -> None:
    bad = replace(GO, verdict=Verdict.NO_GO, reasons=(Reason.VEHICLE_MOVING,))
    step = advance(advance(opened(), PLAN, bad, 20.0), PLAN, GO, 21.0)
    assert step.disturbed
    assert not advance(opened(), PLAN, GO, 20.0).disturbed


def test_one_moment_outside_is_remembered() -> None:
    step = advance(advance(opened(), PLAN, HOT, 20.0), PLAN, GO, 21.0)
    assert step.left_window
    assert not advance(opened(), PLAN, GO, 20.0).left_window


def test_a_wavering_idle_counts_from_its_first_moment() -> None:
    bad = replace(GO, verdict=Verdict.NO_GO, reasons=(Reason.ENGINE_TOO_SLOW,))
    step = advance(advance(opened(), PLAN, bad, 20.0), PLAN, bad, 22.0)
    assert step.waver_at_s == 20.0
    assert advance(step, PLAN, GO, 22.5).waver_at_s is None


def test_what_is_seen_is_kept_with_its_moment_and_its_doubt() -> None:
    step = advance(begin(0.0), PLAN, replace(GO, stays_s=90.0), 4.0)
    assert step.seen == TempSeen(at_s=4.0, temp_c=38.0, sd_c=0.2)
    assert step.shuts_at_s == 94.0
    step = advance(step, PLAN, replace(GO, temp_sd_c=None, rate_c_per_s=None), 5.0)
    assert step.seen == TempSeen(at_s=5.0, temp_c=38.0, sd_c=0.0)
    assert step.shuts_at_s is None
    kept = advance(step, PLAN, BLIND, 8.0)
    assert kept.seen == step.seen
    assert is_fresh(kept, 8.0)
    assert not is_fresh(kept, 8.1)
    assert not is_fresh(begin(0.0), 0.0)


@pytest.mark.parametrize(("seen_s", "counts"), [(15.0, True), (15.1, False)])
def test_a_reading_within_three_seconds_is_that_of_the_moment(seen_s, counts) -> None:
    step = mark(begin(0.0), PLAN, Mark.OPENED, OPENED_S)
    assert step.opened is None
    found = advance(step, PLAN, GO, seen_s)
    assert (found.opened is not None) == counts
    later = advance(found, PLAN, replace(GO, temp_c=39.0), seen_s + 1.0)
    assert later.opened == found.opened
    shut = replace(step, phase=Phase.CLOSED, closed_at_s=OPENED_S)
    assert (advance(shut, PLAN, GO, seen_s).closed is not None) == counts


def test_how_long_until_closing_is_told_only_with_the_plug_out() -> None:
    plan = replace(PLAN, close_at_c=44.0)
    warming = replace(GO, temp_c=40.0, rate_c_per_s=0.05)  # 4 degC at 0.05 a second
    assert advance(begin(0.0), plan, warming, 1.0).closes_in_s is None
    step = advance(opened(warming, plan), plan, warming, 13.0)
    assert step.closes_in_s == pytest.approx(80.0)


def test_when_it_begins_again_is_told_only_after_a_miss() -> None:
    hot = replace(HOT, rate_c_per_s=-0.01, settles_at_c=20.0)
    missed = advance(begin(0.0), PLAN, hot, 1.0)
    assert missed.phase is Phase.MISSED
    assert missed.begins_again_s is not None
    assert advance(missed, PLAN, COLD, 2.0).begins_again_s is None


def test_called_in_is_counted_from_the_first_call() -> None:
    step = advance(opened(), PLAN, HOT, 20.0)
    assert step.close_at_s == 20.0
    assert advance(step, PLAN, HOT, 25.0).close_at_s == 20.0
    assert advance(opened(), PLAN, GO, 20.0).close_at_s is None
    settled = advance(opened(), PLAN, GO, 90.0)
    assert (settled.phase, settled.close_at_s) == (Phase.SETTLED, 90.0)


def test_how_the_car_stands_is_in_what_is_judged() -> None:
    # 5 mm over 500 cm2 are 250 mL
    tilt = TiltWorth(
        lengthways_deg=1.0,
        across_deg=0.0,
        error_mm=5.0,
        error_ml=250.0,
        inside_limit=True,
    )
    shut = mark(opened(), PLAN, Mark.CLOSED, 90.0)
    flat, tilted = (
        advance(shut, PLAN, replace(GO, tilt=one), 91.0).judgement
        for one in (None, tilt)
    )
    assert flat is not None
    assert tilted is not None
    assert flat.budget is not None
    assert tilted.budget is not None
    offs = [sum(part.off_ml or 0.0 for part in j.budget.parts) for j in (flat, tilted)]
    assert offs[1] - offs[0] == pytest.approx(250.0)
