"""The service on screen, by keyboard only: steps, ticks, amounts, the exercise."""

from __future__ import annotations

from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from bridge.core.exercise import Stage as ExerciseStage
from bridge.core.model import Snapshot
from bridge.core.procedure_model import Judgement, Outcome, Step
from bridge.core.service import Deed, Entry, is_done, last, of, ticked
from bridge.core.service_sheet import StepKind, Tick
from tests.tui.helpers import Stage, staged
from tests.tui.stage import WARM_UP
from tests.unit.service_help import SHEET
from tui import steptalk
from tui.service.desk import Desk
from tui.service.pacing import PacingScreen
from tui.settings import Settings

COLD = WARM_UP.snapshot(WARM_UP.t_at(34.0), SHEET)


@asynccontextmanager
async def at_the_desk(tmp_path: Path, size=(120, 40)):
    async with staged(tmp_path, size=size, sheet=SHEET) as stage:
        kept: list[dict] = []
        desk = Desk(
            SHEET, keep=lambda kind, told: kept.append(told), utc=lambda: 1.8e9, who="K"
        )
        stage.app.desk = desk
        await stage.play(COLD)
        await stage.press("j")
        yield stage, desk, kept


async def test_it_opens_at_the_first_open_step_with_the_gate_in_sight(
    tmp_path: Path,
) -> None:
    async with at_the_desk(tmp_path) as (stage, _, _):
        text = await stage.text()
        assert "NO-GO" in text
        assert "34.0" in text
        assert "0 of 16 steps done" in text
        assert "Hot fluid." in text


async def test_nothing_is_done_unseen(tmp_path: Path) -> None:
    async with at_the_desk(tmp_path, size=(60, 20)) as (stage, desk, _):
        assert "I have read" not in await stage.text()
        text = await stage.press("enter")
        assert "I have read" in text
        assert desk.log == ()
        await stage.press("enter")
        assert is_done(desk.log, StepKind.CAUTIONS)
        assert "1 of 16 steps done" in await stage.text()  # without a new snapshot


async def go_to(stage: Stage, step: StepKind) -> str:
    order = SHEET.service.order
    for _ in range(order.index(step)):
        await stage.press("right")
    return await stage.text()


async def test_a_variant_that_does_not_fit_says_stop(tmp_path: Path) -> None:
    async with at_the_desk(tmp_path) as (stage, _, _):
        await go_to(stage, StepKind.IDENTIFY)
        text = await stage.press("down", "enter")
        assert "STOP: this sheet is not for that gearbox" in text
        text = await stage.press("up", "up", "enter")
        assert "STOP" not in text


async def test_an_amount_is_asked_again_until_it_can_be_read(tmp_path: Path) -> None:
    async with at_the_desk(tmp_path, size=(80, 24)) as (stage, desk, kept):
        await go_to(stage, StepKind.DRAIN)
        text = await stage.press("enter", *"much", "enter")
        assert "'much'" in text or '"much"' in text
        assert "4.8 L" in text
        assert of(desk.log, Deed.OUT) == ()
        await stage.press(*["backspace"] * 4, *"4.8 L at 35 C", "enter")
        told = last(desk.log, Deed.OUT)
        assert told is not None
        assert (told.ml, told.temp_c, told.name) == (4800.0, 35.0, "sump")
        assert kept[-1]["ml"] == 4800.0
        assert kept[-1]["who"] == "K"
        text = await stage.text()
        assert "4.75 L" in text  # 4.8 L at 35 °C brought to 20 °C (API 11.1, 54D)
        await stage.press("z")
        assert of(desk.log, Deed.OUT) == ()


async def test_letters_typed_into_an_answer_do_nothing_else(tmp_path: Path) -> None:
    async with at_the_desk(tmp_path) as (stage, desk, _):
        await stage.press("n", *"quick jump z", "enter")
        note = last(desk.log, Deed.NOTE)
        assert note is not None
        assert note.text == "quick jump z"
        assert "Note: quick jump z" in await stage.text()
        assert stage.feed.told == []


async def test_ticks_toggle_and_the_missing_list_follows(tmp_path: Path) -> None:
    async with at_the_desk(tmp_path, size=(120, 60)) as (stage, desk, _):
        await go_to(stage, StepKind.REFIT)
        assert "torque 25.0 N·m (18.4 lbf·ft)" in await stage.text()
        text = await stage.press("enter", "enter")
        assert ticked(desk.log, "drain plug") == {Tick.RENEWED, Tick.TIGHTENED}
        assert "drain plug (hex 8 mm, M14x1.5): all ticked" in text
        await stage.press("up", "enter")
        assert ticked(desk.log, "drain plug") == {Tick.RENEWED}
        for _ in range(20):
            await stage.press("right")
        text = await stage.text()
        assert "drain plug: torque is not ticked off." in text
        assert "drain plug: new washer" not in text


async def test_the_exercise_by_the_clock_is_confirmed_and_told_the_gate(
    tmp_path: Path,
) -> None:
    async with at_the_desk(tmp_path) as (stage, desk, _):
        await go_to(stage, StepKind.EXERCISE)
        text = await stage.press("enter")
        assert "move the lever to P" in text
        screen = stage.app.screen
        assert isinstance(screen, PacingScreen)
        for _ in range(400):
            stage.clock.now_s += 0.01  # a tenth of a second at ten times life
            screen._tick()
            if screen.exercising.stage is ExerciseStage.TO_CONFIRM:
                break
        assert screen.exercising.held_s == pytest.approx((4.0,) * 4, abs=0.11)
        text = await stage.press("enter", "enter")
        done = last(desk.log, Deed.EXERCISED)
        assert done is not None
        assert "D 4" in done.text
        assert is_done(desk.log, StepKind.EXERCISE)


