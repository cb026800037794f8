"""Puts the full-screen app on a feed and turns its end into an exit code."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

from bridge.values.errors import UsageError
from bridge.values.sheet import Sheet
from tui import interrupts, loading
from tui.cli.flags.record_flags import Notes
from tui.feeds.monitor_feed import MonitorFeed
from tui.live.terminal import INTERRUPTED
from tui.settings import Settings

if TYPE_CHECKING:
    from bridge.jobfile.recorder import Recorder
    from tui.live.app import SumpgateApp
    from tui.live.phone_pane import PhonePane
    from tui.phone.server import PhoneServer
    from tui.service.host import BenchCar
    from tui.service.log_editor import LogEditor


def need_terminal() -> None:
    """Raise UsageError where no screen can be drawn; before anything is begun."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise UsageError(
            "no terminal to draw on: run it in one, or add --plain or --json"
        )
    if os.environ.get("TERM") == "dumb":
        raise UsageError("this terminal cannot draw a screen: add --plain")


def run_on_screen(
    *,
    sheet: Sheet,
    feed: MonitorFeed,
    settings: Settings,
    source: str,
    notes: Notes | None = None,
    recorder: Recorder | None = None,
    phone: PhoneServer | None = None,
    editor: LogEditor | None = None,
    bench: BenchCar | None = None,
    at_service: bool = False,
    no_car: bool = False,
) -> int:
    """Show the app until the person leaves it; return the exit code.

    What ``notes`` says meanwhile is shown on the screen; notes and cautions go to
    ``recorder``. ``editor``: where the whole service is worked at. ``bench``: the
    simulated car. ``at_service``: begin with the steps, not with the live screen.
    ``no_car``: there is no live side at all.

    Raises UsageError without a terminal, and what the monitor could not go on for:
    said last, after all notes.
    """
    loading.begun()
    from tui.live.app import SumpgateApp

    need_terminal()
    app = SumpgateApp(
        sheet=sheet,
        feed=feed,
        settings=settings,
        source=source,
        diary=recorder.note_event if recorder else None,
        phone=_pane(phone),
        editor=editor,
    )
    app.bench = bench
    app.no_car = no_car
    app.at_service = at_service or app.no_car
    feed.abort = lambda: app.call_later(app.exit, 3)
    if notes is not None:
        notes.to_screen(lambda sentence: app.say_over(sentence, "news"))
    code = run_screen(app)
    if feed.failure is not None and code in (0, feed.failure.exit_code):
        raise feed.failure
    return code


def _pane(phone: PhoneServer | None) -> PhonePane | None:
    if phone is None:
        return None
    from tui.live.phone_pane import PhonePane

    return PhonePane(phone)


def run_screen(app: SumpgateApp) -> int:
    """Run the app; return its exit code. The feed has ended when this returns.

    0 after 'q', 130 after Ctrl-C, 128 + n after signal n, 1 after a crash.
    """
    app.heeds_signals = True
    try:
        code = app.run()
    except KeyboardInterrupt:
        code = INTERRUPTED
    finally:
        interrupts.closing()
        app.stop_feed()
    if code is not None:
        return code
    # No code of our own: a crash has set Textual's, an early Ctrl-C has not.
    return app.return_code or INTERRUPTED
