"""`sumpgate service`: the steps of the whole service, with no car connected."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.values.errors import UsageError
from tui.cli.flags.record_flags import recording
from tui.feeds.no_feed import NoFeed
from tui.service.opening import GOES_ON, desk_for, go_on

if TYPE_CHECKING:
    from argparse import Namespace


def run(args: Namespace) -> int:
    """Show the service's steps; the level itself needs `live`."""
    from bridge.sheets import load
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
        return run_on_screen(
            sheet=sheet,
            feed=NoFeed(),
            settings=settings,
            source="no car",
            notes=notes,
            recorder=recorder,
            desk=desk_for(sheet, recorder, who=args.who, remember=True),
        )
