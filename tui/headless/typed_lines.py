"""Lines typed on standard input, handed to an asyncio program as they come."""

from __future__ import annotations

import asyncio
import contextlib
import os
import sys
import threading


class TypedLines:
    """A queue of typed lines; standard input is read in a thread of its own."""

    def __init__(self) -> None:
        self._loop = asyncio.get_running_loop()
        self._queue: asyncio.Queue[str] = asyncio.Queue()
        self.ended = False
        """Whether standard input has come to its end."""
        threading.Thread(target=self._read, name="typed", daemon=True).start()

    def _read(self) -> None:
        with contextlib.suppress(OSError, ValueError, RuntimeError):
            for line in sys.stdin if _can_be_read() else ():
                self._loop.call_soon_threadsafe(self._queue.put_nowait, line.strip())
        with contextlib.suppress(RuntimeError):
            self._loop.call_soon_threadsafe(setattr, self, "ended", True)  # noqa: FBT003

    def take(self) -> list[str]:
        """Return the lines typed since the last call, blank ones too."""
        lines = []
        while not self._queue.empty():
            lines.append(self._queue.get_nowait())
        return lines


def _can_be_read() -> bool:
    """Return whether reading would not stop the program, as in a shell's background."""
    if sys.stdin is None:
        return False
    if sys.platform == "win32" or not sys.stdin.isatty():
        return True
    return os.tcgetpgrp(sys.stdin.fileno()) == os.getpgrp()
