"""Lines typed on standard input, handed to an asyncio program as they come."""

from __future__ import annotations

import asyncio
import contextlib
import sys
import threading
from typing import TYPE_CHECKING

from bridge import posix
from bridge.link.clock import sleep
from tui.inputs.answers import Refused

if TYPE_CHECKING:
    from collections.abc import Callable

    from tui.feeds.monitor_feed import MonitorCommands
    from tui.inputs.line_reader import LineReader


class TypedLines:
    """A queue of typed lines; standard input is read in a thread of its own."""

    def __init__(self) -> None:
        self._loop = asyncio.get_running_loop()
        self._queue: asyncio.Queue[str] = asyncio.Queue()
        self.ended = False
        """Whether standard input has come to its end."""
        threading.Thread(target=self._read, name="typed", daemon=True).start()

    def _read(self) -> None:
        with contextlib.suppress(AttributeError):  # a test's own stream
            sys.stdin.reconfigure(errors="replace")  # type: ignore[union-attr]
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


HEARD_EVERY_S = 0.1
"""How often what was typed is looked at, in the loop's time."""


async def hear_lines(take: Callable[[str], None]) -> None:
    """Hand each typed line over, blank ones too, until standard input ends."""
    typed = TypedLines()
    while True:
        over = typed.ended
        for line in typed.take():
            take(line)
        if over:
            return
        await sleep(HEARD_EVERY_S)


def listening(take: Callable[[str], None]) -> asyncio.Task[None]:
    """Take typed lines from standard input, where there is no screen to type on."""
    return asyncio.get_running_loop().create_task(hear_lines(take))


def hear(line: str, commands: MonitorCommands, reader: LineReader) -> None:
    """Hand what a line tells to the monitor; a wrong one is said on standard error."""
    at_bench = commands.bench(line)
    if not line or at_bench is True:
        return
    monitor = commands.monitor
    last = monitor.last if monitor is not None else None
    event = at_bench or reader.read(line, last)
    if isinstance(event, Refused):
        with contextlib.suppress(OSError, ValueError):  # nobody reads it any more
            sys.stderr.write(f"sumpgate: {event.words}\n")
            sys.stderr.flush()
    else:
        commands.tell(event)


def _can_be_read() -> bool:
    """Return whether reading would not stop the program, as in a shell's background."""
    if sys.stdin is None:
        return False
    return not sys.stdin.isatty() or posix.in_front(sys.stdin.fileno())
