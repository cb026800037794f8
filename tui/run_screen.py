"""Puts the full-screen app on a feed and turns its end into an exit code."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from bridge.core.errors import UsageError
from bridge.core.model import Sheet
from tui.monitor_feed import MonitorFeed
from tui.record_flag import Notes
from tui.service.no_feed import NoFeed
from tui.settings import Settings

if TYPE_CHECKING:
    from bridge.job.record import Recorder
    from tui.phone.server import PhoneServer
    from tui.phone_pane import PhonePane
    from tui.service.desk import Desk
    from tui.service.host import BenchCar


def need_terminal() -> None:
    """Raise UsageError where there is no terminal; before anything is begun."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise UsageError("no terminal to draw on: run it in one, or add --json")


def run_on_screen(
    *,
    sheet: Sheet,
    feed: MonitorFeed | NoFeed,
    settings: Settings,
    source: str,
    notes: Notes | None = None,
    recorder: Recorder | None = None,
    phone: PhoneServer | None = None,
    desk: Desk | None = None,
    bench: BenchCar | None = None,
    at_service: bool = False,
) -> int:
    """Show the app until the person leaves it; return the exit code.

    If the monitor could not go on, its error's exit code counts. What
    ``notes`` says meanwhile is shown over the screen; notes and cautions go to
    ``recorder``. ``desk``: where the whole service is worked at. ``bench``: the
    simulated car. ``at_service``: begin with the steps, not with the live screen.

    Raises UsageError without a terminal.
    """
    from tui.app import SumpgateApp
    from tui.terminal import run_screen

    need_terminal()
    app = SumpgateApp(
        sheet=sheet,
        feed=feed,
        settings=settings,
        source=source,
        diary=recorder.note_event if recorder else None,
        phone=_pane(phone),
        desk=desk,
    )
    app.bench = bench
    app.no_car = isinstance(feed, NoFeed)
    app.at_service = at_service or app.no_car
    feed.abort = lambda: app.call_later(app.exit, 3)
    if notes is not None:
        notes.to_screen(lambda sentence: app.say_over(sentence, "warning"))
    code = run_screen(app)
    if feed.failure is not None and code in (0, feed.failure.exit_code):
        print(f"sumpgate: {feed.failure}", file=sys.stderr)  # noqa: T201 - as above
        return feed.failure.exit_code
    return code


def _pane(phone: PhoneServer | None) -> PhonePane | None:
    if phone is None:
        return None
    from tui.phone_pane import PhonePane

    return PhonePane(phone)
