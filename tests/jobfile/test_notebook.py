"""Notes and cautions on the screen: what reaches the job file, what is said of them."""

from __future__ import annotations

from collections.abc import AsyncIterator
from concurrent.futures import Future
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import pytest

from bridge.jobfile.file.chain import Row, from_body
from bridge.jobfile.file.check import FileState, check
from bridge.jobfile.recorder import Recorder, start
from bridge.jobfile.report.compose import compose
from bridge.jobfile.report.report_text import as_text
from bridge.jobfile.report.summary import tell
from bridge.units import Units
from bridge.values.events import Marked
from bridge.values.sheet import Confirmation
from tests.jobfile.job_help import complain, job
from tests.tui.helpers import Clock, Stage, settle
from tests.tui.stage import SHEET, WARM_UP, StagedFeed
from tui.live.app import SumpgateApp
from tui.settings import Settings
from tui.words.screen import pages

SNAPSHOT = WARM_UP.snapshot(WARM_UP.t_at(47.0))


@asynccontextmanager
async def on_screen(
    folder: Path, diary: Any, *, size=(100, 44)
) -> AsyncIterator[Stage]:
    feed, clock = StagedFeed(), Clock()
    app = SumpgateApp(
        sheet=SHEET,
        feed=feed,
        settings=Settings(),
        source="bench",
        settings_path=folder / "settings.toml",
        clock=clock,
        diary=diary,
    )
    async with app.run_test(size=size) as pilot:
        stage = Stage(app=app, feed=feed, clock=clock, pilot=pilot)
        await settle(pilot)
        feed.deliver(SNAPSHOT)
        app.check_contact()
        await settle(pilot)
        yield stage


@pytest.fixture
def recorder(tmp_path: Path) -> Recorder:
    return start(tmp_path / "a.job", job(), complain)


def kept(path: Path, kind: str) -> list[dict[str, Any]]:
    found: list[Row] = []
    assert check(path, found.append).state is FileState.INTACT
    return [from_body(r.body) for r in found if r.kind == kind]


async def said(stage: Stage, words: str) -> None:
    """Wait until these words stand on the screen."""
    for _ in range(400):
        # time passes: a sentence made long by a long path stands its time first
        stage.clock.now_s += 0.1
        stage.app.show()
        if words in " ".join((await stage.text()).split()):  # a long path wraps it
            return
        await stage.pilot.pause(0.02)
    raise AssertionError(f"nothing says {words!r}: {await stage.text()}")


async def test_a_note_typed_is_on_the_disk_when_it_is_said_to_be(
    tmp_path: Path, recorder: Recorder
) -> None:
    async with on_screen(tmp_path, recorder.note_event) as stage:
        await stage.press("enter", "w")
        for char in "Bolt 3 seized, é, q!":
            await stage.pilot.press("space" if char == " " else char)
        assert "Bolt 3 seized, é, q!_" in await stage.text()
        await stage.press("enter")
        await said(stage, "The note is written down: event")
        # Already now, with the recorder still open, another reader finds it.
        assert (
            tell(recorder.path).of("note")[0].content["text"] == "Bolt 3 seized, é, q!"
        )
        assert not any(m.mark.value == "opened" for m in stage.feed.told)
    assert recorder.close()
    assert kept(recorder.path, "note")[0]["text"] == "Bolt 3 seized, é, q!"


async def test_a_note_can_be_dropped_and_an_empty_one_is_none(
    tmp_path: Path, recorder: Recorder
) -> None:
    async with on_screen(tmp_path, recorder.note_event) as stage:
        await stage.press("enter", "w", "x", "y", "backspace", "escape")
        await stage.press("w", "space", "enter")
    assert recorder.close()
    assert kept(recorder.path, "note") == []


@pytest.mark.slow
async def test_the_end_of_a_long_note_shows_while_it_is_typed(
    tmp_path: Path, recorder: Recorder
) -> None:
    async with on_screen(tmp_path, recorder.note_event) as stage:
        await stage.press("enter", "w", *("a" * 120), *"zEND")
        assert "azEND_" in await stage.text()
    recorder.close()


async def test_without_a_job_file_a_note_is_refused_in_a_sentence(
    tmp_path: Path,
) -> None:
    async with on_screen(tmp_path, None) as stage:
        await stage.press("enter", "w")
        await said(stage, "Nothing is recorded")
        await stage.press("u")  # the keys are keys again
        assert "°F" in await stage.text()


async def test_a_note_the_file_does_not_take_is_said_to_be_lost(tmp_path: Path) -> None:
    def full(_: str, __: dict[str, Any]) -> Future[int]:
        done: Future[int] = Future()
        done.cancel()
        done.set_running_or_notify_cancel()
        return done

    async with on_screen(tmp_path, full) as stage:
        await stage.press("enter", "w", "x", "enter")
        await said(stage, "NOT written down")


async def test_cautions_are_kept_in_their_words_shown_and_confirmed(
    tmp_path: Path, recorder: Recorder
) -> None:
    async with on_screen(tmp_path, recorder.note_event) as stage:
        assert [e["act"] for e in _told(recorder)] == ["shown"]
        await stage.press("enter")
    assert recorder.close()
    events = kept(recorder.path, "caution")
    assert [e["act"] for e in events] == ["shown", "confirmed"]
    for event in events:
        assert event["lines"] == pages.cautions(SHEET)
        assert SHEET.cautions[0] in event["lines"]
    report = as_text(compose(tell(recorder.path), Units.METRIC))
    line = next(s for s in report.splitlines() if SHEET.cautions[0] in s)
    assert line.count("UTC") == 2
    assert "not confirmed" not in line


def _told(recorder: Recorder) -> list[dict[str, Any]]:
    recorder.note_event("mark-of-test", {}).result(30)  # all before it is written
    return [m.content for m in tell(recorder.path).of("caution")]


async def test_cautions_that_were_not_confirmed_are_said_not_to_be(
    tmp_path: Path, recorder: Recorder
) -> None:
    async with on_screen(tmp_path, recorder.note_event):
        pass
    assert recorder.close()
    report = as_text(compose(tell(recorder.path), Units.METRIC))
    assert report.count("not confirmed") == len(pages.cautions(SHEET))


async def test_on_a_screen_too_small_to_read_them_none_count_as_shown(
    tmp_path: Path, recorder: Recorder
) -> None:
    async with on_screen(tmp_path, recorder.note_event, size=(40, 10)) as stage:
        await stage.press("enter")
    assert recorder.close()
    assert kept(recorder.path, "caution") == []
    report = as_text(compose(tell(recorder.path), Units.METRIC))
    assert "any caution was shown is not in the record" in report


async def test_a_confirmation_taken_back_is_kept_too(
    tmp_path: Path, recorder: Recorder
) -> None:
    from dataclasses import replace

    from bridge.level.step.step_values import Step

    given = replace(SNAPSHOT, step=Step(confirmed=(Confirmation.CAUTIONS,)))
    async with on_screen(tmp_path, recorder.note_event) as stage:
        await stage.press("enter")
        stage.a_second_passes()
        await stage.play(given)
        await stage.press("1")
        last = stage.feed.told[-1]
        assert isinstance(last, Marked)
        assert last.mark.value == "withdrawn"
    assert recorder.close()
    acts = [e["act"] for e in kept(recorder.path, "caution")]
    assert acts == ["shown", "confirmed", "withdrawn"]
    assert "withdrawn 20" in as_text(compose(tell(recorder.path), Units.METRIC))
