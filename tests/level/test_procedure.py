"""The level step, phase by phase: what is said, what a mark does, what is judged."""

import json
from dataclasses import replace

import pytest

from bridge.level.step.machine import advance, begin, remaining
from bridge.level.step.marks import mark
from bridge.level.step.plan import Plan, plan_of
from bridge.level.step.resume import resume
from bridge.level.step.step_values import (
    Bell,
    Instruction,
    Outcome,
    Phase,
    Step,
    StepView,
)
from bridge.level.step.transitions import SENSOR, begins_again_s, expected
from bridge.values.codec import from_plain, to_plain
from bridge.values.conditions import Reason, Verdict
from bridge.values.events import Mark
from bridge.values.outlook import Crossing, Outlook, Trend
from bridge.values.sheet import Confirmation, EngineRule, Sheet, Window
from tui.words.instructions import instruction_text

WINDOW = Window(low_c=35.0, high_c=45.0)
PLAN = Plan(window=WINDOW, fill_ml=6000.0, area_cm2=500.0)
LONG = Crossing(p05_s=280.0, p50_s=300.0, p95_s=320.0, chance=1.0)
INSIDE = Crossing(p05_s=0.0, p50_s=0.0, p95_s=0.0, chance=1.0)
GO = StepView(
    verdict=Verdict.GO,
    temp_c=38.0,
    temp_sd_c=0.2,
    rate_c_per_s=0.02,
    trend=Trend.WARMING,
    opens=INSIDE,
    shuts=LONG,
    outlook=Outlook.TELLING,
    stay_chance=0.97,
)
COLD = StepView(
    reasons=(Reason.TOO_COLD,),
    temp_c=25.0,
    temp_sd_c=0.2,
    rate_c_per_s=0.03,
    trend=Trend.WARMING,
    opens=Crossing(p05_s=250, p50_s=300, p95_s=350, chance=1.0),
    shuts=Crossing(p05_s=600, p50_s=650, p95_s=700, chance=1.0),
    outlook=Outlook.TELLING,
    stay_chance=0.0,
)
HOT = replace(
    COLD,
    reasons=(Reason.TOO_HOT,),
    temp_c=46.0,
    opens=None,
    shuts=None,
    outlook=Outlook.CANNOT_TELL,
)
BLIND = StepView(reasons=(Reason.READING_STALE,))


def opened(view=GO, plan=PLAN):
    step = advance(begin(0.0), plan, view, 10.0)
    return mark(step, plan, Mark.OPENED, 12.0)


def after(step, view, now_s, plan=PLAN):
    return advance(step, plan, view, now_s)


def test_nothing_before_everything_is_confirmed():
    plan = replace(PLAN, confirm=(Confirmation.CAUTIONS, Confirmation.CAR_LEVEL))
    step = after(begin(0.0), GO, 1.0, plan)
    assert (step.phase, step.instruction) == (Phase.PREPARE, Instruction.CONFIRM)
    step = mark(step, plan, Mark.CONFIRMED, 2.0, confirms=Confirmation.CAUTIONS)
    assert after(step, GO, 3.0, plan).phase is Phase.PREPARE
    step = mark(step, plan, Mark.CONFIRMED, 4.0, confirms=Confirmation.CAR_LEVEL)
    assert after(step, GO, 5.0, plan).phase is Phase.GO
    step = mark(step, plan, Mark.WITHDRAWN, 6.0, confirms=Confirmation.CAR_LEVEL)
    assert after(step, GO, 7.0, plan).phase is Phase.PREPARE


def test_wait_then_get_ready_a_minute_before_then_go():
    step = after(begin(0.0), COLD, 1.0)
    assert (step.phase, step.bell) == (Phase.WAIT, None)
    assert step.instruction is Instruction.WAIT_WARMING
    near = replace(COLD, opens=Crossing(p05_s=40, p50_s=59, p95_s=70, chance=1.0))
    step = after(step, near, 2.0)
    assert (step.phase, step.bell) == (Phase.GET_READY, Bell.GET_READY)
    assert after(step, near, 3.0).bell is None
    step = after(step, GO, 60.0)
    assert (step.phase, step.bell) == (Phase.GO, Bell.OPEN)
    assert step.claimed == 0.97


