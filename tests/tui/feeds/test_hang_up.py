"""A terminal that closes: its hang-ups end the screen and never the sealing."""

from __future__ import annotations

import errno
import os
import signal
import sys
import threading
from argparse import Namespace
from collections.abc import Callable
from functools import partial
from io import StringIO
from pathlib import Path
from typing import Any

import pytest

from bridge.jobfile.file.check import check
from bridge.sheets import load
from tests.tui.stage import SHEET, StagedFeed
from tui import interrupts
from tui.cli.flags.record_flags import recording
from tui.live.app import SumpgateApp
from tui.live.run_screen import run_screen
from tui.settings import Settings

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")


class Feed(StagedFeed):
    """A feed that, once it runs, has this process sent a signal."""

    def __init__(self, number: int) -> None:
        super().__init__()
        self.number = number

    def start(self, deliver: Callable[..., None], failed: Callable[..., None]) -> None:
        super().start(deliver, failed)
        send = partial(os.kill, os.getpid(), self.number)
        threading.Timer(0.2, send).start()


class Gone(StringIO):
    """Standard error on a terminal that has been closed."""

    def write(self, _text: str, /) -> int:
        raise OSError(errno.EIO, "Input/output error")


def test_a_note_to_a_terminal_that_is_gone_keeps_no_job_open(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.job"
    flags = Namespace(
        json=False, record=str(path), no_record=False, odometer=None, afresh=False
    )
    sheet = load("scar-eight-speed")
    with recording(flags, sheet, sheet.origin, "bench", live=False) as record:
        record.notes.say("kept until the screen has gone")
        monkeypatch.setattr(sys, "stderr", Gone())
    assert "intact" in check(path).sentence


@pytest.mark.parametrize("number", [signal.SIGHUP, signal.SIGTERM])
def test_a_signal_is_never_the_system_s_again_before_all_is_sealed(
    number: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = signal.getsignal(number)
    found: list[Any] = []

    def closing() -> None:
        found.append(signal.getsignal(number))
        if found[0] is not signal.SIG_DFL:  # else it would end the tests
            os.kill(os.getpid(), number)  # the terminal's second one

    monkeypatch.setattr(interrupts, "closing", closing)
    app = SumpgateApp(
        sheet=SHEET,
        feed=Feed(number),
        settings=Settings(),
        source="bench",
        settings_path=tmp_path / "settings.toml",
    )
    monkeypatch.setattr(app, "run", partial(app.run, headless=True))
    try:
        assert run_screen(app) == 128 + number
        assert found
        assert found[0] not in (signal.SIG_DFL, signal.SIG_IGN)
    finally:
        signal.signal(number, before)
