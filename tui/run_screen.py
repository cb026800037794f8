"""Puts the full-screen app on a feed and turns its end into an exit code."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from bridge.core.model import Sheet
from tui.monitor_feed import MonitorFeed
from tui.record_flag import Notes
from tui.settings import Settings

if TYPE_CHECKING:
    from tui.app import SumpgateApp

NOTE_S = 20.0


def run_on_screen(
    *,
    sheet: Sheet,
    feed: MonitorFeed,
    settings: Settings,
    source: str,
    notes: Notes | None = None,
) -> int:
    """Show the app until the person leaves it; return the exit code.

    Without a terminal there is no screen: that is a usage error, said in one
    sentence. If the monitor could not go on, its error's exit code counts. What
    ``notes`` says meanwhile is shown over the screen.
    """
    from tui.app import SumpgateApp, run_screen

    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        print(  # noqa: T201 - there is no screen to show it on
            "sumpgate: no terminal to draw on: run it in one, or add --json",
            file=sys.stderr,
        )
        return 2
    app = SumpgateApp(sheet=sheet, feed=feed, settings=settings, source=source)
    feed.abort = lambda: app.call_later(app.exit, 3)
    if notes is not None:
        notes.to_screen(lambda sentence: app.call_later(_shown, app, sentence))
    code = run_screen(app)
    if feed.failure is not None and code in (0, feed.failure.exit_code):
        print(f"sumpgate: {feed.failure}", file=sys.stderr)  # noqa: T201 - as above
        return feed.failure.exit_code
    return code


def _shown(app: SumpgateApp, sentence: str) -> None:
    app.notify(sentence, severity="warning", timeout=NOTE_S, markup=False)
