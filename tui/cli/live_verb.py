"""`sumpgate live`: the real car."""

from __future__ import annotations

import sys
from argparse import Namespace
from functools import partial
from typing import TYPE_CHECKING

from bridge.level.thermometer import ADVICE
from bridge.values.errors import PortError, UsageError
from bridge.values.sheet import Sheet
from tui.cli.flags.phone_flags import Outlets, outlets
from tui.cli.flags.reach import Reach, reach
from tui.cli.flags.record_flags import Notes, Recording, heard, recording
from tui.cli.flags.sheet_flags import with_level_step
from tui.cli.flags.thermometer_flags import thermometer_of
from tui.cli.flags.wire_log_flag import wire_log
from tui.feeds.listeners import shared
from tui.feeds.monitor_feed import Deliver, MonitorCommands, MonitorFeed, Watch
from tui.headless.no_screen import lines_for, screenless
from tui.headless.typed_lines import listening
from tui.service.log_editor import editor_for
from tui.settings import Settings, load_settings, save_settings
from tui.start.gap import GapError
from tui.words import link_wording

if TYPE_CHECKING:
    from collections.abc import Callable

    from bridge.jobfile.lesson_file import LessonFile
    from bridge.jobfile.recorder import Recorder
    from bridge.level.thermometer import Thermometer
    from bridge.link.ports.wire_log import Wrap
    from tui.headless.no_screen import Lines
    from tui.service.log_editor import LogEditor


NOTHING_SAID = "no answer had come yet: give it longer"
BY_HAND = Reach(port="thermometer")
"""Stands where an adapter would: the readings are typed in."""


def run(args: Namespace) -> int:
    """Watch a car through a real adapter, on screen or as JSON lines."""
    from dataclasses import replace

    from bridge.sheets import load

    settings = load_settings()
    name = args.profile or settings.sheet
    if not name:
        known = "'sumpgate sheet list' shows them"
        raise GapError(UsageError(f"no sheet named: say --profile NAME ({known})"))
    sheet = with_level_step(load(name), name)
    if not screenless(args):
        from tui.live.run_screen import need_terminal

        need_terminal()
    by_hand = thermometer_of(args)
    alone = by_hand is not None and by_hand.alone
    adapter = BY_HAND if alone else _adapter(args, settings, name)
    with (
        outlets(args, sheet, settings, adapter.port) as more,
        wire_log(args) as wrap,
        recording(args, sheet, name, adapter.port, live=True) as record,
    ):
        commands = more.commands
        notes, witness = record.notes, record.recorder
        taught = partial(_lesson_file, name, notes) if witness and not alone else None
        lines = lines_for(args, sheet, settings, commands, witness, by_hand)
        beside = (taught, by_hand, lines)
        watch = _watch(sheet, adapter, args, wrap, record, commands, beside)
        watch = shared(watch, more.listeners)
        if lines is not None:
            return _in_lines(watch, lines, commands, adapter)
        chosen = replace(settings, sheet=name)
        if not alone:
            chosen = replace(chosen, port=adapter.port, port_id=adapter.identity)
        save_settings(chosen)
        if by_hand is not None:
            notes.say(ADVICE[by_hand.kind])
        feed = MonitorFeed(watch, commands=commands)
        editor = editor_for(sheet, feed.ask, told=record.job.told, who=args.who)
        return _screen(
            sheet,
            feed,
            adapter,
            chosen,
            (notes, witness),
            (more, editor),
            at_service=args.service,
        )


def _adapter(args: Namespace, settings: Settings, sheet: str) -> Reach:
    """Return how to reach the adapter.

    Raises PortError, or GapError where no port was named and none answers.
    """
    try:
        return reach(args, settings)
    except PortError as problem:
        if args.port:
            raise
        raise GapError(problem, sheet=sheet) from None


def _watch(
    sheet: Sheet,
    adapter: Reach,
    args: Namespace,
    wrap: Wrap,
    record: Recording,
    commands: MonitorCommands,
    beside: tuple[Callable[[], LessonFile] | None, Thermometer | None, Lines | None],
) -> Watch:
    lesson_file, by_hand, lines = beside
    witness = record.recorder
    alone = by_hand is not None and by_hand.alone

    async def watch(deliver: Deliver) -> None:
        from bridge.monitor import Monitor  # behind the first frame: it loads much
        from bridge.thermal.lesson import NO_LESSONS

        taught = lesson_file() if lesson_file else None
        lessons = taught.recall() if taught else NO_LESSONS
        monitor = Monitor(
            sheet=sheet,
            open_port=None if alone else heard(wrap(adapter.open), witness),
            deliver=deliver,
            interval_s=args.interval,
            baud=adapter.search,
            witness=witness,
            lessons=lessons,
            thermometer=by_hand,
            taken_up=record.job,
        )
        commands.monitor = monitor
        typing = listening(lines.hear) if lines else None
        try:
            await monitor.run(for_s=args.for_s)
        finally:
            if typing is not None:
                typing.cancel()
            adapter.remember()
            if taught:
                taught.keep(*monitor.taught)
        if not (monitor.ever_live or alone):
            why = link_wording.sentence(*monitor.why_not) or NOTHING_SAID
            raise PortError(
                f"no fluid temperature came from {adapter.port} in {args.for_s:g} s: "
                f"{why}"
            )

    return watch


def _lesson_file(name: str, notes: Notes) -> LessonFile:
    """Return where lessons with this sheet lie; used only where a job is recorded."""
    from bridge.jobfile.lesson_file import LessonFile
    from bridge.sheets import find_sheet

    return LessonFile(find_sheet(name).read_text("utf-8-sig"), notes.say)


def _in_lines(
    watch: Watch, lines: Lines, commands: MonitorCommands, adapter: Reach
) -> int:
    from tui.headless.run_lines import run_lines

    if adapter.description:
        found = f"{adapter.port} ({adapter.description})"
        print(f"sumpgate: note: using the port found: {found}", file=sys.stderr)
    return run_lines(watch, lines, commands)


def _screen(
    sheet: Sheet,
    feed: MonitorFeed,
    adapter: Reach,
    settings: Settings,
    record: tuple[Notes, Recorder | None],
    beside: tuple[Outlets, LogEditor | None],
    *,
    at_service: bool,
) -> int:
    from tui.live.run_screen import run_on_screen

    (notes, recorder), (more, editor) = record, beside
    return run_on_screen(
        sheet=sheet,
        feed=feed,
        settings=settings,
        source=adapter.port,
        notes=notes,
        recorder=recorder,
        phone=more.phone,
        editor=editor,
        at_service=at_service,
    )
