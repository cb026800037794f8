"""The service on screen, by keyboard only: steps, ticks, amounts, the exercise."""

from __future__ import annotations

from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from bridge.service.exercise import Stage as ExerciseStage
from bridge.service.fastening import ticks_wanted
from bridge.service.log import Log, is_done, last, of, ticked
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.service_sheet import Fastener, Renewal, Service, StepKind, Tick
from bridge.values.sheet import Confirmation, Sheet
from tests.service.service_help import SHEET, Taker
from tests.tui.helpers import Stage, staged
from tests.tui.stage import WARM_UP
from tui.service.log_editor import LogEditor
from tui.service.pacing import PacingScreen
from tui.service.pages.finishing import steps_ticked
from tui.settings import Settings

COLD = WARM_UP.snapshot(WARM_UP.t_at(34.0), SHEET)


@asynccontextmanager
async def at_the_editor(tmp_path: Path, size=(120, 40)):
    async with staged(tmp_path, size=size, sheet=SHEET) as stage:
        taker = Taker()
        editor = LogEditor(SHEET, tell=taker.tell, who="K", utc=lambda: 1.8e9)
        stage.app.editor = editor
        await stage.play(COLD)
        await stage.press("j")
        yield stage, editor, taker.events


def besides_cautions(stage):
    """What was told, without the cautions that were read at the start."""
    read = Confirmation.CAUTIONS
    return [e for e in stage.feed.told if getattr(e, "confirms", None) is not read]


async def test_it_opens_at_the_first_open_step_with_the_gate_in_sight(
    tmp_path: Path,
) -> None:
    async with at_the_editor(tmp_path) as (stage, _, _):
        text = await stage.text()
        assert "NO-GO" in text
        assert "34.0" in text
        assert "0 of 16 steps done" in text
        assert "Hot fluid." in text


async def test_nothing_is_done_unseen(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path, size=(60, 20)) as (stage, editor, _):
        assert "I have read" not in await stage.text()
        text = await stage.press("enter")
        assert "I have read" in text
        assert editor.log == ()
        await stage.press("enter")
        assert is_done(editor.log, StepKind.CAUTIONS)
        assert "1 of 16 steps done" in await stage.text()  # without a new snapshot


async def go_to(stage: Stage, step: StepKind) -> str:
    order = SHEET.service.order
    for _ in range(order.index(step)):
        await stage.press("right")
    return await stage.text()


async def test_a_variant_that_does_not_fit_says_stop(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path) as (stage, _, _):
        await go_to(stage, StepKind.IDENTIFY)
        text = await stage.press("down", "enter")
        assert "STOP: this sheet is not for that gearbox" in text
        text = await stage.press("up", "up", "enter")
        assert "STOP" not in text


async def test_an_amount_is_asked_again_until_it_can_be_read(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path, size=(80, 24)) as (stage, editor, kept):
        await go_to(stage, StepKind.DRAIN)
        text = await stage.press("enter", *"much", "enter")
        assert "'much'" in text or '"much"' in text
        assert "for example" in text
        assert of(editor.log, ServiceKind.OUT) == ()
        await stage.press(*["backspace"] * 4, *"4.8 L at 35 C", "enter")
        told = last(editor.log, ServiceKind.OUT)
        assert told is not None
        assert (told.ml, told.temp_c, told.name) == (4800.0, 35.0, "sump")
        assert kept[-1].ml == 4800.0
        assert kept[-1].who == "K"
        text = await stage.text()
        assert "4.75 L" in text  # 4.8 L at 35 °C brought to 20 °C (API 11.1, 54D)
        await stage.press("z")
        assert of(editor.log, ServiceKind.OUT) == ()


async def test_letters_typed_into_an_answer_do_nothing_else(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path) as (stage, editor, _):
        await stage.press("n", *"quick jump z", "enter")
        note = last(editor.log, ServiceKind.NOTE)
        assert note is not None
        assert note.text == "quick jump z"
        assert "Note: quick jump z" in await stage.text()
        assert besides_cautions(stage) == []


async def test_ticks_toggle_and_the_missing_list_follows(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path, size=(120, 60)) as (stage, editor, _):
        await go_to(stage, StepKind.REFIT)
        assert "torque 25.0 N·m (18.4 lbf·ft)" in await stage.text()
        text = await stage.press("enter", "enter")
        both = {Tick.RENEWED, Tick.TIGHTENED}
        assert ticked(editor.log, Fastener(name="drain plug")) == both
        assert is_done(editor.log, StepKind.REFIT)  # with its last row, by itself
        assert "Done: refit plugs" in text
        await stage.press("left")
        text = await stage.press("up", "up", "up", "up", "down", "enter")
        assert "drain plug (hex 8 mm, M14x1.5): all ticked" in text
        assert "Enter once more to untick" in text
        assert ticked(editor.log, Fastener(name="drain plug")) == both
        stage.a_second_passes()
        text = await stage.press("enter")
        assert ticked(editor.log, Fastener(name="drain plug")) == {Tick.RENEWED}
        text = await stage.press("z")
        assert "Undone: step done: refit plugs" in text
        for _ in range(20):
            await stage.press("right")
        text = await stage.text()
        assert "drain plug: torque is not ticked off." in text
        assert "drain plug: new washer" not in text