def test_the_words_of_waiting_stand_until_another_trend_is_clear():
    # a driven car's fluid: warming, not clear, warming, at rest, cooling
    said = []
    step = begin(0.0)
    trends = (
        *(Trend.UNKNOWN, Trend.WARMING, Trend.UNKNOWN, Trend.WARMING),
        *(Trend.STEADY, Trend.UNKNOWN, Trend.COOLING, Trend.UNKNOWN),
    )
    for second, trend in enumerate(trends):
        step = after(step, replace(COLD, trend=trend), float(second))
        said.append(step.instruction)
    assert said == [
        *(Instruction.WAIT, *[Instruction.WAIT_WARMING] * 3),
        *([Instruction.WAIT] * 2 + [Instruction.WAIT_COOLING] * 2),
    ]


def test_get_ready_does_not_flutter():
    near = replace(COLD, opens=Crossing(p05_s=40, p50_s=59, p95_s=70, chance=1.0))
    far = replace(COLD, opens=Crossing(p05_s=50, p50_s=70, p95_s=90, chance=1.0))
    step = after(after(begin(0.0), near, 1.0), far, 2.0)
    assert step.phase is Phase.GET_READY
    assert after(step, COLD, 3.0).phase is Phase.WAIT


@pytest.mark.parametrize(
    ("change", "phase", "what"),
    [
        ({"reasons": (Reason.AT_WINDOW_EDGE,)}, Phase.GET_READY, Instruction.STAND_BY),
        ({"reasons": (Reason.WINDOW_TOO_SHORT,)}, Phase.WAIT, Instruction.TOO_SHORT),
        (
            {"reasons": (Reason.ENGINE_STOPPED,)},
            Phase.WAIT,
            Instruction.MEET_CONDITIONS,
        ),
        ({"reasons": (Reason.READING_STALE,)}, Phase.WAIT, Instruction.WAIT_READING),
        ({"temp_c": None}, Phase.WAIT, Instruction.WAIT_READING),
        ({"temp_c": float("nan")}, Phase.WAIT, Instruction.WAIT_READING),
    ],
)
def test_inside_but_not_go(change, phase, what):
    step = after(begin(0.0), replace(GO, verdict=Verdict.NO_GO, **change), 1.0)
    assert (step.phase, step.instruction) == (phase, what)


@pytest.mark.parametrize(("early_s", "late_s"), [(300, 390), (290, 780)])
def test_a_window_too_short_is_said_before_it_opens(early_s, late_s):
    # the shutting lies farther off, so its bounds may be too wide for a countdown
    shuts = Crossing(p05_s=early_s, p50_s=310, p95_s=late_s, chance=1.0)
    step = after(begin(0.0), replace(COLD, shuts=shuts), 1.0)
    assert step.instruction is Instruction.TOO_SHORT


def test_too_short_does_not_flutter():
    plain = Crossing(p05_s=300, p50_s=340, p95_s=390, chance=1.0)
    step = after(begin(0.0), replace(COLD, shuts=plain), 1.0)
    vague = Crossing(p05_s=100, p50_s=300, p95_s=900, chance=1.0)
    step = after(step, replace(COLD, opens=vague, shuts=plain), 2.0)
    assert step.instruction is Instruction.TOO_SHORT
    assert after(step, COLD, 3.0).instruction is not Instruction.TOO_SHORT


def test_a_window_whose_opening_is_vague_is_not_called_too_short():
    opens = Crossing(p05_s=100, p50_s=300, p95_s=900, chance=1.0)
    shuts = Crossing(p05_s=110, p50_s=310, p95_s=950, chance=1.0)
    step = after(begin(0.0), replace(COLD, opens=opens, shuts=shuts), 1.0)
    assert step.instruction is not Instruction.TOO_SHORT


def test_a_fluid_that_may_never_get_there_is_said():
    never = replace(COLD, outlook=Outlook.MAY_NEVER, opens=None, shuts=None)
    assert after(begin(0.0), never, 1.0).instruction is Instruction.MAY_NEVER


def test_missed_stays_missed_until_cool_enough():
    step = after(begin(0.0), HOT, 1.0)
    assert (step.phase, step.bell) == (Phase.MISSED, Bell.TROUBLE)
    assert step.instruction is Instruction.COOL_DOWN
    cooling = replace(
        HOT,
        temp_c=43.0,
        trend=Trend.COOLING,
        rate_c_per_s=-0.01,
        settles_at_c=20.0,
        reasons=(Reason.ENGINE_STOPPED,),
    )
    step = after(step, cooling, 600.0)
    assert step.phase is Phase.MISSED
    # Newton: from 43 to 38 °C, air at 20 °C, 0.01 °C/s at 23 °C above the air
    assert begins_again_s(cooling, PLAN) == pytest.approx(563.8, abs=1.0)
    step = after(step, replace(cooling, temp_c=37.5), 1200.0)
    assert step.phase is Phase.WAIT


