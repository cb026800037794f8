"""What only POSIX systems have, and what is done where it is not to be had.

The one place that asks for fcntl, termios, tty and the signals of POSIX. Elsewhere:
a file is not locked (two programs that write the same job are then found out by the
file's chain, not beforehand), a reader is taken to have read what was written, there
is no pseudo-terminal (serve over TCP), and a run is ended by Ctrl-C alone.
"""

from __future__ import annotations

import asyncio
import contextlib
import importlib
import os
import signal
import stat
import struct
from collections.abc import Callable
from types import FrameType
from typing import IO, Any

ENDING = ("SIGTERM", "SIGHUP")


def _module(name: str) -> Any:
    """Return a module of POSIX; None: this system has none."""
    try:
        return importlib.import_module(name)
    except ImportError:
        return None


def has_locks() -> bool:
    """Return whether this system has locks that end with the process."""
    return _module("fcntl") is not None


def lock(held: IO[bytes]) -> None:
    """Lock an open file for this process; needs `has_locks`.

    Raises BlockingIOError if another process, or another part of this one, holds it.
    """
    fcntl = _module("fcntl")
    try:
        fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        raise
    except OSError:  # a file system that knows no locks
        return


def takes_time(file: int) -> bool:
    """Return whether a reader's pace can be asked for: a pipe or a socket, on POSIX."""
    if _module("fcntl") is None or _module("termios") is None:
        return False
    with contextlib.suppress(OSError, ValueError):
        mode = os.fstat(file).st_mode
        return stat.S_ISFIFO(mode) or stat.S_ISSOCK(mode)
    return False


def untaken_bytes(file: int) -> int:
    """Return how many bytes the reader has not taken yet; 0 where unknown."""
    fcntl, termios = _module("fcntl"), _module("termios")
    if fcntl is None or termios is None:
        return 0
    pipe = stat.S_ISFIFO(os.fstat(file).st_mode)
    question = termios.FIONREAD if pipe else termios.TIOCOUTQ
    try:
        answer = fcntl.ioctl(file, question, bytes(4))
    except OSError:
        return 0
    return int(struct.unpack("i", answer)[0])


def in_front(terminal: int) -> bool:
    """Return whether this program may read the terminal: no shell's background job."""
    if not hasattr(os, "tcgetpgrp"):
        return True
    return os.tcgetpgrp(terminal) == os.getpgrp()


def open_pty() -> tuple[int, int, str] | None:
    """Return both ends of a raw pseudo-terminal and the path to open.

    None: this system has none. Raises OSError where no more can be had.
    """
    tty = _module("tty")
    if tty is None or not hasattr(os, "openpty"):
        return None
    master, slave = os.openpty()
    tty.setraw(slave)
    os.set_blocking(master, False)
    return master, slave, os.ttyname(slave)


def ending_signals() -> tuple[int, ...]:
    """Return the signals besides Ctrl-C that are to end a run cleanly."""
    if _module("termios") is None:
        return ()
    return tuple(getattr(signal, name) for name in ENDING if hasattr(signal, name))


def call_on_signals(heard: Callable[[int], object]) -> None:
    """Have the running loop call ``heard`` with each ending signal, Ctrl-C too.

    Nothing where the loop knows no signals, as those of Windows do not. Ctrl-C alone
    goes through the loop's own handlers: they give a signal back to the system as the
    loop closes, and a terminal that closes sends its hang-up up to three times. One
    between that and the sealing of the job would end the program on the spot.
    """
    loop = asyncio.get_running_loop()

    def hears(number: int, _frame: FrameType | None) -> None:
        with contextlib.suppress(RuntimeError):  # the loop has closed: it ends already
            loop.call_soon_threadsafe(heard, number)

    with contextlib.suppress(NotImplementedError):
        loop.add_signal_handler(signal.SIGINT, heard, signal.SIGINT)
    for number in ending_signals():
        signal.signal(number, hears)
