"""What a verb prints where it has no screen, and how it then takes typed lines."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from argparse import Namespace

    from bridge.jobfile.recorder import Recorder
    from bridge.level.thermometer import Thermometer
    from bridge.snapshot import Snapshot
    from bridge.values.sheet import Sheet
    from tui.feeds.monitor_feed import MonitorCommands
    from tui.headless.service_row import ServiceRows
    from tui.inputs.line_reader import LineReader
    from tui.settings import Settings


def screenless(args: Namespace) -> bool:
    """Return whether the flags want lines in the screen's place."""
    return bool(args.json or getattr(args, "plain", False))


class Lines(Protocol):
    """Lines out and lines in, in the place of a screen."""

    def write(self, snapshot: Snapshot, utc_s: float) -> None:
        """Write what a snapshot tells, decided then (seconds since 1970)."""

    def quiet(self) -> None:
        """Take note that no snapshot comes any more."""

    def hear(self, line: str) -> None:
        """Take a typed line; '': the person only pressed Enter."""


class JsonLines:
    """One JSON object for each snapshot; typed lines for programs."""

    def __init__(
        self, rows: ServiceRows, commands: MonitorCommands, reader: LineReader
    ) -> None:
        self._rows, self._commands, self._reader = rows, commands, reader

    def write(self, snapshot: Snapshot, utc_s: float) -> None:
        """Write a row."""
        from tui.headless.json_lines import write_line

        write_line(sys.stdout, snapshot, utc_s=utc_s, service=self._rows)

    def quiet(self) -> None:
        """Write nothing: a program sees by itself that no row comes."""

    def hear(self, line: str) -> None:
        """Hand a line to the monitor."""
        from tui.headless.typed_lines import hear

        hear(line, self._commands, self._reader)


def lines_for(
    args: Namespace,
    sheet: Sheet,
    settings: Settings,
    commands: MonitorCommands,
    recorder: Recorder | None,
    by_hand: Thermometer | None = None,
) -> Lines | None:
    """Return what stands in the screen's place; None: the flags want the screen."""
    from tui.inputs.line_reader import LineReader

    accuracy_c = by_hand.accuracy_c if by_hand else None
    reader = LineReader(
        sheet,
        accuracy_c=accuracy_c,
        who=getattr(args, "who", None) or "",
        units=settings.units,
    )
    if args.json:
        from tui.headless.service_row import ServiceRows

        return JsonLines(ServiceRows(sheet), commands, reader)
    if args.plain:
        from tui.headless.plain import Plain

        return Plain(sheet, settings.temperature_unit, commands, reader, recorder)
    return None