async def test_the_exercise_by_the_clock_is_confirmed_and_told_the_gate(
    tmp_path: Path,
) -> None:
    async with at_the_editor(tmp_path) as (stage, editor, _):
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
        done = last(editor.log, ServiceKind.EXERCISED)
        assert done is not None
        assert "D 4" in done.text
        assert is_done(editor.log, StepKind.EXERCISE)


async def test_an_interrupted_exercise_does_not_count(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path) as (stage, editor, _):
        await go_to(stage, StepKind.EXERCISE)
        text = await stage.press("enter", "escape")
        assert "does not count" in text
        text = await stage.press("enter")
        assert "move the lever to P" in text
        text = await stage.press("escape", "escape")
        assert last(editor.log, ServiceKind.EXERCISED) is None
        assert "Interrupted" in text


@pytest.mark.slow
async def test_us_units_are_the_only_ones_shown(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path, size=(120, 60)) as (stage, editor, _):
        await stage.press("u")
        seen = await stage.text()
        for entry in (
            ServiceEvent(kind=ServiceKind.OUT, name="sump", ml=4800.0, temp_c=30.0),
            ServiceEvent(kind=ServiceKind.IN, ml=5000.0),
            ServiceEvent(kind=ServiceKind.ODOMETER, km=100.0, step=StepKind.BEFORE),
        ):
            editor.add(entry)
        for _ in SHEET.service.order:
            seen += await stage.press("right")
        assert " qt" in seen
        assert "lbf·ft" in seen
        assert " mi" in seen
        for unit in (" L ", " L,", " mL", "°C", "N·m", " km"):
            assert unit not in seen, unit


async def test_closing_lists_what_is_missing_and_does_not_block(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path, size=(120, 60)) as (stage, editor, kept):
        for _ in SHEET.service.order:
            await stage.press("right")
        assert "Still missing" in await stage.text()
        for _ in range(12):
            await stage.press("down")
        text = await stage.press("enter")
        assert editor.closed
        assert kept[-1].kind is ServiceKind.COMPLETE
        assert "drain plug: torque" in kept[-1].text
        assert "NOT complete" in text


async def test_a_sheet_without_a_service_says_so(tmp_path: Path) -> None:
    async with staged(tmp_path) as stage:
        text = await stage.press("j")
        assert "has the level step only" in text


async def test_too_small_a_terminal_says_so_and_does_nothing(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path, size=(60, 20)) as (stage, editor, _):
        text = await stage.resize(40, 12)
        assert "too small" in " ".join(text.split())
        await stage.press("enter", "enter")
        assert editor.log == ()
        assert "which gearbox" in await stage.resize(80, 24)


async def test_a_bare_terminal_gets_bare_signs(tmp_path: Path) -> None:
    async with staged(tmp_path, sheet=SHEET, settings=Settings(symbols="ascii")) as s:
        s.app.editor = LogEditor(SHEET, tell=Taker().tell)
        await s.play(COLD)
        await s.press("j")
        seen = await s.text()
        for _ in SHEET.service.order:
            seen += await s.press("right")
        assert seen.isascii()
        assert "> [ ] new washer" in seen


@pytest.mark.slow
async def test_back_from_the_live_screen_it_is_where_it_was_left(
    tmp_path: Path,
) -> None:
    async with at_the_editor(tmp_path) as (stage, _, _):
        await go_to(stage, StepKind.FILL)
        assert "Fluid in window" in await stage.press("j")
        text = await stage.press("j")
        assert "Fluid: the maker's fluid" in text


async def test_keys_of_the_live_screen_do_nothing_behind_it(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path) as (stage, _, _):
        await stage.press("question_mark", "p", "1", "c", "a", "l", "w", "t", "r")
        assert besides_cautions(stage) == []
        assert "The words on this screen" not in await stage.press("j")


