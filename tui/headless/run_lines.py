"""Running a monitor without a screen: lines until it ends or is interrupted."""

from __future__ import annotations

import asyncio
import os
import sys
import time
from collections.abc import Callable, Coroutine
from typing import TYPE_CHECKING

from tui.headless.newest_row import NewestRow
from tui.interrupts import INTERRUPTED

if TYPE_CHECKING:
    from tui.feeds.monitor_feed import MonitorCommands, Watch
    from tui.headless.no_screen import Lines


def run_lines(
    watch: Watch,
    lines: Lines,
    commands: MonitorCommands,
    *,
    loop_factory: Callable[[], asyncio.AbstractEventLoop] = asyncio.new_event_loop,
    every_row: bool = False,
) -> int:
    """Write what is told of each snapshot on standard output; return the exit code.

    A slow reader gets what the newest one tells. ``every_row``: it gets all of them,
    and whoever makes them waits for it, as a simulated car can. ``hands`` gets the
    way to leave.
    """
    main = (_every_row if every_row else _newest_only)(watch, lines)
    try:
        with asyncio.Runner(loop_factory=loop_factory) as runner:
            runner.run(_until_left(main, commands))
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        mute_stdout()
    return 0


async def _until_left(
    main: Coroutine[None, None, None], commands: MonitorCommands
) -> None:
    left, task = False, asyncio.ensure_future(main)

    def leave() -> None:
        nonlocal left
        left = True
        task.cancel()

    commands.leave = leave
    try:
        await task
    except asyncio.CancelledError:
        if not left:
            raise


async def _every_row(watch: Watch, lines: Lines) -> None:
    await watch(lambda snapshot: lines.write(snapshot, time.time()))


async def _newest_only(watch: Watch, lines: Lines) -> None:
    loop, task = asyncio.get_running_loop(), asyncio.current_task()
    gone = False

    def stop() -> None:
        nonlocal gone
        gone = True
        if task is not None:
            task.cancel()

    rows = NewestRow(sys.stdout, lines, lambda: loop.call_soon_threadsafe(stop))
    try:
        await watch(rows.put)
    except asyncio.CancelledError:
        if gone:
            raise BrokenPipeError from None
        raise
    finally:
        rows.close()


def mute_stdout() -> None:
    """Point standard output at nothing: whoever read it has gone."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
