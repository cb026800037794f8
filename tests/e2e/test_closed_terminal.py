"""The terminal is closed: the program ends, and the job is sealed.

A real pseudo-terminal whose far end is closed, as a window or an ssh line that goes.
"""

from __future__ import annotations

import fcntl
import os
import select
import struct
import subprocess
import sys
import termios
import time
from pathlib import Path

import pytest

from bridge.jobfile.file.check import FileState, check

pytestmark = pytest.mark.skipif(
    not hasattr(os, "openpty"), reason="no pseudo-terminals here"
)


def read_for(master: int, seconds: float) -> bytes:
    """Read what is drawn for so long, as a terminal does."""
    drawn, until = b"", time.monotonic() + seconds
    while time.monotonic() < until:
        if select.select([master], [], [], 0.05)[0]:
            drawn += os.read(master, 65536)
    return drawn


@pytest.mark.slow
@pytest.mark.parametrize("later_s", [0.0])
@pytest.mark.parametrize("heeds", [True, False], ids=["hang-up", "without hang-up"])
def test_a_closed_terminal_ends_the_program_and_seals_the_job(
    tmp_path: Path, later_s: float, *, heeds: bool
) -> None:
    master, slave = os.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 30, 100, 0, 0))
    job = tmp_path / "a.sumpgate"
    args = ["demo", "--speed", "20", "--record", str(job)]
    home = dict.fromkeys(("HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME"), str(tmp_path))

    def own_terminal() -> None:
        os.setsid()
        if heeds:  # the slave becomes its terminal, so the system sends the hang-up
            fcntl.ioctl(0, termios.TIOCSCTTY, 0)

    with subprocess.Popen(
        [sys.executable, "-m", "tui", *args],
        stdin=slave,
        stdout=slave,
        stderr=slave,
        env={**os.environ, **home, "TERM": "xterm-256color"},
        preexec_fn=own_terminal,
    ) as program:
        os.close(slave)
        try:
            drawn, until = b"", time.monotonic() + 60.0
            while b"Before you start" not in drawn and time.monotonic() < until:
                drawn += read_for(master, 0.2)
            for _ in range(4):  # the cautions: then the car's figures change on screen
                time.sleep(1.1)
                os.write(master, b"\r")
                read_for(master, 0.3)
            read_for(master, 1.0 + later_s)
            os.close(master)
            code = program.wait(60.0)
        finally:
            program.kill()
    assert code == 129
    assert check(job).state is FileState.INTACT
