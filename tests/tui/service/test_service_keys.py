"""Fewer keys in the service, and still nothing signed unseen."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from textual.events import Key

from bridge.service.log import is_done, last, of, ticked
from bridge.values.service_events import ServiceKind
from bridge.values.service_sheet import Fastener, StepKind, Tick
from tests.tui.service.test_service_screen import at_the_editor, go_to
from tui.words.cautions import at_step
from tui.words.screen import pages


async def test_the_first_digit_begins_the_answer(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path) as (stage, editor, _):
        text = await go_to(stage, StepKind.DRAIN)
        assert "0-9  type it" in text
        text = await stage.press("4")
        assert "how much, in liters" in text
        await stage.press(".", "8", "enter")
        told = last(editor.log, ServiceKind.OUT)
        assert told is not None
        assert told.ml == 4800.0


async def test_what_is_typed_fast_comes_in_whole(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path) as (stage, editor, _):
        await go_to(stage, StepKind.DRAIN)
        for character in "4.8 at 35":
            name = {" ": "space", ".": "full_stop"}.get(character, character)
            stage.app.post_message(Key(name, character))
        stage.app.post_message(Key("enter", None))
        await stage.text()
        told = last(editor.log, ServiceKind.OUT)
        assert told is not None
        assert (told.ml, told.temp_c) == (4800.0, 35.0)


async def test_a_digit_on_a_row_that_asks_for_no_figure_does_nothing(
    tmp_path: Path,
) -> None:
    async with at_the_editor(tmp_path) as (stage, _, kept):
        before = await go_to(stage, StepKind.PARTS)
        assert await stage.press("4") == before
        assert kept == []


async def test_f_ends_a_step_whose_end_is_in_sight(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path, size=(120, 60)) as (stage, editor, _):
        await go_to(stage, StepKind.OLD_FLUID)
        await stage.press("enter", "f")
        assert is_done(editor.log, StepKind.OLD_FLUID)


async def test_f_ends_nothing_that_is_open_or_out_of_sight(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path, size=(120, 60)) as (stage, editor, _):
        await go_to(stage, StepKind.REFIT)
        await stage.press("f", "f")
        assert not is_done(editor.log, StepKind.REFIT), "its torque is open"
    async with at_the_editor(tmp_path, size=(60, 20)) as (stage, editor, _):
        await go_to(stage, StepKind.OLD_FLUID)
        text = await stage.press("f")
        assert not is_done(editor.log, StepKind.OLD_FLUID), "its end was not in sight"
        assert "▶ [ ] This step is done" in text
        await stage.press("f")
        assert is_done(editor.log, StepKind.OLD_FLUID)


async def test_f_neither_reads_cautions_nor_chooses_a_variant(tmp_path: Path) -> None:
    async with at_the_editor(tmp_path, size=(120, 60)) as (stage, editor, kept):
        await stage.press("f", "f")
        await go_to(stage, StepKind.IDENTIFY)
        await stage.press("f", "f")
        assert not is_done(editor.log, StepKind.CAUTIONS)
        assert not is_done(editor.log, StepKind.IDENTIFY)
        assert kept == []


async def test_the_cursor_goes_to_what_is_still_open_wherever_it_is(
    tmp_path: Path,
) -> None:
    async with at_the_editor(tmp_path, size=(120, 60)) as (stage, editor, _):
        await go_to(stage, StepKind.REFIT)
        text = await stage.press("down", "enter")  # torque first, then back up
        drain = Fastener(name="drain plug")
        assert ticked(editor.log, drain) == {Tick.TIGHTENED}
        assert "▶ [ ] new washer" in text
        await stage.press("enter")
        assert ticked(editor.log, drain) == {Tick.TIGHTENED, Tick.RENEWED}


async def test_the_cautions_of_a_step_are_kept_as_shown_and_as_confirmed(
    tmp_path: Path,
) -> None:
    async with at_the_editor(tmp_path, size=(120, 60)) as (stage, editor, _):
        kept: list[dict[str, Any]] = []
        stage.app._notebook._tell = lambda _, told: kept.append(told)
        await go_to(stage, StepKind.DRAIN)
        own = at_step(StepKind.DRAIN, pages.own_of(editor.sheet))
        assert own
        assert {"act": "shown", "lines": list(own)} in kept
        assert [t for t in kept if t["act"] == "confirmed"] == []
        await stage.press("4", "enter", "1", "enter")  # both drains
        assert is_done(editor.log, StepKind.DRAIN)
        assert [t["lines"] for t in kept if t["act"] == "confirmed"] == [list(own)]
        shown = [t for t in kept if t["act"] == "shown" and t["lines"] == list(own)]
        assert len(shown) == 1


async def test_cautions_on_a_page_too_small_to_read_are_not_kept_as_shown(
    tmp_path: Path,
) -> None:
    async with at_the_editor(tmp_path, size=(120, 60)) as (stage, editor, _):
        kept: list[dict[str, Any]] = []
        stage.app._notebook._tell = lambda _, told: kept.append(told)
        await stage.resize(40, 12)
        await go_to(stage, StepKind.DRAIN)
        assert kept == []
        await stage.resize(120, 60)
        await stage.play()
        assert of(editor.log, ServiceKind.OUT) == ()
