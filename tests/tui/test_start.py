"""The start screen: everything by arrows and Enter, and what is missing pointed out."""

from __future__ import annotations

from pathlib import Path
from threading import Event

import pytest

from bridge.jobfile.open_job import OpenJob
from bridge.link.ports.port_search import FoundPort
from bridge.sheets import load
from bridge.sheets.files import shipped_sheets
from bridge.values.errors import PortError, UsageError
from tests.tui.helpers import screen_text, settle
from tui.cli import main as command_line
from tui.cli.main import build_parser
from tui.settings import Settings
from tui.start.choices import Known, Page, Place, StartWay, at_address, page
from tui.start.gap import GapError
from tui.start.start_app import StartApp
from tui.words import start_words

FREE = FoundPort(device="/dev/ttyTEST0", description="an adapter")
HELD = FoundPort(device="/dev/ttyTEST1", description="another", problem="in use")
JOB = OpenJob(
    path=Path("/jobs/20260101-080000-scar.job"),
    sheet="Scar eight-speed",
    origin="scar-eight-speed",
    step="drain",
    car="AB 12",
    service=True,
    since_utc_s=1_767_254_400.0,
)
KNOWN = Known(
    sheets=tuple((name, load(name)) for name in shipped_sheets()),
    ports=(HELD, FREE),
    open_jobs=(JOB,),
    past=(("20260101-080000-scar", "2026-01-01 08:00 UTC  scar"),),
)


def starting(known: Known = KNOWN, **more: str) -> StartApp:
    return StartApp(known=lambda: known, ports=lambda: known.ports or (), **more)


async def shown(app: StartApp, pilot) -> str:
    """Return the screen once sheets, jobs and ports were looked for."""
    while app._known.ports is None:
        await pilot.pause(0.01)
    await app.workers.wait_for_complete()
    await settle(pilot)
    return screen_text(app)


async def chosen(app: StartApp, *keys: str) -> tuple[str, ...] | None:
    async with app.run_test(size=(80, 24)) as pilot:
        await shown(app, pilot)
        for key in keys:
            await pilot.press(key)
            await settle(pilot)
    return app.return_value


async def test_an_open_job_comes_first_and_goes_on_at_the_free_port():
    argv = await chosen(starting(), "enter", "enter")
    assert argv == (
        *("live", "--profile", "scar-eight-speed", "--record", str(JOB.path)),
        *("--port", "/dev/ttyTEST0", "--service"),
    )


async def test_a_sheet_the_work_and_a_port_make_a_command():
    argv = await chosen(starting(), "down", "enter", "enter", "enter")
    first = shipped_sheets()[0]
    assert argv == ("live", "--profile", first, "--port", "/dev/ttyTEST0")


@pytest.mark.parametrize("ascii_only", [True, False])
async def test_the_line_that_enter_takes_bears_a_sign(ascii_only):
    app = StartApp(known=lambda: KNOWN, ports=lambda: (FREE,), ascii_only=ascii_only)
    sign = ">" if ascii_only else "▶"
    async with app.run_test(size=(80, 24)) as pilot:
        lines = [x for x in (await shown(app, pilot)).splitlines() if sign in x]
        assert len(lines) == 1
        assert "AB 12" in lines[0]
        await pilot.press("down")
        (line,) = [x for x in (await shown(app, pilot)).splitlines() if sign in x]
        assert "AB 12" not in line


async def test_escape_goes_back_and_leaves():
    assert await chosen(starting(), "enter", "escape", "escape") is None


def every_page(known: Known) -> list[Page]:
    ways = [
        StartWay(sheet="a", record=r, at_service=s) for r in ("", "b") for s in (0, 1)
    ]
    return [page(place, known, way) for place in Place for way in ways]


def test_every_choice_is_a_command_the_parser_takes():
    seen = set()
    for made in every_page(KNOWN):
        for _, choices in made.parts:
            for choice in choices:
                if choice.argv:
                    assert build_parser().parse_args(list(choice.argv)).verb
                    seen.add(choice.argv[0])
                elif choice.asks_address:
                    argv = at_address(choice.way, "192.168.0.10:35000")
                    assert build_parser().parse_args(list(argv)).verb == "live"
                else:
                    assert choice.place is not None or choice.look_again
    assert seen == {"live", "service", "demo", "sheet", "job"}


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_first_run_says_what_it_is_and_what_it_never_does(size):
    app = starting(Known(sheets=KNOWN.sheets, ports=(), first_run=True))
    async with app.run_test(size=size) as pilot:
        text = " ".join((await shown(app, pilot)).split())
    for sentence in start_words.FIRST_RUN:
        assert sentence in text
    assert start_words.DEMO in text
    assert " ".join(start_words.KEYS.split()) in text


