"""Runs the full-screen app on a feed and turns its end into an exit code."""

from __future__ import annotations

import sys

from bridge.core.model import Sheet
from tui.monitor_feed import MonitorFeed
from tui.settings import Settings


def run_screen(
    *, sheet: Sheet, feed: MonitorFeed, settings: Settings, source: str
) -> int:
    """Show the app until the person leaves it; return the exit code."""
    from tui.app import SumpgateApp

    app = SumpgateApp(sheet=sheet, feed=feed, settings=settings, source=source)
    code = app.run()
    feed.stop()
    if feed.failure is not None:
        print(f"sumpgate: {feed.failure}", file=sys.stderr)  # noqa: T201 - the screen is gone
        return feed.failure.exit_code
    return code if code is not None else app.return_code or 0
