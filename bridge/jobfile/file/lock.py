"""One writer at a time: a lock that ends with the process that holds it."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import IO

from bridge import posix


def lock(path: Path) -> IO[bytes] | None:
    """Lock a file until what is returned is closed; None: this system has no locks.

    Raises BlockingIOError if another process, or another part of this one, holds it.
    """
    if not posix.has_locks():
        return None  # nor is it opened: an open file could not be deleted there
    held = path.open("rb")
    try:
        posix.lock(held)
    except BaseException:
        held.close()
        raise
    return held


def release(held: IO[bytes] | None) -> None:
    """Let go of the lock."""
    if held is not None:
        with contextlib.suppress(OSError):
            held.close()
