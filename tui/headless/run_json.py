"""Running a monitor without a screen: JSON lines until it ends or is interrupted."""

from __future__ import annotations

import asyncio
import os
import sys
import time
from collections.abc import Callable

from bridge.snapshot import Snapshot
from bridge.values.sheet import Sheet
from tui.feeds.monitor_feed import Watch
from tui.headless.json_lines import write_line
from tui.headless.newest_row import NewestRow
from tui.headless.service_row import ServiceRows
from tui.signals import INTERRUPTED


def run_json(
    watch: Watch,
    sheet: Sheet,
    *,
    loop_factory: Callable[[], asyncio.AbstractEventLoop] = asyncio.new_event_loop,
    every_row: bool = False,
) -> int:
    """Print one JSON object a line on standard output; return the exit code.

    A slow reader gets the newest row only. ``every_row``: it gets all of them, and
    whoever makes them waits for it, as a simulated car can.
    """
    out, service = sys.stdout, ServiceRows(sheet)

    def write(snapshot: Snapshot) -> None:
        write_line(out, snapshot, utc_s=time.time(), service=service)

    try:
        with asyncio.Runner(loop_factory=loop_factory) as runner:
            if every_row:
                runner.run(watch(write))
            else:
                runner.run(_newest_only(watch, service))
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        mute_stdout()
    return 0


async def _newest_only(watch: Watch, service: ServiceRows) -> None:
    loop, task = asyncio.get_running_loop(), asyncio.current_task()
    gone = False

    def stop() -> None:
        nonlocal gone
        gone = True
        if task is not None:
            task.cancel()

    rows = NewestRow(
        sys.stdout, lambda: loop.call_soon_threadsafe(stop), service=service
    )
    deliver: Callable[[Snapshot], None] = rows.put
    try:
        await watch(deliver)
    except asyncio.CancelledError:
        if gone:
            raise BrokenPipeError from None
        raise
    finally:
        rows.close()


def mute_stdout() -> None:
    """Point standard output at nothing: whoever read it has gone."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
