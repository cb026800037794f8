"""How a run is ended from outside: Ctrl-C, SIGTERM and SIGHUP take the same way out.

All of them come in as an interrupt, so that a job is sealed and a terminal put back
whichever it was; `exit_code` remembers which.
"""

from __future__ import annotations

import signal
import threading
from types import FrameType

from bridge import posix

INTERRUPTED = 130
_came: list[int] = []
"""The signals, besides Ctrl-C, that have come."""


def heed() -> None:
    """Let SIGINT, SIGTERM and SIGHUP end the program cleanly; in the main thread.

    SIGINT even where a shell started it with SIGINT ignored, as a script's background
    job is; SIGHUP not where it is ignored, for then it is to live on without its
    terminal.
    """
    _came.clear()
    if threading.current_thread() is not threading.main_thread():
        return
    signal.signal(signal.SIGINT, signal.default_int_handler)
    for number in posix.ending_signals():
        if signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _end)


def _end(number: int, _frame: FrameType | None) -> None:
    """Take the way of Ctrl-C once; a second one does not cut the clean end short."""
    if not _came:
        _came.append(number)
        signal.raise_signal(signal.SIGINT)


def closing() -> None:
    """Let nothing but Ctrl-C cut the clean end short; call it once it has begun.

    A screen's own loop gives the signals back to the system when it ends, and a
    terminal that closes sends its hang-up more than once.
    """
    if threading.current_thread() is threading.main_thread():
        for number in posix.ending_signals():
            signal.signal(number, signal.SIG_IGN)


def exit_code(code: int) -> int:
    """Return the exit code of a run that ended with ``code``: 128 + n of its signal."""
    return 128 + _came[0] if code == INTERRUPTED and _came else code