def test_hot_but_cooling_by_itself_is_no_miss():
    hot = replace(HOT, trend=Trend.COOLING, rate_c_per_s=-0.02)
    step = after(begin(0.0), hot, 1.0)
    assert (step.phase, step.instruction) == (Phase.WAIT, Instruction.WAIT_COOLING)


def test_engine_off_sheets_miss_on_the_cold_side():
    plan = replace(PLAN, engine=EngineRule.OFF)
    cold = replace(COLD, trend=Trend.COOLING, rate_c_per_s=-0.02)
    step = after(begin(0.0), cold, 1.0, plan)
    assert (step.phase, step.instruction) == (Phase.MISSED, Instruction.WARM_UP)


def test_opened_runs_down_settles_by_the_timer_and_is_judged():
    step = opened()
    assert (step.phase, step.on_go, step.claimed) == (Phase.RUNNING_DOWN, True, 0.97)
    step = after(step, GO, 40.0)
    assert (step.phase, step.instruction) == (Phase.RUNNING_DOWN, Instruction.WATCH)
    step = after(step, GO, 90.0)
    assert (step.phase, step.bell) == (Phase.SETTLED, Bell.CLOSE)
    assert step.instruction is Instruction.CLOSE_TIMER
    step = mark(step, PLAN, Mark.CLOSED, 95.0)
    assert (step.phase, step.instruction) == (Phase.CLOSED, Instruction.TIGHTEN)
    step = after(step, GO, 95.5)
    found = step.judgement
    assert step.phase is Phase.JUDGED
    assert step.instruction is Instruction.JUDGED_AGAIN
    assert found.outcome is Outcome.NOT_OBSERVED
    assert found.timer_only
    assert found.inside is True
    assert found.open_s == 83.0
    assert (found.opened.temp_c, found.closed.temp_c) == (38.0, 38.0)
    # 2 °C below the middle, 6 L at about 7.57e-4 per °C: overfilled by about 9 mL
    assert found.error.volume_ml == pytest.approx(9.1, abs=0.2)
    assert found.error.height_mm == pytest.approx(0.18, abs=0.01)
    assert found.budget is not None
    (heat, *_) = found.budget.parts
    assert heat.sd_ml == pytest.approx(0.91, abs=0.05)
    assert heat.off_ml == pytest.approx(found.error.volume_ml, abs=0.01)


def test_a_cold_fluid_is_given_more_time():
    cold = replace(PLAN, window=Window(low_c=20.0, high_c=40.0))
    assert expected(cold, 21.0).p50_s > 1.3 * expected(cold, 30.0).p50_s
    assert expected(cold, 30.0).p50_s == pytest.approx(60.0)
    # colder than the equation goes: the sheet's time as it stands
    assert expected(cold, -80.0).p50_s == pytest.approx(60.0)


def test_marked_drips_settle_it_and_the_timer_is_not_the_only_word():
    step = after(opened(), GO, 13.0)
    t = 12.0
    while step.phase is Phase.RUNNING_DOWN and t < 120.0:
        t += 0.25 if t < 32.0 else 2.5
        step = after(mark(step, PLAN, Mark.DRIP, t), GO, t)
    assert step.phase is Phase.SETTLED
    assert step.instruction is Instruction.CLOSE_SETTLED
    assert t < 60.0
    step = after(mark(step, PLAN, Mark.CLOSED, t + 2.0), GO, t + 3.0)
    assert step.judgement.outcome is Outcome.GOOD
    assert step.instruction is Instruction.JUDGED_GOOD


def test_a_stream_after_all_takes_the_timers_call_back():
    step = after(opened(), GO, 90.0)
    assert step.phase is Phase.SETTLED
    step = after(mark(step, PLAN, Mark.STREAMING, 91.0), GO, 92.0)
    assert step.phase is Phase.RUNNING_DOWN
    assert step.close_at_s is None


