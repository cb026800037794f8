"""One writer at a time: a lock that ends with the process that holds it."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import IO, Any


def guard(path: Path) -> IO[bytes] | None:
    """Lock a file until what is returned is closed; None: this system has no locks.

    Raises BlockingIOError if another process, or another part of this one, holds it.
    """
    try:
        import fcntl
    except ImportError:
        return None
    held = path.open("rb")
    try:
        _lock(fcntl, held)
    except BaseException:
        held.close()
        raise
    return held


def _lock(fcntl: Any, held: IO[bytes]) -> None:
    try:
        fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        raise
    except OSError:  # a file system that knows no locks
        return


def release(held: IO[bytes] | None) -> None:
    """Let go of the lock."""
    if held is not None:
        with contextlib.suppress(OSError):
            held.close()
