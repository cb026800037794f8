"""`sumpgate service`: the steps of the whole service, with no car connected."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.values.errors import UsageError
from tui.cli.flags.record_flags import recording
from tui.service.opening import GOES_ON, editor_for, go_on, remembering, told_before

if TYPE_CHECKING:
    from argparse import Namespace

    from bridge.jobfile.recorder import Recorder
    from bridge.service.log import Log
    from bridge.values.sheet import Sheet
    from tui.feeds.monitor_feed import Deliver, Hands, Watch


def run(args: Namespace) -> int:
    """Show the service's steps; the level itself needs `live`."""
    from bridge.sheets import load
    from tui.feeds.monitor_feed import Hands, MonitorFeed
    from tui.live.run_screen import need_terminal, run_on_screen
    from tui.settings import load_settings

    settings = load_settings()
    name = args.profile or settings.sheet
    if not name:
        raise UsageError("no sheet was named: say --profile SHEET")
    sheet = load(name)
    if not sheet.service.order:
        raise UsageError(
            f"{name} tells the level step only: add [steps] with an order, or use live"
        )
    need_terminal()
    resumed = go_on(args, sheet)
    with recording(args, sheet, name, "no car", live=True) as (recorder, notes):
        if resumed:
            notes.say(GOES_ON)
        told, hands = told_before(recorder), Hands()
        feed = MonitorFeed(_watch(sheet, recorder, hands, told), hands=hands)
        tell = remembering(sheet, recorder, feed.ask)
        return run_on_screen(
            sheet=sheet,
            feed=feed,
            settings=settings,
            source="no car",
            notes=notes,
            recorder=recorder,
            editor=editor_for(sheet, tell, told=told, who=args.who),
            no_car=True,
        )


def _watch(sheet: Sheet, recorder: Recorder | None, hands: Hands, told: Log) -> Watch:
    from bridge.monitor import Monitor

    async def watch(deliver: Deliver) -> None:
        monitor = Monitor(
            sheet=sheet, open_port=None, deliver=deliver, witness=recorder, told=told
        )
        hands.monitor = monitor
        await monitor.run()

    return watch
