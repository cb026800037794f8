"""`sumpgate service`: the steps of the whole service, with no car connected."""

from __future__ import annotations

import asyncio
import contextlib
from typing import TYPE_CHECKING

from bridge.values.errors import UsageError
from tui.cli.flags.record_flags import recording
from tui.headless.no_screen import lines_for, screenless
from tui.headless.typed_lines import hear_lines
from tui.service.log_editor import editor_for

if TYPE_CHECKING:
    from argparse import Namespace

    from bridge.values.sheet import Sheet
    from tui.cli.flags.record_flags import Recording
    from tui.feeds.monitor_feed import Deliver, MonitorCommands, Watch
    from tui.headless.no_screen import Lines


def run(args: Namespace) -> int:
    """Show the service's steps; the level itself needs `live`."""
    from bridge.sheets import load
    from tui.feeds.monitor_feed import MonitorCommands, MonitorFeed
    from tui.headless.run_lines import run_lines
    from tui.live.run_screen import need_terminal, run_on_screen
    from tui.settings import load_settings

    settings = load_settings()
    name = args.profile or settings.sheet
    if not name:
        raise UsageError("no sheet was named: say --profile SHEET")
    sheet = load(name)
    if not sheet.service.order:
        raise UsageError(
            f"{name} has the level step only: add [steps] with an order, or use live"
        )
    if args.lines:
        return _lines(sheet)
    if not screenless(args):
        need_terminal()
    with recording(args, sheet, name, "no car", live=True) as record:
        commands = MonitorCommands()
        lines = lines_for(args, sheet, settings, commands, record.recorder)
        if lines is not None:
            watch = _typed(sheet, record, commands, lines, args)
            return run_lines(watch, lines, commands, every_row=True)
        feed = MonitorFeed(_watch(sheet, record, commands), commands=commands)
        return run_on_screen(
            sheet=sheet,
            feed=feed,
            settings=settings,
            source="no car",
            notes=record.notes,
            recorder=record.recorder,
            editor=editor_for(sheet, feed.ask, told=record.job.told, who=args.who),
            no_car=True,
        )


def _lines(sheet: Sheet) -> int:
    """List the words of the sheet for typed lines."""
    from tui.inputs.service_lines import words_of

    for kind, word in words_of(sheet):
        print(f"{kind:<9} {word}")
    return 0


def _typed(
    sheet: Sheet,
    record: Recording,
    commands: MonitorCommands,
    lines: Lines,
    args: Namespace,
) -> Watch:
    """Take the service in typed lines; as JSON one row after each of them.

    In plain text news comes by itself.
    """
    quiet = _watch(sheet, record, commands)

    async def watch(deliver: Deliver) -> None:
        def heard(line: str) -> None:
            lines.hear(line)
            if (
                line
                and commands.monitor is not None
                and commands.monitor.last is not None
            ):
                deliver(commands.monitor.last)

        monitor = asyncio.create_task(quiet(deliver if args.plain else lambda _: None))
        try:
            async with asyncio.timeout(args.for_s):
                await hear_lines(heard)
        except TimeoutError:
            pass
        finally:
            monitor.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await monitor

    return watch


def _watch(sheet: Sheet, record: Recording, commands: MonitorCommands) -> Watch:
    from bridge.monitor import Monitor

    async def watch(deliver: Deliver) -> None:
        monitor = Monitor(
            sheet=sheet,
            open_port=None,
            deliver=deliver,
            witness=record.recorder,
            taken_up=record.job,
        )
        commands.monitor = monitor
        await monitor.run()

    return watch
