"""Running a monitor without a screen: JSON lines until it ends or is interrupted."""

from __future__ import annotations

import asyncio
import os
import sys
from collections.abc import Callable

from tui.feeds.monitor_feed import Watch
from tui.headless.json_lines import write_line

INTERRUPTED = 130


def run_json(
    watch: Watch,
    *,
    loop_factory: Callable[[], asyncio.AbstractEventLoop] = asyncio.new_event_loop,
) -> int:
    """Print one JSON object a line on standard output; return the exit code."""
    out = sys.stdout
    try:
        with asyncio.Runner(loop_factory=loop_factory) as runner:
            runner.run(watch(lambda snapshot: write_line(out, snapshot)))
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        mute_stdout()
    return 0


def mute_stdout() -> None:
    """Point standard output at nothing: whoever read it has gone."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