async def test_an_interrupted_exercise_does_not_count(tmp_path: Path) -> None:
    async with at_the_desk(tmp_path) as (stage, desk, _):
        await go_to(stage, StepKind.EXERCISE)
        text = await stage.press("enter", "escape")
        assert "does not count" in text
        text = await stage.press("enter")
        assert "move the lever to P" in text
        text = await stage.press("escape", "escape")
        assert last(desk.log, Deed.EXERCISED) is None
        assert "Interrupted" in text


async def test_us_units_are_the_only_ones_shown(tmp_path: Path) -> None:
    async with at_the_desk(tmp_path, size=(120, 60)) as (stage, desk, _):
        await stage.press("u")
        seen = await stage.text()
        for entry in (
            Entry(deed=Deed.OUT, at_utc_s=1.0, name="sump", ml=4800.0, temp_c=30.0),
            Entry(deed=Deed.IN, at_utc_s=1.0, ml=5000.0),
            Entry(deed=Deed.ODOMETER, at_utc_s=1.0, km=100.0, step=StepKind.BEFORE),
        ):
            desk.add(entry)
        for _ in SHEET.service.order:
            seen += await stage.press("right")
        assert " qt" in seen
        assert "lbf·ft" in seen
        assert " mi" in seen
        for unit in (" L ", " L,", " mL", "°C", "N·m", " km"):
            assert unit not in seen, unit


async def test_closing_lists_what_is_missing_and_does_not_block(tmp_path: Path) -> None:
    async with at_the_desk(tmp_path, size=(120, 60)) as (stage, desk, kept):
        for _ in SHEET.service.order:
            await stage.press("right")
        assert "Still missing" in await stage.text()
        for _ in range(12):
            await stage.press("down")
        text = await stage.press("enter")
        assert desk.complete
        assert kept[-1]["deed"] == "complete"
        assert "drain plug: torque" in kept[-1]["text"]
        assert "missing on record" in text


async def test_a_sheet_without_a_service_says_so(tmp_path: Path) -> None:
    async with staged(tmp_path) as stage:
        text = await stage.press("j")
        assert "tells the level step only" in text


async def test_too_small_a_terminal_says_so_and_does_nothing(tmp_path: Path) -> None:
    async with at_the_desk(tmp_path, size=(60, 20)) as (stage, desk, _):
        text = await stage.resize(40, 12)
        assert "too small" in " ".join(text.split())
        await stage.press("enter", "enter")
        assert desk.log == ()
        assert "which gearbox" in await stage.resize(80, 24)


async def test_a_bare_terminal_gets_bare_signs(tmp_path: Path) -> None:
    async with staged(tmp_path, sheet=SHEET, settings=Settings(symbols="ascii")) as s:
        s.app.desk = Desk(SHEET)
        await s.play(COLD)
        await s.press("j")
        seen = await s.text()
        for _ in SHEET.service.order:
            seen += await s.press("right")
        assert seen.isascii()
        assert "> [ ] new washer" in seen


async def test_back_from_the_live_screen_it_is_where_it_was_left(
    tmp_path: Path,
) -> None:
    async with at_the_desk(tmp_path) as (stage, _, _):
        await go_to(stage, StepKind.FILL)
        assert "Fluid in window" in await stage.press("j")
        text = await stage.press("j")
        assert "Fluid: the maker's fluid" in text


async def test_keys_of_the_live_screen_do_nothing_behind_it(tmp_path: Path) -> None:
    async with at_the_desk(tmp_path) as (stage, _, _):
        await stage.press("question_mark", "p", "1", "c", "a", "l", "w", "t", "r")
        assert stage.feed.told == []
        assert "The words on this screen" not in await stage.press("j")


async def test_a_new_judgement_takes_the_place_of_the_one_before(
    tmp_path: Path,
) -> None:
    async with at_the_desk(tmp_path) as (stage, desk, _):
        # As left by an earlier run of the program: attempt 1 was good.
        desk.add(Entry(deed=Deed.LEVEL, at_utc_s=0.0, text="good", step=StepKind.LEVEL))
        desk.add(Entry(deed=Deed.DONE, at_utc_s=0.0, step=StepKind.LEVEL))

        def judged(outcome: Outcome | None) -> Snapshot:
            found = judgement(outcome) if outcome else None
            return replace(COLD, step=Step(attempt=1, judgement=found))

        await stage.play(judged(None))
        assert is_done(desk.log, StepKind.LEVEL)  # nothing judged yet in this run
        await stage.play(judged(Outcome.OUTSIDE), judged(Outcome.OUTSIDE))
        told = of(desk.log, Deed.LEVEL)
        assert [e.text for e in told] == [outcome_text(Outcome.OUTSIDE)]
        assert not is_done(desk.log, StepKind.LEVEL)
        await stage.play(judged(None))  # the mark was taken back
        assert of(desk.log, Deed.LEVEL) == ()
        await stage.play(judged(Outcome.GOOD))
        assert is_done(desk.log, StepKind.LEVEL)


def judgement(outcome: Outcome) -> Judgement:
    return Judgement(
        outcome=outcome,
        opened=None,
        closed=None,
        open_s=60.0,
        inside=None,
        settled_chance=1.0,
        timer_only=True,
        on_go=True,
        overdue_s=None,
        claimed=None,
        error=None,
        error_sd_ml=None,
        added_ml=0.0,
    )


def outcome_text(outcome: Outcome) -> str:
    return steptalk.outcome(judgement(outcome))
