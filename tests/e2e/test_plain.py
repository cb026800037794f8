"""`--plain` in another process: the level step by typed lines, heard as sentences."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest


class Listener:
    """What is heard, line by line, and what is typed."""

    def __init__(self, folder: Path, *args: str) -> None:
        home = ("HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME")
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tui", *args, "--plain"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, **dict.fromkeys(home, str(folder))},
        )
        self.heard: list[str] = []

    def type(self, line: str) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(f"{line}\n")
        self.process.stdin.flush()

    def until(self, *begins: str) -> str:
        """Return the first line from here on that begins so."""
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.heard.append(line.rstrip("\n"))
            if line.startswith(begins):
                return self.heard[-1]
        raise AssertionError(f"never heard {begins}: {self.heard[-5:]}")


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Listener]:
    listener = Listener(tmp_path, "demo", "--scene", "warm-day", "--speed", "20")
    yield listener
    listener.process.kill()
    listener.process.communicate()


def test_the_level_is_set_by_ear(demo: Listener) -> None:
    demo.until("Press Enter once you have read the cautions.")
    demo.until("NO-GO: ")
    assert not [line for line in demo.heard if line.startswith("GO")]
    demo.type("")
    demo.until("Cautions read.")
    demo.until("GO: Open the level plug now.")
    demo.type("opened")
    demo.until("Let it run, mark the drips", "NO-GO: Let it run")
    demo.type("space")  # the key's name, as the screen shows it
    demo.until("Open for ")
    demo.type("c")  # the key alone
    demo.until("TOO HIGH: ", "NOT OBSERVED: ", "DO IT AGAIN: ")
    demo.type("cautious")
    assert "begins with none of the words" in demo.until('"cautious"')
    demo.type("?")
    demo.until("undo or z: undo.")
    demo.until("q: quit.")
    demo.type("q")
    _, said = demo.process.communicate(timeout=30)
    assert demo.process.returncode == 0, said


def test_a_service_is_noted_by_ear(tmp_path: Path) -> None:
    typed = Listener(tmp_path, "service", "--profile", "scar-eight-speed")
    typed.until("Press Enter")
    typed.type("out pan 3.8 L at 20 C")
    assert "still open" in typed.until("Noted: came out: pan, 38")
    typed.type("q")
    _, said = typed.process.communicate(timeout=30)
    assert typed.process.returncode == 0, said
    assert "recorded in" in said


def test_a_dumb_terminal_is_told_of_it(monkeypatch: pytest.MonkeyPatch) -> None:
    from bridge.values.errors import UsageError
    from tui.live import run_screen

    for stream in ("stdin", "stdout"):
        monkeypatch.setattr(getattr(sys, stream), "isatty", lambda: True)
    monkeypatch.setenv("TERM", "dumb")
    with pytest.raises(UsageError, match="--plain"):
        run_screen.need_terminal()
