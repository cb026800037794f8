"""`sumpgate live`: the real car."""

from __future__ import annotations

from argparse import Namespace

from bridge.core.errors import PortError, UsageError
from bridge.core.model import Sheet
from tui.monitor_feed import Deliver, MonitorFeed, Watch
from tui.settings import Settings, load_settings, save_settings

DEFAULT_BAUD = 38400


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
    port = args.port or _found_port(settings)
    if args.json:
        return _json(sheet, port, args)
    save_settings(replace(settings, port=port, sheet=name))
    return _screen(sheet, port, args, replace(settings, port=port, sheet=name))


def _watch(sheet: Sheet, port: str, args: Namespace) -> Watch:
    from bridge.monitor import Monitor
    from bridge.wire.port import Port, open_port

    async def opener() -> Port:
        return await open_port(port, args.baud)

    async def watch(deliver: Deliver) -> None:
        monitor = Monitor(
            sheet=sheet,
            open_port=opener,
            deliver=deliver,
            interval_s=args.interval,
        )
        await monitor.run(for_s=args.for_s)
        if not monitor.ever_live:
            raise PortError(
                f"no fluid temperature came from {port} in {args.for_s:g} s: is the "
                "ignition on, the adapter pushed home, the sheet the right one?"
            )

    return watch


def _json(sheet: Sheet, port: str, args: Namespace) -> int:
    from tui.headless import run_json

    return run_json(_watch(sheet, port, args))


def _screen(sheet: Sheet, port: str, args: Namespace, settings: Settings) -> int:
    from tui.run_screen import run_on_screen

    feed = MonitorFeed(_watch(sheet, port, args))
    return run_on_screen(sheet=sheet, feed=feed, settings=settings, source=port)


def _found_port(settings: Settings) -> str:
    """Return the remembered port if it is there, else the only one found."""
    from bridge.wire.search import find_ports

    found = find_ports()
    names = [p.device for p in found]
    if settings.port and (settings.port in names or "://" in settings.port):
        return settings.port
    if len(found) == 1:
        return names[0]
    if not found:
        raise PortError(
            "no adapter found on any port: plug it in, or name its port with "
            "--port (a device, COMn or socket://host:port)"
        )
    listed = ", ".join(f"{p.device} ({p.description})" for p in found)
    raise UsageError(
        f"several ports could be the adapter, name one with --port: {listed}"
    )
