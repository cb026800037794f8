"""The flags: where it listens, what is wrong in one sentence, what the screen shows."""

from __future__ import annotations

import asyncio
import socket
import time
from pathlib import Path

import pytest
from textual.pilot import Pilot

from bridge.snapshot import Snapshot
from bridge.values.errors import UsageError
from bridge.values.readings import LinkState
from tests.phone.hosted import hosted
from tests.tui.helpers import settle
from tests.tui.stage import SHEET, WARM_UP, StagedFeed
from tui.cli.flags.phone_flags import show_address
from tui.cli.main import main
from tui.feeds.listeners import shared
from tui.live.app import SumpgateApp
from tui.live.phone_pane import PhonePane
from tui.phone import where
from tui.phone.server import listen
from tui.settings import Settings
from tui.widgets.page_widget import PageWidget

DEMO = ["demo", "--speed", "1000", "--for", "2", "--json"]


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (["--phone", "everywhere"], "is no address"),
        (["--phone", "0.0.0.0"], "is not one address"),
        (["--phone", "::ffff:0.0.0.0"], "is not one address"),
        (["--phone", "::"], "is not one address"),
        (["--phone", "::%1"], "is not one address"),
        (["--phone", "255.255.255.255"], "is not one address"),
        (["--phone", "::ffff:224.0.0.1"], "is not one address"),
        (["--phone", "::ffff:8.8.8.8"], "for a local network only"),
        (["--phone", "8.8.8.8"], "for a local network only"),
        (["--phone", "224.0.0.1"], "is not one address"),
        (["--phone", "10.255.255.254"], "is not an address of this computer"),
        (["--phone-port", "8650"], "does nothing without --phone"),
        (["--phone", "--phone-port", "70000"], "is no port"),
        (["--phone", "--phone-port", "-1"], "is no port"),
    ],
)
def test_a_wrong_flag_is_one_sentence(
    given: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    try:
        code = main([*DEMO, *given])
    except SystemExit as ended:
        code = ended.code  # type: ignore[assignment]
    assert code == 2
    told = capsys.readouterr()
    assert said in told.err
    assert len(told.err.splitlines()) == 1
    assert told.out == ""


def test_a_busy_port_is_one_sentence(capsys: pytest.CaptureFixture[str]) -> None:
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        assert main([*DEMO, "--phone", "--phone-port", str(port)]) == 2
    said = capsys.readouterr().err
    assert f"port {port} on 127.0.0.1 is taken by another program" in said
    assert len(said.splitlines()) == 1


def test_the_page_is_off_unless_asked_for(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(socket.socket, "listen", lambda *_: pytest.fail("it listens"))
    assert main(DEMO) == 0
    assert capsys.readouterr().err == ""


def test_the_address_is_said_and_the_lines_stay_json(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    assert main([*DEMO, "--phone", "--phone-port", "0"]) == 0
    told = capsys.readouterr()
    assert "on the phone open http://127.0.0.1:" in told.err
    assert all(line.startswith("{") for line in told.out.splitlines())


def test_the_next_phone_s_address_is_said_too(
    capsys: pytest.CaptureFixture[str],
) -> None:
    with hosted() as here:
        show_address(here.server)
        here.server.on_paired(show_address)
        for _ in range(2):
            here.pair()
            address = here.server.address
            said, end_s = "", time.monotonic() + 20
            while address not in said and time.monotonic() < end_s:
                time.sleep(0.01)
                said += capsys.readouterr().err
            assert address in said


def test_one_address_has_one_spelling() -> None:
    assert where.host_of("::ffff:127.0.0.1") == "127.0.0.1"


def test_loopback_is_the_default_and_names_are_not_asked_for() -> None:
    assert where.host_of("loopback") == "127.0.0.1"
    with pytest.raises(UsageError, match="numeric"):
        where.host_of("laptop.example")


def test_a_port_below_1024_or_a_foreign_address_is_refused() -> None:
    with pytest.raises(UsageError, match="--phone lan"):
        listen("10.255.255.254", 0)


async def test_a_listener_that_fails_is_dropped_and_the_gate_goes_on() -> None:
    got: list[Snapshot] = []

    class Bad:
        calls = 0

        def joined(self, loop: asyncio.AbstractEventLoop) -> None:
            pass

        def deliver(self, snapshot: Snapshot) -> None:
            self.calls += 1
            raise RuntimeError("broken")

        def ended(self) -> None:
            pytest.fail("it was dropped")

    async def watch(deliver) -> None:
        for n in range(3):
            deliver(Snapshot(t_s=float(n), link=LinkState.LIVE))

    bad = Bad()
    await shared(watch, [bad])(got.append)
    assert [s.t_s for s in got] == [0.0, 1.0, 2.0]
    assert bad.calls == 1


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_the_screen_shows_the_whole_code_under_the_verdict(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    with hosted() as host:
        feed = StagedFeed()
        pane = PhonePane(host.server)
        app = SumpgateApp(
            sheet=SHEET,
            feed=feed,
            settings=Settings(),
            source="bench",
            settings_path=tmp_path / "settings.toml",
            phone=pane,
        )
        async with app.run_test(size=size) as pilot:
            await settle(pilot)
            await _read_cautions(app, pilot)
            feed.deliver(WARM_UP.snapshot(WARM_UP.t_at(45.0)))
            await pilot.press("p")
            await settle(pilot)
            page = app.screen.query_one(PageWidget)
            assert page.max_scroll_y == 0, "the code must be seen whole"
            shown = _text(app)
            for line in pane.text(ascii_only=False).splitlines():
                assert line in shown
            assert "GO" in shown
            before = host.server.address
            host.pair()
            app.check_contact()
            await settle(pilot)
            assert before.rpartition("/")[2] not in _text(app)
            assert "Paired 1" in _text(app)
            await pilot.press("u")
            assert host.hub.unit == "F"
            await pilot.press("p")
            assert app.screen.pane == "body"  # type: ignore[attr-defined]


async def test_without_a_phone_page_the_key_does_nothing(tmp_path: Path) -> None:
    app = SumpgateApp(
        sheet=SHEET,
        feed=StagedFeed(),
        settings=Settings(),
        source="bench",
        settings_path=tmp_path / "settings.toml",
    )
    async with app.run_test() as pilot:
        await settle(pilot)
        await _read_cautions(app, pilot)
        await pilot.press("p")
        assert app.screen.pane == "body"  # type: ignore[attr-defined]


async def _read_cautions(app: SumpgateApp, pilot: Pilot[int]) -> None:
    while not app._confirmed:
        await pilot.press("enter")


def _text(app: SumpgateApp) -> str:
    strips = app.screen._compositor.render_strips()
    return "\n".join("".join(s.text for s in strip) for strip in strips)
