"""The program where pty, termios, fcntl and the signals of POSIX are not to be had.

Stands in for Windows, where the modules are missing (Python's library reference names
their platforms) and the event loop takes neither readers nor signal handlers ("asyncio,
Platform Support" there). pyserial has a module for each system; the one for POSIX is
loaded before the modules are hidden.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from tests.packaging import tryout

ROOT = Path(__file__).parents[2]
GONE = ("pty", "tty", "termios", "fcntl", "pwd", "grp", "resource", "syslog")
HIDING = f"""
import asyncio, os, serial, signal, sys
for name in {GONE!r}:
    sys.modules[name] = None
del signal.SIGHUP, os.openpty, os.tcgetpgrp, os.getpgrp, os.fork, os.getuid
def none(*_args, **_more):
    raise NotImplementedError
for name in ("add_reader", "add_writer", "add_signal_handler"):
    setattr(asyncio.SelectorEventLoop, name, none)
"""


@pytest.fixture
def program(tmp_path: Path) -> tryout.Program:
    hide = tmp_path / "hide"
    hide.mkdir()
    (hide / "sitecustomize.py").write_text(HIDING, "utf-8")
    path = f"{hide}:{ROOT}"
    return tryout.Program([sys.executable, "-m", "tui"], tmp_path, PYTHONPATH=path)


def test_they_are_really_hidden(program: tryout.Program) -> None:
    python = tryout.Program([sys.executable], program.folder, **program.env)
    said = python.run("-c", "import termios", code=1, traced=True).stderr
    assert b"termios" in said


@pytest.mark.slow
def test_demo_and_report(program: tryout.Program) -> None:
    tryout.demo(program)
    tryout.report(program)


@pytest.mark.slow
def test_sheets(program: tryout.Program) -> None:
    tryout.sheets(program)


@pytest.mark.slow
def test_live_over_tcp(program: tryout.Program) -> None:
    tryout.live_over_tcp(program)


@pytest.mark.slow
def test_phone_page(program: tryout.Program) -> None:
    tryout.phone_page(program)


def test_a_pseudo_terminal_is_refused_in_one_sentence(program: tryout.Program) -> None:
    said = program.run("bench", "--pty", code=3).stderr
    assert said.count(b"\n") == 1
    assert b"no pseudo-terminals: serve over TCP" in said
