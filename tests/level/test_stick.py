"""The stick: its marks by temperature, several readings, and what is said of them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.level.step.machine import advance, begin
from bridge.level.step.marks import mark
from bridge.level.step.plan import Plan
from bridge.level.step.step_values import (
    Instruction,
    Outcome,
    Phase,
    Step,
    StepView,
)
from bridge.level.step.stick import Beside, StickRead, marks_at, result
from bridge.values.conditions import Reason, Verdict
from bridge.values.events import Band, Mark, Marked
from bridge.values.outlook import Crossing, Outlook, Trend
from bridge.values.sheet import EngineRule, LevelMethod, Sheet, StickMarks, Window
from tui.inputs.answers import Refused
from tui.inputs.line_reader import LineReader
from tui.inputs.offers import marks_of
from tui.words import result_words
from tui.words.instructions import instruction_text
from tui.words.reason_words import REASONS

TABLE = (
    StickMarks(temp_c=20.0, low_mm=10.0, high_mm=18.0),
    StickMarks(temp_c=80.0, low_mm=40.0, high_mm=50.0),
)
PLAN = Plan(
    window=Window(low_c=70.0, high_c=80.0),
    method=LevelMethod.STICK,
    stick=TABLE,
    engine=EngineRule.OFF,
    area_cm2=400.0,
)
GO = StepView(
    verdict=Verdict.GO,
    temp_c=80.0,
    temp_sd_c=0.0,
    rate_c_per_s=-0.01,
    trend=Trend.COOLING,
    shuts=Crossing(p05_s=500.0, p50_s=600.0, p95_s=700.0, chance=1.0),
    outlook=Outlook.TELLING,
    stay_chance=0.99,
)


def reads(*mm: float, temp_c: float = 80.0) -> list[StickRead]:
    return [StickRead(at_s=0.0, temp_c=temp_c, sd_c=0.0, mm=m) for m in mm]


def at_go(plan: Plan = PLAN) -> Step:
    return advance(begin(0.0, method=plan.method), plan, GO, 1.0)


def read(step: Step, mm: float, plan: Plan = PLAN) -> Step:
    return mark(step, plan, Mark.STICK, step.now_at_s + 1.0, mm=mm)


def test_the_marks_lie_on_a_straight_line_between_two_rows() -> None:
    assert marks_at(TABLE, 50.0) == (25.0, 34.0)  # the middle, by hand
    assert marks_at(TABLE, 0.0) == (10.0, 18.0)
    assert marks_at(TABLE, 120.0) == (40.0, 50.0)


def test_one_reading_proves_nothing() -> None:
    assert result(reads(45.0), TABLE) is None


@pytest.mark.parametrize(
    ("mm", "band"),
    [
        ((45.0, 45.0), Band.INSIDE),
        ((30.0, 30.5), Band.BELOW),
        ((60.0, 59.0), Band.ABOVE),
        ((40.5, 40.0), None),  # at a mark: another one is needed
        ((42.0, 49.0), None),  # they contradict each other
    ],
)
def test_two_that_agree_tell(mm: tuple[float, ...], band: Band | None) -> None:
    found = result(reads(*mm), TABLE)
    assert (found.band if found else None) is band


def test_what_reaches_over_a_mark_to_the_end_cannot_be_told() -> None:
    found = result(reads(*[40.0] * 6), TABLE)
    assert found is not None
    assert found.band is None


def test_the_amount_is_the_height_over_the_area() -> None:
    """15 mm under the middle over 400 cm2: 600 mL (1 mm over 100 cm2 is 10 mL)."""
    found = result(reads(30.0, 30.0), TABLE, 400.0)
    assert found is not None
    assert found.over_middle_mm == -15.0
    assert found.to_middle_ml == pytest.approx(600.0)
    assert found.expanded_mm == pytest.approx(2.0 / 2**0.5)  # 2 x 1 mm over root two


def test_the_heat_at_the_reading_moves_the_marks() -> None:
    cold = result(reads(14.0, 14.0, temp_c=20.0), TABLE)
    hot = result(reads(14.0, 14.0, temp_c=80.0), TABLE)
    assert (cold.band if cold else None) is Band.INSIDE
    assert (hot.band if hot else None) is Band.BELOW


def test_a_stick_is_led_without_a_plug() -> None:
    step = at_go()
    assert (step.phase, step.instruction) == (Phase.GO, Instruction.READ_STICK)
    step = read(step, 45.0)
    assert step.instruction is Instruction.READ_AGAIN
    step = advance(step, PLAN, GO, step.now_at_s + 1.0)
    assert (step.phase, step.instruction) == (Phase.GO, Instruction.READ_AGAIN)
    step = read(step, 45.5)
    assert step.phase is Phase.JUDGED
    assert step.judgement is not None
    assert step.judgement.outcome is Outcome.GOOD
    later = advance(step, PLAN, GO, step.now_at_s + 60.0)
    assert later.judgement == step.judgement
    assert later.instruction is Instruction.JUDGED_GOOD


def test_nothing_of_a_plug_is_offered_or_taken() -> None:
    step = at_go()
    assert [o.word for o in marks_of(step)][:1] == ["stick"]
    assert "opened" not in [o.word for o in marks_of(step)]
    for what in (Mark.OPENED, Mark.DRIP, Mark.CLOSED, Mark.NOTHING_CAME):
        assert mark(step, PLAN, what, 2.0) is step


@pytest.mark.parametrize("what", [i for i in Instruction if "stick" in i.value])
def test_the_words_of_a_stick_know_no_plug(what: Instruction) -> None:
    assert "plug" not in instruction_text(what)


def test_a_reading_without_go_counts_for_nothing() -> None:
    no = replace(GO, verdict=Verdict.NO_GO, reasons=(Reason.TOO_HOT,), temp_c=82.0)
    step = advance(begin(0.0, method=LevelMethod.STICK), PLAN, no, 1.0)
    assert read(step, 45.0) is step
    assert step.instruction is not Instruction.READ_STICK


def test_after_topping_up_it_is_read_afresh() -> None:
    step = read(read(at_go(), 30.0), 30.0)
    assert step.judgement is not None
    assert step.judgement.outcome is Outcome.BELOW
    assert step.instruction is Instruction.TOP_UP
    step = mark(step, PLAN, Mark.ADDED, step.now_at_s + 5.0, ml=600.0)
    assert (step.judgement, step.reads) == (None, ())
    step = advance(step, PLAN, GO, step.now_at_s + 5.0)
    assert step.instruction is Instruction.READ_STICK
    step = read(read(step, 45.0), 45.0)
    assert step.judgement is not None
    assert step.judgement.outcome is Outcome.GOOD
    assert step.judgement.added_ml == 600.0


def test_without_a_table_the_person_says_where_it_stands() -> None:
    plan = replace(PLAN, stick=())
    step = at_go(plan)
    for _ in range(2):
        step = mark(step, plan, Mark.STICK, step.now_at_s + 1.0, band=Band.ABOVE)
    assert step.judgement is not None
    assert step.judgement.outcome is Outcome.ABOVE
    assert step.instruction is Instruction.DRAW_OFF
    with pytest.raises(ValueError, match="how high"):
        mark(at_go(), PLAN, Mark.STICK, 2.0, band=Band.INSIDE)  # a table wants mm


def test_an_engine_off_sheet_first_seen_warming_says_to_warm_it() -> None:
    warming = replace(
        GO,
        verdict=Verdict.NO_GO,
        reasons=(Reason.TOO_COLD, Reason.ENGINE_RUNNING),
        temp_c=40.0,
        trend=Trend.WARMING,
    )
    step = advance(begin(0.0, method=LevelMethod.STICK), PLAN, warming, 1.0)
    assert (step.phase, step.instruction) == (Phase.WAIT, Instruction.WARM_FIRST)


def test_the_banner_of_a_stick_job_speaks_of_no_plug() -> None:
    for reason in (Reason.TOO_COLD, Reason.TOO_HOT):
        assert "plug" not in REASONS[reason].remedy


def doubt(*mm: float, beside: Beside = Beside()) -> float:  # noqa: B008 - frozen
    found = result(reads(*mm), WIDE, 400.0, beside)
    assert found is not None
    assert found.expanded_mm is not None
    return found.expanded_mm


WIDE = (StickMarks(temp_c=20.0, low_mm=0.0, high_mm=90.0),)


def test_few_readings_that_scatter_are_known_badly() -> None:
    """JCGM 100, G.3.2 and table G.2: t is 4.53 with two degrees of freedom."""
    assert doubt(45.0, 45.0) == pytest.approx(2.0 / 2**0.5)  # a careful hand's
    assert doubt(44.0, 46.0, 45.0) == pytest.approx(4.53 / 3**0.5)
    assert doubt(45.0, 46.0) == pytest.approx(13.97 * 0.5**0.5 / 2**0.5)


def test_what_the_sensor_and_the_lean_are_worth_is_in_it() -> None:
    steep = (
        StickMarks(temp_c=70.0, low_mm=0.0, high_mm=40.0),
        StickMarks(temp_c=90.0, low_mm=10.0, high_mm=50.0),
    )
    beside = Beside(sensor_accuracy_c=6.0, tilt_sd_mm=2.0)
    found = result(reads(25.0, 25.0), steep, 400.0, beside)
    assert found is not None  # half a millimeter a kelvin
    by_hand = 2.0 * (0.5 + 0.25 * 36.0 / 3.0 + 4.0) ** 0.5
    assert found.expanded_mm == pytest.approx(by_hand)
    bare = result(reads(25.0, 25.0), steep, 400.0)
    assert bare is not None
    assert bare.expanded_mm == pytest.approx(2.0 * 0.5**0.5)


def test_a_sheets_sensor_and_tilt_reach_the_judgement() -> None:
    """A band of 10 mm proven without them is not with them."""
    poor = replace(
        PLAN, sensor_accuracy_c=2.0, tilt_limit_deg=1.0, opening_forward_mm=400.0
    )
    judged = [read(read(at_go(p), 45.0, p), 45.0, p).judgement for p in (PLAN, poor)]
    assert judged[0] is not None
    assert judged[0].outcome is Outcome.GOOD
    assert judged[0].budget is not None
    assert [s.value for s in judged[0].budget.unknown] == ["sensor", "tilt"]
    assert judged[1] is None


def test_the_budget_stands_on_screen_and_says_what_it_leaves_out() -> None:
    step = read(read(at_go(), 43.0), 43.0)
    said = result_words.result(step, Sheet(name="t", source="t"), "C")
    assert said is not None
    assert said.how_much.endswith("not counting the sensor's accuracy or the tilt.")


def test_a_height_no_fluid_comes_to_is_asked_back_once() -> None:
    reader = LineReader(
        Sheet(name="t", source="t", method=LevelMethod.STICK, stick=TABLE)
    )
    for line in ("stick 450 mm", "stick -5 mm"):
        asked = reader.read(line)
        assert isinstance(asked, Refused)
        assert asked.again
        assert isinstance(reader.read(line), Marked)
    assert isinstance(reader.read("stick 45 mm"), Marked)