def test_a_stream_that_does_not_end_is_said():
    step = opened()
    for t in range(20, 200, 10):
        step = after(mark(step, PLAN, Mark.STREAMING, float(t)), GO, t + 0.5)
    assert step.phase is Phase.RUNNING_DOWN
    assert step.instruction is Instruction.STREAM_GOES_ON


def test_a_window_about_to_shut_calls_for_closing():
    shutting = replace(GO, stay_chance=0.6, stays_s=12.0)
    step = after(opened(), shutting, 20.0)
    assert (step.phase, step.bell) == (Phase.CLOSE, Bell.CLOSE)
    assert step.instruction is Instruction.CLOSE_WINDOW
    step = after(step, GO, 21.0)
    assert step.phase is Phase.CLOSE
    step = after(mark(step, PLAN, Mark.CLOSED, 22.0), GO, 23.0)
    assert step.judgement.outcome is Outcome.STILL_RUNNING


def test_a_window_that_outlasts_the_settling_is_not_shutting():
    """The least time it stays counts only where what is left to settle takes longer."""
    near = replace(GO, stays_s=4.8, stay_chance=0.91)
    assert after(opened(), near, 20.0).phase is Phase.RUNNING_DOWN
    near = replace(near, stay_chance=0.89)
    assert after(opened(), near, 20.0).instruction is Instruction.CLOSE_WINDOW


def test_without_a_forecast_the_rate_tells_when_it_shuts():
    fast = replace(GO, temp_c=44.5, stay_chance=None, rate_c_per_s=0.05)
    assert after(opened(), fast, 20.0).instruction is Instruction.CLOSE_WINDOW


@pytest.mark.parametrize(
    "reason", [Reason.ENGINE_STOPPED, Reason.ENGINE_RUNNING, Reason.VEHICLE_MOVING]
)
def test_a_broken_condition_closes_at_once(reason):
    bad = replace(GO, verdict=Verdict.NO_GO, reasons=(reason,))
    step = after(opened(), bad, 20.0)
    assert step.instruction is Instruction.CLOSE_CONDITION
    assert step.bell is Bell.TROUBLE


def test_a_wavering_idle_is_given_a_moment():
    bad = replace(GO, verdict=Verdict.NO_GO, reasons=(Reason.ENGINE_TOO_FAST,))
    step = after(opened(), bad, 20.0)
    assert step.phase is Phase.RUNNING_DOWN
    assert after(after(step, GO, 21.0), bad, 23.5).phase is Phase.RUNNING_DOWN
    assert after(step, bad, 23.0).instruction is Instruction.CLOSE_CONDITION


def test_outside_with_the_plug_out_closes_and_is_judged_outside():
    step = after(opened(), HOT, 20.0)
    assert step.instruction is Instruction.CLOSE_OUTSIDE
    step = after(step, HOT, 40.0)
    assert (step.instruction, step.bell) == (Instruction.CLOSE_OVERDUE, Bell.TROUBLE)
    step = after(mark(step, PLAN, Mark.CLOSED, 70.0), HOT, 71.0)
    found = step.judgement
    assert found.outcome is Outcome.OUTSIDE
    assert found.inside is False
    assert found.overdue_s == 50.0
    assert found.error.volume_ml < 0


def test_a_lost_reading_is_borne_a_while_then_the_plug_goes_in():
    step = after(after(opened(), GO, 14.0), BLIND, 20.0)
    assert (step.phase, step.bell) == (Phase.RUNNING_DOWN, Bell.TROUBLE)
    assert step.instruction is Instruction.READING_LOST
    assert after(step, GO, 30.0).instruction is Instruction.WATCH
    step = after(step, BLIND, 41.0)
    assert step.instruction is Instruction.CLOSE_BLIND
    step = after(mark(step, PLAN, Mark.CLOSED, 45.0), BLIND, 46.0)
    assert step.judgement.outcome is Outcome.UNKNOWN
    assert step.judgement.closed is None
    assert step.judgement.error is None


@pytest.mark.parametrize("reason", sorted(SENSOR))
def test_with_the_plug_out_a_doubted_sensor_is_as_good_as_none(reason):
    doubted = replace(GO, verdict=Verdict.NO_GO, reasons=(reason,))
    step = after(opened(), doubted, 20.0)
    assert step.instruction is Instruction.READING_LOST
    step = after(step, doubted, 41.0)
    assert step.instruction is Instruction.CLOSE_BLIND
    step = after(mark(step, PLAN, Mark.CLOSED, 45.0), doubted, 46.0)
    assert step.judgement.outcome is Outcome.UNKNOWN


