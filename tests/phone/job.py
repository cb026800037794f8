"""A demo job in a process of its own, with its phone page."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.phone.browser import press, seen, until

if TYPE_CHECKING:
    from selenium.webdriver import Chrome

ROOT = Path(__file__).resolve().parents[2]


@dataclass
class DemoJob:
    """The process, the address it gave, and the JSON lines it prints."""

    process: subprocess.Popen[str]
    address: str = ""
    lines: list[dict[str, Any]] = field(default_factory=list)

    @property
    def last(self) -> dict[str, Any]:
        """The newest line."""
        return self.lines[-1] if self.lines else {}

    def freeze(self) -> None:
        """Hold the whole program, as a laptop that falls asleep does."""
        self.process.send_signal(signal.SIGSTOP)

    def thaw(self) -> None:
        """Let it go on."""
        self.process.send_signal(signal.SIGCONT)

    def kill(self) -> None:
        """End it as a flat battery does."""
        self.process.kill()

    def read(self) -> None:
        """Read its lines until it ends."""
        assert self.process.stdout is not None
        for line in self.process.stdout:
            if line.endswith("\n"):
                self.lines.append(json.loads(line))


@contextmanager
def demo_job(folder: Path, *flags: str) -> Iterator[DemoJob]:
    """Run ``sumpgate demo --json --phone`` with more flags."""
    words = [sys.executable, "-m", "tui.cli.main", "demo", "--json", "--phone"]
    environment = {
        **os.environ,
        "XDG_STATE_HOME": str(folder),
        "XDG_CONFIG_HOME": str(folder),
        "XDG_DATA_HOME": str(folder),
    }
    process = subprocess.Popen(
        [*words, "--phone-port", "0", *flags],
        cwd=ROOT,
        env=environment,
        text=True,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    job = DemoJob(process)
    reader = threading.Thread(target=job.read, daemon=True)
    reader.start()
    try:
        assert process.stderr is not None
        found = re.search("http://[^ ]+", process.stderr.readline().strip())
        assert found, "no address"
        job.address = found[0]
        yield job
    finally:
        process.kill()
        process.wait()
        reader.join()
        for pipe in (process.stdout, process.stderr):
            if pipe is not None:
                pipe.close()


def follow(browser: Chrome, job: DemoJob) -> list[str]:
    """Do the job with the thumb alone; return the phases, as the program tells them."""

    def ready(main: str) -> bool:
        shown = seen(browser)
        return str(shown["main"]).startswith(main) and not shown["dead"]

    until(lambda: ready("OPENED") and seen(browser)["word"] == "GO", 90)
    press(browser, "#main")
    until(lambda: ready("DRIP"))
    for _ in range(3):
        press(browser, "#main")
        time.sleep(0.3)
    until(lambda: seen(browser)["word"] == "CLOSE", 90)
    press(browser, "#others .closing")
    until(lambda: seen(browser)["look"] == "came")
    steps = [line["step"]["phase"] for line in job.lines]
    return list(dict.fromkeys(steps))
