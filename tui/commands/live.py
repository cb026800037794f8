"""`sumpgate live`: the real car."""

from __future__ import annotations

import sys
from argparse import Namespace
from typing import TYPE_CHECKING

from bridge.core.errors import PortError, UsageError
from bridge.core.model import Sheet
from tui.monitor_feed import Deliver, MonitorFeed, Watch
from tui.reach import Reach, reach
from tui.settings import Settings, load_settings, save_settings
from tui.wire_log_flag import wire_log

if TYPE_CHECKING:
    from bridge.wire.wirelog import Wrap


def run(args: Namespace) -> int:
    """Watch a car through a real adapter, on screen or as JSON lines."""
    from dataclasses import replace

    from bridge.profile import load

    settings = load_settings()
    name = args.profile or settings.sheet
    if not name:
        raise UsageError(
            "no sheet named: say --profile NAME ('sumpgate sheet list' shows them)"
        )
    sheet = load(name)
    adapter = reach(args, settings.port)
    with wire_log(args) as wrap:
        watch = _watch(sheet, adapter, args, wrap)
        if args.json:
            return _json(watch, adapter)
        chosen = replace(settings, port=adapter.port, sheet=name)
        save_settings(chosen)
        return _screen(sheet, watch, adapter, chosen)


def _watch(sheet: Sheet, adapter: Reach, args: Namespace, wrap: Wrap) -> Watch:
    from bridge.monitor import Monitor

    async def watch(deliver: Deliver) -> None:
        monitor = Monitor(
            sheet=sheet,
            open_port=wrap(adapter.open),
            deliver=deliver,
            interval_s=args.interval,
            baud=adapter.search,
        )
        try:
            await monitor.run(for_s=args.for_s)
        finally:
            adapter.remember()
        if not monitor.ever_live:
            raise PortError(
                f"no fluid temperature came from {adapter.port} in {args.for_s:g} s: "
                "is the ignition on, the adapter pushed home, the sheet the right one?"
            )

    return watch


def _json(watch: Watch, adapter: Reach) -> int:
    from tui.headless import run_json

    if adapter.description:
        found = f"{adapter.port} ({adapter.description})"
        print(f"sumpgate: note: using the port found: {found}", file=sys.stderr)
    return run_json(watch)


def _screen(sheet: Sheet, watch: Watch, adapter: Reach, settings: Settings) -> int:
    from tui.run_screen import run_on_screen

    feed = MonitorFeed(watch)
    return run_on_screen(sheet=sheet, feed=feed, settings=settings, source=adapter.port)