async def test_a_port_that_cannot_be_used_says_why_and_is_not_chosen():
    app = starting(sheet="scar-eight-speed", gap="no adapter answers on any port")
    async with app.run_test(size=(80, 24)) as pilot:
        text = await shown(app, pilot)
        assert "no adapter answers on any port" in text
        assert "in use" in text
        assert "free" in text
        await pilot.press("enter")
    assert app.return_value is not None
    assert "/dev/ttyTEST0" in app.return_value


async def test_no_port_is_said_and_a_thermometer_is_offered():
    app = starting(Known(ports=()), sheet="scar-eight-speed")
    async with app.run_test(size=(80, 24)) as pilot:
        text = await shown(app, pilot)
    assert start_words.NO_PORT in text
    assert start_words.THERMOMETER in text


def test_alone_without_a_terminal_it_is_a_sentence_and_exit_2(capsys):
    assert command_line.main([]) == 2
    assert "'sumpgate --help' shows the verbs" in capsys.readouterr().err


def test_a_gap_opens_the_start_screen_where_there_is_a_terminal(monkeypatch):
    seen = []
    monkeypatch.setattr(command_line, "has_terminal", lambda: True)
    monkeypatch.setattr(command_line, "begin", lambda _main, gap: seen.append(gap) or 7)
    monkeypatch.setattr("tui.cli.live_verb.load_settings", lambda: Settings())
    assert command_line.main(["live"]) == 7
    assert "no sheet named" in str(seen[0])
    assert command_line.main(["live", "--json"]) == 2


@pytest.mark.parametrize("problem", [PortError("none"), UsageError("none")])
def test_a_gap_keeps_the_exit_code_of_what_was_wrong(problem):
    assert GapError(problem).exit_code == problem.exit_code


@pytest.mark.parametrize(
    ("typed", "port"),
    [
        ("192.168.0.10:35000", "socket://192.168.0.10:35000"),
        (" bench.example:1 ", "socket://bench.example:1"),
        ("[::1]:35000", "socket://[::1]:35000"),
        ("socket://10.0.0.1:35000", "socket://10.0.0.1:35000"),
        ("/dev/pts/7", "/dev/pts/7"),
        ("COM7", "COM7"),
        ("ble://AA:BB:CC:DD:EE:01", "ble://AA:BB:CC:DD:EE:01"),
    ],
)
def test_an_address_is_taken_as_it_is_printed_on_an_adapter(typed, port):
    argv = at_address(StartWay(sheet="a", at_service=True), typed)
    assert argv == ("live", "--profile", "a", "--port", port, "--service")


async def test_an_address_that_can_be_none_is_asked_for_again():
    app = starting(Known(ports=()), sheet="scar-eight-speed")
    async with app.run_test(size=(80, 24)) as pilot:
        await shown(app, pilot)
        await pilot.press("down", "enter")
        assert start_words.ADDRESS in await shown(app, pilot)
        await pilot.press(*"10.0.0.1:99999", "enter")
        text = " ".join((await shown(app, pilot)).split())
        assert app.return_value is None
        assert start_words.ADDRESS in text
        assert "99999" in text
        await pilot.press(*["backspace"] * 5, *"35000", "enter")
    assert app.return_value is not None
    assert "socket://10.0.0.1:35000" in app.return_value


async def test_escape_drops_the_question_and_q_is_a_letter_in_it():
    app = starting(Known(ports=()), sheet="scar-eight-speed")
    async with app.run_test(size=(80, 24)) as pilot:
        await shown(app, pilot)
        await pilot.press("down", "enter", "q")
        assert start_words.ANSWERING in await shown(app, pilot)
        await pilot.press("escape")
        text = await shown(app, pilot)
        assert start_words.ADDRESS not in text
        assert start_words.THERMOMETER in text
        await pilot.press("q")
    assert app.return_value is None


async def test_nothing_can_be_chosen_before_it_is_known_what_there_is():
    """An early Enter must not take the demo for the sheet that then stands first."""
    may_look = Event()

    def look() -> Known:
        may_look.wait(30)
        return KNOWN

    app = StartApp(known=look, ports=lambda: (FREE,))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter", "down", "enter")
        await settle(pilot)
        assert app.is_running
        assert start_words.DEMO not in screen_text(app)
        may_look.set()
        assert start_words.DEMO in await shown(app, pilot)
        await pilot.press("q")
    assert app.return_value is None
