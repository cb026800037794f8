"""What the verbs do about ``--phone`` and ``--speak``."""

from __future__ import annotations

import contextlib
import sys
import time
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from bridge.values.frozen import frozen
from tui.headless.no_screen import screenless

if TYPE_CHECKING:
    from argparse import Namespace

    from bridge.values.sheet import Sheet
    from tui.feeds.listeners import Listener
    from tui.feeds.monitor_feed import MonitorCommands
    from tui.phone.server import PhoneServer
    from tui.settings import Settings


@frozen
class Outlets:
    """What takes the snapshots besides the screen."""

    commands: MonitorCommands
    """Where marks go, the keyboard's and the phone's."""
    listeners: tuple[Listener, ...] = ()
    phone: PhoneServer | None = None


def add_flags(flags: Any) -> None:
    """Add the flags to a verb."""
    flags.add_argument(
        "--phone",
        nargs="?",
        const="loopback",
        metavar="WHERE",
        help="serve a page for the phone: to this computer only, or, with 'lan' or "
        "an address of this computer, to the local network",
    )
    flags.add_argument(
        "--phone-port",
        type=port,
        default=None,
        metavar="N",
        help="the page's port, default 8642; 0: any that is free",
    )
    flags.add_argument(
        "--speak",
        action="store_true",
        help="say the calls aloud with this system's speech command",
    )


def port(text: str) -> int:
    """Return a port number, 0 to 65535."""
    from argparse import ArgumentTypeError

    number = int(text) if text.isascii() and text.isdigit() and len(text) < 6 else -1
    if not 0 <= number <= 65_535:
        raise ArgumentTypeError(f"{text!r} is no port: write a number up to 65535")
    return number


@contextlib.contextmanager
def outlets(
    args: Namespace, sheet: Sheet, settings: Settings, source: str
) -> Iterator[Outlets]:
    """Give what the flags ask for, and end it afterwards.

    Raises:
        UsageError: it cannot be had.
    """
    from tui.feeds.monitor_feed import MonitorCommands

    commands = MonitorCommands()
    listeners: list[Listener] = []
    if args.speak:
        from tui.feeds.speech import speaker

        listeners.append(speaker())
    phone = _phone(args, sheet, commands, settings, source)
    if phone is not None:
        listeners.append(phone.hub)
    try:
        yield Outlets(commands=commands, listeners=tuple(listeners), phone=phone)
    finally:
        if phone is not None:
            phone.stop()


def _phone(
    args: Namespace,
    sheet: Sheet,
    commands: MonitorCommands,
    settings: Settings,
    source: str,
) -> PhoneServer | None:
    from bridge.values.errors import UsageError
    from tui.extras import need

    if args.phone is None:
        if args.phone_port is not None:
            raise UsageError("--phone-port does nothing without --phone: add it")
        return None
    need("phone")
    from bridge.values.readings import STALE_POLLS, STALE_S
    from tui.phone.hub import Hub
    from tui.phone.server import PhoneServer, listen
    from tui.phone.where import PORT, host_of

    number = PORT if args.phone_port is None else args.phone_port
    listening = listen(host_of(args.phone), number)
    hub = Hub(
        sheet=sheet,
        unit=settings.temperature_unit,
        commands=commands,
        clock=time.monotonic,
        stale_s=max(STALE_S, STALE_POLLS * getattr(args, "interval", 0.0)),
        source=source,
    )
    server = PhoneServer(hub=hub, listening=listening)
    server.start()
    if screenless(args):
        show_address(server)
        server.on_paired(show_address)  # the next phone needs the next token
    return server


def show_address(server: PhoneServer) -> None:
    """Print the code and the address on standard error: there is no screen."""
    from tui.phone.qr import half_blocks

    address = server.address
    code = [*half_blocks(address), ""] if sys.stderr.isatty() else [""]
    note = f"sumpgate: note: on the phone open {address} (good for one phone)\n"
    with contextlib.suppress(OSError, ValueError):  # nobody reads it any more
        sys.stderr.write("\n".join(code) + note)
        sys.stderr.flush()