def test_blind_the_last_known_shutting_still_counts():
    soon = replace(GO, stays_s=28.0)
    step = after(after(opened(), soon, 14.0), BLIND, 20.0)
    assert step.phase is Phase.RUNNING_DOWN
    assert after(step, BLIND, 27.0).instruction is Instruction.CLOSE_WINDOW


def test_nothing_came_add_look_again():
    step = after(mark(opened(), PLAN, Mark.NOTHING_CAME, 20.0), GO, 21.0)
    assert (step.phase, step.instruction) == (Phase.LOW, Instruction.ADD_FLUID)
    step = after(mark(step, PLAN, Mark.ADDED, 60.0, ml=250.0), GO, 61.0)
    assert (step.phase, step.added_ml) == (Phase.LOW, 250.0)
    step = after(mark(step, PLAN, Mark.STREAMING, 70.0), GO, 71.0)
    assert (step.phase, step.opened_at_s) == (Phase.RUNNING_DOWN, 70.0)
    step = after(step, GO, 140.0)
    step = after(mark(step, PLAN, Mark.CLOSED, 141.0), GO, 142.0)
    assert step.judgement.outcome is Outcome.NOT_OBSERVED
    assert step.judgement.added_ml == 250.0


def test_closing_while_low_is_judged_low():
    step = mark(mark(opened(), PLAN, Mark.NOTHING_CAME, 20.0), PLAN, Mark.CLOSED, 30.0)
    assert after(step, GO, 31.0).judgement.outcome is Outcome.NOTHING_CAME


@pytest.mark.parametrize("ml", [None, 0.0, -5.0, float("nan"), 50_000.0])
def test_an_impossible_amount_is_refused(ml):
    with pytest.raises(ValueError, match="added amount"):
        mark(opened(), PLAN, Mark.ADDED, 20.0, ml=ml)


def test_a_confirmation_must_say_what():
    with pytest.raises(ValueError, match="what it confirms"):
        mark(begin(0.0), PLAN, Mark.CONFIRMED, 1.0)


def test_opening_without_go_is_taken_and_said():
    step = mark(after(begin(0.0), COLD, 1.0), PLAN, Mark.OPENED, 2.0)
    assert (step.plug_open, step.on_go) == (True, False)
    step = after(step, COLD, 3.0)
    assert step.instruction is Instruction.CLOSE_OUTSIDE
    step = after(mark(step, PLAN, Mark.CLOSED, 9.0), COLD, 10.0)
    assert (step.judgement.outcome, step.judgement.on_go) == (Outcome.OUTSIDE, False)


def test_a_drip_opens_what_was_not_marked_as_open():
    step = mark(after(begin(0.0), GO, 1.0), PLAN, Mark.DRIP, 2.0)
    assert step.phase is Phase.RUNNING_DOWN
    assert step.drips_s == (0.0,)


def test_undo_does_not_forget_that_the_window_was_left():
    hot = replace(GO, temp_c=46.0, verdict=Verdict.NO_GO, reasons=(Reason.TOO_HOT,))
    step = after(mark(opened(), PLAN, Mark.DRIP, 20.0), hot, 25.0)
    assert step.left_window
    step = after(mark(step, PLAN, Mark.UNDO, 26.0), GO, 27.0)
    assert step.plug_open
    step = after(mark(step, PLAN, Mark.CLOSED, 28.0), GO, 29.0)
    assert step.judgement.outcome is Outcome.OUTSIDE


def test_undo_goes_back_one_mark_and_never_to_an_old_go():
    step = mark(opened(), PLAN, Mark.DRIP, 15.0)
    step = mark(step, PLAN, Mark.UNDO, 16.0)
    assert (step.phase, step.drips_s) == (Phase.RUNNING_DOWN, ())
    step = mark(step, PLAN, Mark.UNDO, 17.0)
    assert step.phase is Phase.GET_READY
    assert after(step, COLD, 18.0).phase is Phase.WAIT
    assert mark(begin(0.0), PLAN, Mark.UNDO, 1.0) == begin(0.0)


