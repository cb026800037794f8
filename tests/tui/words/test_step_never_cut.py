"""Every state of the level step at four sizes: what a decision needs is never cut."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.level.budget import Budget, BudgetPart, Source
from bridge.level.settling.settle_time import usual
from bridge.level.settling.settle_values import Settling
from bridge.level.step.step_values import (
    OPEN_PHASES,
    Instruction,
    Judgement,
    Outcome,
    Phase,
    Step,
    TempSeen,
)
from bridge.level.step.stick import Band, StickResult
from bridge.snapshot import Snapshot
from bridge.values.conditions import Verdict
from tests.tui.helpers import staged
from tests.tui.stage import SHEET, WARM_UP
from tui.live.screen_state import Contact, ScreenInputs, screen_state
from tui.words.instructions import instruction_text
from tui.words.result_words import Came, came_of, result

SIZES = [(60, 20), (80, 24), (120, 40), (160, 50)]
INSIDE = WARM_UP.snapshot(WARM_UP.t_at(47.0))
RUNNING = Settling(
    settle=usual(60.0, 0.3),
    settled_chance=0.63,
    timer_only=False,
    rate_per_s=2.0,
    more_ml=40.0,
)
BUDGET = Budget(
    parts=(
        BudgetPart(source=Source.TEMPERATURE, off_ml=-53.0, sd_ml=10.0),
        BudgetPart(source=Source.TILT),
        BudgetPart(source=Source.SENSOR),
    ),
    off_ml=-53.0,
    expanded_ml=20.0,
    off_mm=-1.8,
    expanded_mm=0.7,
)


def judgement(outcome: Outcome, closed_c: float | None = 47.0, **more) -> Judgement:
    closed = None if closed_c is None else TempSeen(at_s=0.0, temp_c=closed_c, sd_c=0.2)
    made = Judgement(
        outcome=outcome,
        opened=closed,
        closed=closed,
        open_s=80.0,
        inside=True,
        settled_chance=0.9,
        timer_only=False,
        on_go=True,
        overdue_s=None,
        claimed=0.95,
        error=None,
        budget=BUDGET,
        added_ml=0.0,
    )
    return replace(made, **more)


def at(phase: Phase, instruction: Instruction, **more: object) -> Snapshot:
    step = Step(phase=phase, instruction=instruction, now_at_s=80.0)
    return replace(INSIDE, step=replace(step, **more))  # type: ignore[arg-type]


def judged(outcome: Outcome, closed_c: float | None = 47.0, **more) -> Snapshot:
    return at(
        Phase.JUDGED,
        Instruction.JUDGED_AGAIN,
        opened_at_s=0.0,
        settling=RUNNING,
        judgement=judgement(outcome, closed_c, **more),
    )


STICK = StickResult(
    band=next(iter(Band)),
    reads=3,
    over_middle_mm=-6.0,
    expanded_mm=1.5,
    to_middle_ml=240.0,
)
RESULTS = [
    (judged(Outcome.GOOD), Came.GOOD),
    (judged(Outcome.NOT_OBSERVED, timer_only=True), Came.NOT_OBSERVED),
    (judged(Outcome.STILL_RUNNING, settled_chance=0.2), Came.TOO_HIGH),
    (judged(Outcome.NOTHING_CAME), Came.TOO_LOW),
    (judged(Outcome.OUTSIDE, 55.0), Came.TOO_LOW),
    (judged(Outcome.OUTSIDE, 55.0, settled_chance=0.1), Came.AGAIN),
    (judged(Outcome.OUTSIDE, 38.0), Came.TOO_HIGH),
    (judged(Outcome.OUTSIDE, 47.0), Came.AGAIN),
    (judged(Outcome.OUTSIDE, None), Came.AGAIN),
    (judged(Outcome.UNKNOWN, None, budget=None), Came.AGAIN),
    (judged(Outcome.BELOW, stick=STICK), Came.TOO_LOW),
    (judged(Outcome.ABOVE, stick=StickResult(band=None, reads=1)), Came.TOO_HIGH),
    (judged(Outcome.GOOD, stick=STICK), Came.GOOD),
]


def plain(text: str) -> str:
    """Return the screen as running text, so that a wrapped sentence can be found."""
    return " ".join(text.split())


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.few(1)
async def test_a_result_is_whole_at_every_size(size, tmp_path):
    left = size[0] - 47 if size[0] >= 110 else size[0]  # beside it, the list
    async with staged(tmp_path, size=size) as stage:
        for snapshot, came in RESULTS:
            text = await stage.play(snapshot)
            assert snapshot.step is not None
            told = result(snapshot.step, SHEET, "C")
            assert told is not None
            assert told.came is came
            shown = plain("\n".join(line[:left] for line in text.splitlines()))
            for words in (came.value, told.why, told.how_much, told.onward):
                assert words in shown
            for past in ("NO-GO", "opens", "shuts", "Not every condition"):
                assert past not in text


OPEN_STATES = [
    at(
        phase,
        Instruction.WATCH,
        opened_at_s=-3000.0,
        drips_s=tuple(float(n) for n in range(128)),
        settling=replace(RUNNING, more_ml=more_ml),
    )
    for phase in sorted(OPEN_PHASES)
    for more_ml in (40.0, None)
]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("verdict", [Verdict.GO, Verdict.NO_GO])
@pytest.mark.few(1)
async def test_while_the_plug_is_open_nothing_of_it_is_cut(verdict, size, tmp_path):
    async with staged(tmp_path, size=size) as stage:
        for snapshot in OPEN_STATES:
            shown = plain(await stage.play(replace(snapshot, verdict=verdict)))
            assert snapshot.step is not None
            assert snapshot.step.settling is not None
            known = snapshot.step.settling.more_ml is not None
            still = "about 40 mL still to come" if known else "still to come: not known"
            watch = instruction_text(Instruction.WATCH)
            for words in ("settled: 63 % likely", "128 drips marked", still, watch):
                assert words in shown


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.few(1)
async def test_what_to_do_now_is_whole_at_every_size(size, tmp_path):
    async with staged(tmp_path, size=size) as stage:
        for what in Instruction:
            phase = Phase.CLOSED if what is Instruction.TIGHTEN else Phase.GET_READY
            assert instruction_text(what) in plain(await stage.play(at(phase, what)))


@pytest.mark.parametrize("phase", [Phase.CLOSED, Phase.JUDGED])
def test_no_go_stands_once_the_plug_is_in(phase):
    snapshot = at(phase, Instruction.TIGHTEN, opened_at_s=0.0)
    assert snapshot.verdict is Verdict.GO
    view = ScreenInputs(sheet=SHEET, unit="C", contact=Contact.HELD, snapshot=snapshot)
    assert screen_state(view).verdict is Verdict.NO_GO


def test_the_side_follows_the_physics_of_the_fluid():
    """Set hot it shrinks below the opening: low; set cold it grows over it: high."""
    hot = judgement(Outcome.OUTSIDE, SHEET.window.high_c + 5.0)
    cold = judgement(Outcome.OUTSIDE, SHEET.window.low_c - 5.0)
    assert came_of(hot, SHEET) is Came.TOO_LOW
    assert came_of(cold, SHEET) is Came.TOO_HIGH


def test_every_outcome_has_a_word():
    for outcome in Outcome:
        told = judgement(outcome, budget=None)
        assert result(Step(judgement=told), SHEET, "C") is not None


@pytest.mark.parametrize(
    ("closed_c", "came"), [(50, Came.TOO_LOW), (44, Came.TOO_HIGH)]
)
def test_closed_off_the_sheets_temperature_names_the_side(closed_c, came):
    sheet = replace(SHEET, close_at_c=47.0)
    step = Step(judgement=judgement(Outcome.OFF_TEMPERATURE, float(closed_c)))
    told = result(step, sheet, "C")
    assert told is not None
    assert told.came is came
    assert "the sheet says 47.0 °C" in told.why


@pytest.mark.parametrize("ml", [-53.0, 53.0])
def test_how_much_names_side_and_budget(ml):
    budget = replace(BUDGET, off_ml=ml, off_mm=ml / 30)
    told = result(Step(judgement=judgement(Outcome.GOOD, budget=budget)), SHEET, "C")
    assert told is not None
    side = "low" if ml < 0 else "high"
    assert told.how_much == (
        f"About 53 mL {side}, ±20 mL (1.8 mm, ±0.7 mm), not counting the tilt or the "
        "sensor's accuracy."
    )


async def test_a_tiny_terminal_tells_result_and_open_plug(tmp_path):
    """40x12: what came of it and what next; how it runs down and what to do."""
    async with staged(tmp_path, size=(60, 20)) as stage:
        await stage.resize(40, 12)
        for snapshot, came in RESULTS:
            assert snapshot.step is not None
            told = result(snapshot.step, SHEET, "C")
            assert told is not None
            shown = plain(await stage.play(snapshot))
            assert f"{came.value}: {told.onward}" in shown
        for snapshot in OPEN_STATES:
            shown = plain(await stage.play(snapshot))
            assert "settled: 63 % likely" in shown
            assert "128 drips marked" in shown
            assert instruction_text(Instruction.WATCH) in shown