@pytest.mark.slow
async def test_the_papers_are_one_page_at_every_step(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path) as (stage, editor, _):
        text = await stage.press("p")
        assert "Plate: type it" in text
        await stage.press("enter", *"AB 12", "enter")
        text = await stage.text()
        assert "Plate: AB 12" in text
        assert (editor.log[-1].name, editor.log[-1].who) == ("plate", "K")
        await stage.press("z")
        assert "Plate: type it" in await stage.text()
        text = await stage.press("p")
        assert "I have read" in text


async def test_a_paper_that_is_not_understood_is_asked_again(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path) as (stage, editor, _):
        await stage.press("p")
        for _ in range(20):
            await stage.press("down")
            page = stage.app.service_screen.query_one("#step-page")
            if page.item.word == "leak":
                break
        await stage.press("enter", *"pan wet", "enter")
        assert "then one of dry, damp, leaks" in await stage.text()
        assert editor.log == ()
        await stage.press("enter")
        await stage.press("escape")
        assert "The papers" in await stage.text()
        await stage.press("escape")
        assert "The papers:" not in await stage.text()


async def test_a_second_enter_does_nothing_on_a_page_enter_just_opened(
    tmp_path: Path,
) -> None:
    async with at_the_editor(tmp_path, size=(120, 60)) as (stage, editor, _):
        await go_to(stage, StepKind.REFIT)
        await stage.press("enter", "enter")
        assert is_done(editor.log, StepKind.REFIT)
        so_far = editor.log
        await stage.press("enter", "enter")
        assert editor.log == so_far
        assert len(stage.app.screen_stack) == 2


async def test_parts_are_ticked_together_and_end_the_step(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path, size=(120, 60)) as (stage, editor, _):
        text = await go_to(stage, StepKind.PARTS)
        assert "All here" in text
        await stage.press("enter")
        names = {e.name for e in of(editor.log, ServiceKind.AT_HAND)}
        assert names == {p.name for p in editor.service.parts}
        assert is_done(editor.log, StepKind.PARTS)


async def test_the_prompt_names_the_place_and_the_keys(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path, size=(120, 60)) as (stage, editor, _):
        await go_to(stage, StepKind.DRAIN)
        place = editor.service.drains[0].name
        for typed in ("", "4", "."):  # it stays while the answer is typed
            text = await stage.press(typed or "enter")
            assert f"{place} (usually" in text
            assert "how much, in liters" in text
            assert " Enter  save  Esc  cancel " in text


def test_a_judged_level_is_ticked_once_its_plug_is() -> None:
    plug = Fastener(
        name="level plug", step=StepKind.LEVEL, torque_nm=20.0, renew=(Renewal.WASHER,)
    )
    service = Service(order=(StepKind.LEVEL,), fasteners=(plug,))
    log: Log = (ServiceEvent(kind=ServiceKind.DONE, step=StepKind.LEVEL),)
    sheet = Sheet(name="t", source="t", service=service)
    assert steps_ticked(sheet, service, log) == frozenset()
    for tick in ticks_wanted(plug):
        log += (ServiceEvent(kind=ServiceKind.TICKED, name=plug.name, tick=tick),)
    assert steps_ticked(sheet, service, log) == {StepKind.LEVEL}


async def test_cautions_read_just_before_are_not_shown_as_open(tmp_path: Path) -> None:
    """The word that they were read may reach the service after it has opened."""
    async with at_the_editor(tmp_path, size=(100, 32)) as (stage, editor, _):
        screen = stage.app.service_screen
        assert screen is not None
        assert screen.step is StepKind.CAUTIONS
        editor.add(ServiceEvent(kind=ServiceKind.DONE, step=StepKind.CAUTIONS))
        stage.app.show()
        await stage.text()
        assert screen.step is StepKind.IDENTIFY


async def test_the_cursor_begins_at_what_the_step_needs_and_f_goes_to_its_end(
    tmp_path: Path,
) -> None:
    async with at_the_editor(tmp_path, size=(120, 60)) as (stage, editor, _):
        assert " f  end " in await go_to(stage, StepKind.FILL)
        page = stage.app.service_screen.query_one("#step-page")
        assert page.item.text.startswith("Went in")  # not how warm the fluid is
        await stage.press("f")
        assert page.item.finishes
        assert not is_done(editor.log, StepKind.FILL)  # f alone ends nothing
        await stage.press("enter")
        assert is_done(editor.log, StepKind.FILL)


async def test_a_variant_that_fits_ends_its_step_and_no_other(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path) as (stage, editor, _):
        await go_to(stage, StepKind.IDENTIFY)
        await stage.press("down", "enter")
        assert not is_done(editor.log, StepKind.IDENTIFY)
        await stage.press("up", "up", "enter")
        assert is_done(editor.log, StepKind.IDENTIFY)
        assert stage.app.service_screen.step is not StepKind.IDENTIFY
