"""What is said above the keys: it covers nothing, waits for room, and goes away."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from bridge.level.thermometer import ReadingWanted, Thermometer, ThermometerStatus
from bridge.values.conditions import Condition, ConditionName, ConditionState, Reason
from tests.tui.helpers import Clock, staged
from tests.tui.stage import SHEET, WARM_UP, StagedFeed
from tests.tui.words.test_step_never_cut import OPEN_STATES, RESULTS, plain
from tui.cli.flags.record_flags import Notes
from tui.live import footer, run_screen
from tui.live.screen_state import Contact, ScreenInputs, screen_state
from tui.settings import Settings
from tui.widgets.sayings import LASTS_S, LEAST_S, MOST_ROWS, Sayings
from tui.words import result_words
from tui.words.screen import pages

COLD = WARM_UP.snapshot(WARM_UP.t_at(34.0))
NEWS = "The disk is nearly full: what is read now may be lost, so make room on it soon."
SIZES = [(60, 20), (80, 24), (120, 40)]


def test_what_finds_no_room_waits_and_each_has_its_time() -> None:
    clock = Clock()
    sayings = Sayings(clock)
    for n in range(7):
        sayings.add(f"sentence {n}", first=False)
    assert sayings.rows(40) == tuple(f"sentence {n}" for n in range(MOST_ROWS))
    clock.now_s += LASTS_S
    assert sayings.rows(40) == ("sentence 4", "sentence 5", "sentence 6")
    clock.now_s += LASTS_S
    assert sayings.rows(40) == ()


def test_a_long_sentence_gives_way_to_one_that_waits() -> None:
    clock = Clock()
    sayings = Sayings(clock)
    long = "the disk is full " * MOST_ROWS
    sayings.add(long, first=False)
    alone = sayings.rows(17)
    assert len(alone) == MOST_ROWS
    clock.now_s += LEAST_S + 1.0
    assert sayings.rows(17) == alone  # nobody waits
    sayings.add("it is written", first=False)
    assert sayings.rows(17) == ("it is written",)


def test_an_answer_to_a_key_comes_first_and_nothing_is_said_twice() -> None:
    sayings = Sayings(Clock())
    for text, first in (("news", False), ("answer", True), ("answer", True)):
        sayings.add(text, first=first)
    assert sayings.rows(40) == ("answer", "news")


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.few(1)
async def test_it_covers_no_condition_that_is_not_met(size, tmp_path: Path) -> None:
    bad = tuple(
        Condition(name=n, state=ConditionState.NOT_MET, reasons=(Reason.TOO_COLD,))
        for n in list(ConditionName)[-3:]
    )
    good = tuple(
        Condition(name=n, state=ConditionState.MET) for n in list(ConditionName)[:-3]
    )
    async with staged(tmp_path, size=size) as stage:
        stage.app._sayings.add(NEWS, first=False)
        text = await stage.play(replace(COLD, conditions=(*good, *bad)))
        assert NEWS in plain(text)
        assert text.count("not OK") == 3


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.few(1)
async def test_a_prompt_and_its_keys_stand_beside_it(size, tmp_path: Path) -> None:
    async with staged(tmp_path, size=size) as stage:
        await stage.play(COLD)
        stage.app._sayings.add(NEWS, first=False)
        for typed in ("t", "4", "1", "x", "enter"):
            text = await stage.press(typed)
            assert NEWS in plain(text)
            assert "Thermometer reads, in °C? " in plain(text)
            assert text.splitlines()[-1].split() == ["Enter", "save", "Esc", "cancel"]
        assert "41x_" in text  # refused, and still there to be mended


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.few(1)
async def test_result_and_open_plug_are_whole_while_it_stands(size, tmp_path) -> None:
    async with staged(tmp_path, size=size) as stage:
        stage.app._sayings.add(NEWS, first=False)
        for snapshot, came in RESULTS:
            left = size[0] - 47 if size[0] >= 110 else size[0]  # beside it, the list
            rows = (await stage.play(snapshot)).splitlines()
            shown = plain("\n".join(row[:left] for row in rows))
            assert snapshot.step is not None
            told = result_words.result(snapshot.step, SHEET, "C")
            assert told is not None
            for words in (came.value, told.why, told.how_much, told.onward):
                assert words in shown
        for snapshot in OPEN_STATES:
            assert "settled: 63 % likely" in plain(await stage.play(snapshot))


async def test_what_was_said_before_the_screen_stood_is_said_on_it(tmp_path) -> None:
    async with staged(tmp_path, said=NEWS) as stage:
        assert NEWS in plain(await stage.text())


# The keys


def test_the_keys_that_are_wanted_come_first() -> None:
    asks = replace(
        COLD,
        reasons=(Reason.CAR_LEVEL_UNKNOWN, Reason.ENGINE_UNKNOWN),
        thermometer_status=None,
    )
    assert footer.wanted(asks)[-2:] == (("2", "car level"), ("5", "engine"))
    by_hand = replace(
        asks,
        thermometer_status=ThermometerStatus(
            thermometer=Thermometer(), due_in_s=0.0, ask=ReadingWanted.FIRST
        ),
    )
    assert ("t", "type reading") in footer.wanted(by_hand)
    assert all(key.isalpha() for key, _ in footer.wanted(OPEN_STATES[0]))


def test_a_key_that_finds_no_room_is_left_out_whole() -> None:
    from textual.geometry import Size

    from tui.widgets.lines import Keys
    from tui.widgets.painted import row_width

    keys = Keys(id="keys")
    keys._keys = (("q", "quit"), ("?", "help"), ("u", "units"))
    for width in range(9, 40):
        (row,) = keys.paint(Size(width, 1))
        assert row_width(row) <= width
        assert "…" not in "".join(text for text, _ in row)


# The service's head, and how it all begins


def test_whoever_ticks_rows_is_told_that_the_plug_is_out() -> None:
    for snapshot in (OPEN_STATES[0], COLD):
        view = ScreenInputs(
            sheet=SHEET, unit="C", contact=Contact.HELD, snapshot=snapshot
        )
        assert bool(screen_state(view).do_now) is (snapshot is not COLD)


async def test_the_demos_clock_waits_while_the_cautions_are_read(tmp_path) -> None:
    feed = StagedFeed()
    async with staged(tmp_path, feed=feed, confirmed=False) as stage:
        assert feed.starts  # a real car is heard at once
    feed = StagedFeed()
    async with staged(tmp_path, feed=feed, confirmed=False, bench=True) as stage:
        await stage.silence(60.0)
        assert not feed.starts
        assert "Read the cautions first" in await stage.text()
        await stage.press("end", "enter")
        assert feed.starts


def test_a_start_that_fails_says_its_error_last(monkeypatch, capsys) -> None:
    from bridge.values.errors import PortError

    class Failed:
        failure = PortError("no such port")
        abort = None

    monkeypatch.setattr(run_screen, "need_terminal", lambda: None)
    monkeypatch.setattr(run_screen, "run_screen", lambda _app: 3)
    notes = Notes(at_once=False)
    notes.say("a note")
    with pytest.raises(PortError):  # the command line prints it when all has ended
        run_screen.run_on_screen(
            sheet=SHEET,
            feed=Failed(),  # type: ignore[arg-type]
            settings=Settings(),
            source="nowhere",
            notes=notes,
        )
    assert capsys.readouterr().err == ""


def test_the_help_has_every_key() -> None:
    from tui.live.app import SumpgateApp

    words = pages.help_text(SHEET)
    signs = {"plus": "+", "minus": "-", "question_mark": "?", "escape": "Esc"}
    signs |= {"space": "Space", "pagedown": "PageDown", "pageup": "PageUp"}
    signs |= {"enter": "Enter", "tab": "Tab", "ctrl+c": ""}
    for binding in SumpgateApp.BINDINGS:
        key = binding.key.split(",")[0]
        sign = signs.get(key, key)
        assert re.search(rf"(?<!\w){re.escape(sign)}(?!\w)", words), key