def test_undo_of_closing_keeps_that_it_was_outside_meanwhile():
    step = after(opened(), GO, 14.0)
    step = mark(step, PLAN, Mark.CLOSED, 15.0)
    step = mark(after(step, HOT, 16.0), PLAN, Mark.UNDO, 17.0)
    assert after(step, HOT, 18.0).left_window


def test_restart_begins_again_but_not_with_the_plug_out():
    step = opened()
    assert mark(step, PLAN, Mark.RESTART, 20.0) is step
    step = after(mark(step, PLAN, Mark.CLOSED, 30.0), GO, 31.0)
    step = mark(step, PLAN, Mark.RESTART, 40.0)
    assert (step.phase, step.attempt, step.judgement) == (Phase.PREPARE, 2, None)
    assert after(step, GO, 41.0).phase is Phase.GO


def test_what_remains_shrinks_once_open():
    step = after(opened(), GO, 13.0)
    before = remaining(begin(0.0), PLAN, 40.0, 0.0)
    assert before.p50_s == pytest.approx(60.0 + 2 * PLAN.react_s)
    assert remaining(step, PLAN, 40.0, 40.0).p50_s < before.p50_s - 25.0


def test_the_step_survives_json():
    step = after(mark(opened(), PLAN, Mark.DRIP, 16.0), GO, 20.0)
    for t in (21.0, 22.5, 24.0):
        step = after(mark(step, PLAN, Mark.DRIP, t), GO, t)
    again = from_plain(Step, json.loads(json.dumps(to_plain(step))))
    assert again == step
    closed = after(mark(step, PLAN, Mark.CLOSED, 30.0), GO, 31.0)
    assert from_plain(Step, json.loads(json.dumps(to_plain(closed)))) == closed


@pytest.mark.parametrize(
    "broken",
    [
        {"phase": "flying"},
        {"now_at_s": "soon"},
        {"drips_s": 3},
        {"seen": {"at_s": 1.0}},
        {"attempt": True},
    ],
)
def test_a_broken_record_is_one_clear_sentence(broken):
    with pytest.raises(ValueError, match="no Step"):
        from_plain(Step, broken)


def test_resuming_counts_the_time_away_and_admits_it():
    step = after(mark(opened(), PLAN, Mark.DRIP, 18.0), GO, 20.0)
    again = resume(from_plain(Step, to_plain(step)), now_s=1000.0, away_s=15.0)
    # opened at 12, left at 20, away 15 s: open for 23 s on the new clock
    assert again.opened_at_s == 977.0
    assert again.blind_s == ((8.0, 23.0),)
    assert again.went_blind
    assert after(again, BLIND, 1000.0).phase is Phase.RUNNING_DOWN
    assert after(again, BLIND, 1006.0).instruction is Instruction.CLOSE_BLIND
    step = after(mark(after(again, GO, 1001.0), PLAN, Mark.CLOSED, 1040.0), GO, 1041.0)
    assert step.judgement.outcome is Outcome.UNKNOWN


def test_resuming_does_not_bring_back_an_old_go():
    step = after(begin(0.0), GO, 1.0)
    again = resume(step, now_s=500.0, away_s=60.0)
    assert again.phase is Phase.GET_READY
    assert after(again, COLD, 501.0).phase is Phase.WAIT


def test_every_moment_of_a_step_moves_with_the_clock():
    step = after(opened(), GO, 20.0)
    moved = resume(step, now_s=step.now_at_s + 100.0, away_s=0.0)
    for name in ("opened_at_s", "phase_at_s", "shuts_at_s"):
        assert getattr(moved, name) == getattr(step, name) + 100.0
    assert moved.seen.at_s == step.seen.at_s + 100.0
    assert moved.past[0].now_at_s == step.past[0].now_at_s + 100.0


def test_every_instruction_has_one_plain_line():
    lines = [instruction_text(i) for i in Instruction]
    assert len(set(lines)) == len(lines)
    for line in lines:
        assert "\n" not in line
        assert len(line) <= 60
        assert line[0].isupper()
        assert line[-1] in ".?"


def test_a_plan_is_made_of_a_sheet():
    sheet = Sheet(
        name="t",
        source="t",
        window=WINDOW,
        settle_time_s=90.0,
        confirm=("cautions",),
    )
    plan = plan_of(sheet)
    assert (plan.window, plan.settle_s) == (WINDOW, 90.0)
    assert plan.confirm == (Confirmation.CAUTIONS,)
