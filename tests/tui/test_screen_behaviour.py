"""Keys, sizes, units, the watch on the monitor, and foreign text."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path
from threading import Thread
from typing import TextIO

import pytest
from textual.drivers._writer_thread import MAX_QUEUED_WRITES, WriterThread

from bridge.values.conditions import Verdict
from bridge.values.errors import PortError
from tests.tui.helpers import settle, staged
from tests.tui.stage import SHEET, WARM_UP, StagedFeed, lost, never
from tui.live.app import CONTACT_S, SumpgateApp
from tui.settings import Settings, load_settings
from tui.widgets.colored_app import OutlivingFile
from tui.words.screen import pages
from tui.words.step_wording import VERDICT_BELLS_S

BELL_OPENED_S = VERDICT_BELLS_S[Verdict.GO]
BELL_SHUT_S = VERDICT_BELLS_S[Verdict.NO_GO]

GO = WARM_UP.snapshot(WARM_UP.t_at(45.0))
COLD = WARM_UP.snapshot(WARM_UP.t_at(34.0))


# The cautions


async def test_cautions_come_first_and_leave_the_verdict_in_sight(
    tmp_path: Path,
) -> None:
    async with staged(tmp_path, size=(120, 40), confirmed=False) as stage:
        text = await stage.play(COLD)
        assert "Before you start" in text
        assert SHEET.cautions[0] in text
        for word in ("carbon monoxide", "chocked", "burn", "maker's procedure"):
            assert word in text
        assert "local rules" in text
        assert "▞▞▞▞" in text
        assert "Too cold: 34.0 °C" in text
        text = await stage.press("enter")
        assert "Before you start" not in text
        assert "Fluid in window" in text


async def test_cautions_can_be_scrolled_to_their_end(tmp_path: Path) -> None:
    async with staged(tmp_path, confirmed=False) as stage:
        last = SHEET.cautions[0][-20:]
        text = await stage.text()
        assert last not in text
        assert " Enter  read on " in text
        text = await stage.press("end")
        assert last in text
        assert " Enter  I have read this " in text


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_enter_takes_no_caution_as_read_that_was_not_in_sight(
    size: tuple[int, int], tmp_path: Path
) -> None:
    async with staged(tmp_path, size=size, confirmed=False) as stage:
        seen = ""
        for _ in range(9):
            seen += " ".join((await stage.play(GO)).replace("▎", " ").split())
            assert stage.app._confirmed is False
            assert "GO: every" not in seen
            await stage.press("enter")
            if stage.app._confirmed:
                break
        assert stage.app._confirmed
        for line in pages.cautions(SHEET):
            assert line in " ".join(seen.split()) or _in_parts(line, seen)


def _in_parts(line: str, seen: str) -> bool:
    """A line that two pages share: its two halves, the one after the other."""
    words = line.split()
    return any(
        " ".join(words[:n]) in seen and " ".join(words[n:]) in seen
        for n in range(1, len(words))
    )


async def test_cautions_are_not_confirmed_where_they_cannot_be_read(
    tmp_path: Path,
) -> None:
    async with staged(tmp_path, size=(40, 12), confirmed=False) as stage:
        await stage.press("enter")
        assert "Before you start" in await stage.resize(80, 24)


async def test_help_explains_and_goes_away_again(tmp_path: Path) -> None:
    async with staged(tmp_path, size=(120, 90)) as stage:
        text = await stage.press("question_mark")
        assert "The words on this screen" in text
        assert "19 times in 20" in text
        assert "Open the level plug." in text
        assert "Cautions" in text
        assert "▞▞▞▞" in text
        assert "The words on this screen" not in await stage.press("escape")


async def test_help_before_the_cautions_are_confirmed_leads_back_to_them(
    tmp_path: Path,
) -> None:
    async with staged(tmp_path, confirmed=False) as stage:
        await stage.press("question_mark")
        assert "Before you start" in await stage.press("escape")


# Units and settings


async def test_fahrenheit_everywhere(tmp_path: Path) -> None:
    async with staged(tmp_path, size=(120, 40)) as stage:
        for snapshot in (COLD, GO, never(900.0), lost(600.0, 14.0)):
            assert "°C" in await stage.play(snapshot)
        await stage.press("u")
        for snapshot in (COLD, GO, never(900.0), lost(600.0, 14.0)):
            text = await stage.play(snapshot)
            assert "°F" in text
            # The last line is the keys, which offer the way back.
            assert "°C" not in "\n".join(text.splitlines()[:-1])


async def test_fahrenheit_figures(tmp_path: Path) -> None:
    settings = Settings(temperature_unit="F")
    async with staged(tmp_path, settings=settings) as stage:
        # NIST SP 811, B.8: 34 °C = 93.2 °F; 42 and 52 °C = 107.6 and 125.6 °F;
        # a rate of 2.866 °C/min = 5.2 °F/min; 18 °C = 64 °F.
        text = await stage.play(COLD)
        assert "Too cold: 93.2 °F, the window opens at 107.6 °F" in text
        assert "warming 5.2 °F/min" in text
        assert "window 107.6–125.6 °F" in text
        assert "Air 64 °F" in text
        assert "±0.8" in text


async def test_unit_and_bell_are_remembered(tmp_path: Path) -> None:
    settings = Settings(port="COM3", sheet="mine.toml")
    async with staged(tmp_path, settings=settings) as stage:
        await stage.press("u", "m")
    kept = load_settings(tmp_path / "settings.toml")
    assert kept == Settings(
        port="COM3", sheet="mine.toml", temperature_unit="F", mute=True
    )


async def test_a_broken_settings_file_is_told_and_not_overwritten(
    tmp_path: Path,
) -> None:
    path = tmp_path / "settings.toml"
    path.write_text("mute = perhaps\n", encoding="utf-8")
    async with staged(tmp_path, settings=load_settings(path), size=(120, 40)) as stage:
        text = " ".join((await stage.text()).split())  # a long path wraps it
        assert "settings.toml cannot be read" in text
        text = await stage.press("u")
        assert "Not saved." in text
        assert "window 107.6–125.6 °F" in text
    assert path.read_text(encoding="utf-8") == "mute = perhaps\n"


# Leaving


@pytest.mark.parametrize(("key", "code"), [("q", 0), ("ctrl+c", 130), ("ctrl+q", 0)])
@pytest.mark.parametrize("page", ["", "question_mark"])
@pytest.mark.few(2)
async def test_leaving_ends_the_feed(
    tmp_path: Path, key: str, code: int, page: str
) -> None:
    feed = StagedFeed()
    async with staged(tmp_path, feed=feed) as stage:
        await stage.play(GO)
        if page:
            await stage.press(page)
        await stage.pilot.press(key)
        await settle(stage.pilot)
        assert stage.app.return_value == code
    assert (feed.starts, feed.stops) == (1, 1)


@pytest.mark.parametrize("size", [(80, 24), (40, 12), (1, 1)])
async def test_ctrl_c_leaves_while_the_cautions_stand(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with staged(tmp_path, size=size, confirmed=False) as stage:
        await stage.pilot.press("ctrl+c")
        await settle(stage.pilot)
        assert stage.app.return_value == 130


async def test_news_after_the_end_is_ignored(tmp_path: Path) -> None:
    feed = StagedFeed()
    async with staged(tmp_path, feed=feed):
        pass
    feed.deliver(GO)
    thread = Thread(target=feed.deliver, args=(GO,))
    thread.start()
    thread.join()
    feed.failed("too late")


# Bench speed


async def test_bench_speed_keys(tmp_path: Path) -> None:
    feed = StagedFeed(speed=10.0)
    async with staged(tmp_path, feed=feed) as stage:
        assert "×10" in await stage.text()
        assert "×20" in await stage.press("plus")
        await stage.press("minus", "minus")
        assert feed.speed == 5.0
        await stage.press(*["minus"] * 9)
        assert feed.speed == 1.0
        await stage.press(*["plus"] * 12)
        assert feed.speed == 100.0


async def test_a_real_car_has_no_speed(tmp_path: Path) -> None:
    feed = StagedFeed(speed=None)
    async with staged(tmp_path, feed=feed, source="/dev/ttyUSB0") as stage:
        text = await stage.press("plus")
        assert feed.speed is None
        assert "speed" not in text.splitlines()[-1]
        assert "×" not in text.splitlines()[0]
        assert "/dev/ttyUSB0" in text


# The bell


async def test_bell_patterns(tmp_path: Path) -> None:
    async with staged(tmp_path) as stage:
        await stage.play(COLD)
        assert stage.bells == []
        await stage.play(GO, GO)
        assert stage.bells == [BELL_OPENED_S]
        await stage.play(lost(GO.t_s + 3, 3.0))
        assert stage.bells == [BELL_OPENED_S, BELL_SHUT_S]
    assert BELL_OPENED_S != BELL_SHUT_S


async def test_silence_of_the_monitor_rings_too(tmp_path: Path) -> None:
    async with staged(tmp_path) as stage:
        await stage.play(GO)
        await stage.silence(CONTACT_S + 0.1)
        assert stage.bells[-1] == BELL_SHUT_S


@pytest.mark.parametrize(("mute", "strokes"), [(False, 1), (True, 0)])
async def test_mute(tmp_path: Path, mute: bool, strokes: int) -> None:
    struck: list[int] = []
    async with staged(tmp_path, settings=Settings(mute=mute)) as stage:
        stage.app.bell = lambda: struck.append(1)  # type: ignore[method-assign]
        SumpgateApp.ring(stage.app, (0.0,))
        assert len(struck) == strokes


# The watch on the monitor


async def test_no_contact_blanks_the_screen_and_news_brings_it_back(
    tmp_path: Path,
) -> None:
    async with staged(tmp_path) as stage:
        await stage.play(GO)
        assert "╔" in await stage.silence(CONTACT_S - 0.1)
        text = await stage.silence(0.2)
        assert "No data from the monitor" in text
        assert "▞▞▞▞" in text
        for number in ("45.0", "780 rpm", "3:42", "3 min", "14.1 V"):
            assert number not in text
        assert text.count("not known") >= 6
        assert "╔" in await stage.play(GO)


async def test_no_first_snapshot_is_no_contact_too(tmp_path: Path) -> None:
    async with staged(tmp_path) as stage:
        assert "No data from the monitor" in await stage.silence(CONTACT_S + 0.1)


async def test_a_failed_monitor_says_why_and_stays_so(tmp_path: Path) -> None:
    async with staged(tmp_path) as stage:
        await stage.play(GO)
        stage.feed.failed("The port [/x] is busy; close the other program.")
        stage.app.check_contact()
        text = await stage.play(GO)
        assert "The monitor has stopped" in text
        assert "The port [/x] is busy; close the other program." in text
        assert "▞▞▞▞" in text
        assert "45.0" not in text
        assert stage.app.failure.startswith("The port")
        assert stage.bells == [BELL_OPENED_S, BELL_SHUT_S]


async def test_a_flood_from_another_thread_ends_on_the_last_snapshot(
    tmp_path: Path,
) -> None:
    shown: list[float] = []
    async with staged(tmp_path) as stage:
        remember = stage.app._remember

        def count(snapshot: object) -> None:
            shown.append(snapshot.t_s)  # type: ignore[attr-defined]
            remember(snapshot)  # type: ignore[arg-type]

        stage.app._remember = count  # type: ignore[method-assign, assignment]

        def flood() -> None:
            for k in range(2000):
                stage.feed.deliver(replace(COLD, t_s=float(k)))
            stage.feed.deliver(GO)

        thread = Thread(target=flood)
        thread.start()
        thread.join()
        text = await stage.text()
        assert "╔" in text
        assert shown[-1] == GO.t_s
        # All 2001 came while this thread waited: one wake-up took the newest.
        assert len(shown) == 1


# Sizes


async def test_resizing_through_every_layout(tmp_path: Path) -> None:
    async with staged(tmp_path) as stage:
        await stage.play(COLD)
        text = await stage.resize(40, 12)
        assert "NO-GO: Too cold: 34.0 °C" in text.replace("\n", "")
        flat = " ".join(text.split())
        assert "too small" in flat
        assert "needs 60x20 or more, this one has 40x12" in flat
        text = await stage.resize(120, 40)
        assert "opens in 3 min 05 s, likely between" in text
        assert len(text.splitlines()) == 40
        await stage.resize(1, 1)
        assert "Fluid in window" in await stage.resize(80, 24)


@pytest.mark.parametrize(
    "size", [(60, 20), (61, 21), (79, 23), (100, 30), (109, 33), (110, 34), (300, 90)]
)
@pytest.mark.few(2)
async def test_nothing_important_is_lost_at_any_size(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with staged(tmp_path, size=size) as stage:
        text = await stage.play(COLD)
        assert "Too cold: 34.0 °C, the window opens at 42 °C" in text
        assert "opens in 3" in text
        assert "shuts in 8" in text
        assert "Fluid in window" in text
        assert "Car stationary" in text
        assert "Read 0.3 s ago" in text
        assert "quit" in text.splitlines()[-1]
        assert all(len(line) == size[0] for line in text.splitlines())


@pytest.mark.parametrize("size", [(1, 1), (2, 1), (3, 30), (200, 2), (59, 20)])
async def test_tiny_terminals_do_not_crash(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with staged(tmp_path, size=size, confirmed=False) as stage:
        for snapshot in (COLD, GO, lost(700.0, 9.0)):
            await stage.play(snapshot)
        await stage.press("question_mark", "escape", "u")


async def test_go_in_words_on_a_small_terminal(tmp_path: Path) -> None:
    async with staged(tmp_path) as stage:
        await stage.resize(40, 12)
        assert (await stage.play(GO)).startswith("GO: Set the level now")


async def test_no_go_in_words_on_a_small_terminal_before_the_cautions(
    tmp_path: Path,
) -> None:
    async with staged(tmp_path, size=(40, 12), confirmed=False) as stage:
        assert (await stage.play(GO)).startswith("NO-GO: Read the cautions first")


async def test_a_feed_that_cannot_start_is_a_failed_monitor(tmp_path: Path) -> None:
    class NoPort(StagedFeed):
        def start(self, deliver: object, failed: object) -> None:
            raise PortError("The port COM9 does not exist; check the plug.")

    async with staged(tmp_path, feed=NoPort()) as stage:
        stage.app.check_contact()
        text = await stage.text()
        assert "The monitor has stopped" in text
        assert "The port COM9 does not exist; check the plug." in text


def dead_terminal() -> TextIO:
    """Return the near end of a terminal whose window was closed."""
    far, near = os.openpty()
    os.close(far)
    return os.fdopen(near, "w")


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="no pseudo-terminals here")
async def test_a_vanished_terminal_ends_the_app_and_the_feed(tmp_path: Path) -> None:
    feed = StagedFeed()
    async with staged(tmp_path, feed=feed) as stage:
        with dead_terminal() as file:
            stage.app._driver._file = OutlivingFile(file)  # type: ignore[union-attr]
            stage.app.check_contact()
            assert stage.app.return_value is None  # not known before it is written to
            stage.app._driver._file.write("x" * 9000)  # type: ignore[union-attr]
            stage.app.check_contact()
            await settle(stage.pilot)
        assert stage.app.return_value == 129
    assert feed.stops == 1


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="no pseudo-terminals here")
async def test_the_thread_that_draws_outlives_the_terminal_and_can_be_ended() -> None:
    """Textual's own driver and thread: dead, they let the program wait for ever."""
    app = SumpgateApp(sheet=SHEET, feed=StagedFeed(), settings=Settings(), source="t")
    driver = app.get_driver_class()(app)
    assert isinstance(driver._file, OutlivingFile)  # type: ignore[attr-defined]
    with dead_terminal() as file:
        writer = WriterThread(OutlivingFile(file))  # type: ignore[arg-type]
        writer.start()

        def draw_and_end() -> None:
            for _ in range(3 * MAX_QUEUED_WRITES):
                writer.write("x" * 9000)
            writer.stop()

        drawing = Thread(target=draw_and_end, daemon=True)
        drawing.start()
        drawing.join(30.0)
        assert not drawing.is_alive()
