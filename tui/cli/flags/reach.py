"""The adapter the flags name, or the one that is found: its port and its speed."""

from __future__ import annotations

import asyncio
import sys
from argparse import Namespace
from dataclasses import replace
from typing import TYPE_CHECKING

from bridge.values.causes import Cause
from bridge.values.errors import PortError
from bridge.values.frozen import frozen

if TYPE_CHECKING:
    from bridge.link.ports.baud import BaudSearch
    from bridge.link.ports.port import Port
    from bridge.link.ports.port_search import FoundPort
    from bridge.link.ports.wire_log import Opener
    from tui.settings import Settings

USUAL_SPEED = 38400
"""The speed most adapters come with; a search begins here."""


@frozen
class Reach:
    """How an adapter is reached."""

    port: str
    description: str = ""
    """What the system calls it; '': the port was named, nothing was looked up."""
    identity: str = ""
    """What tells a USB adapter from others, whatever its port is called."""
    speed: int = USUAL_SPEED
    search: BaudSearch | None = None
    """Finds the speed; None: it is fixed, or the port has none."""
    opener: Opener | None = None

    async def open(self) -> Port:
        """Open the port; raises PortError."""
        from bridge.link.ports.opening import open_port

        if self.opener is None:
            return await open_port(self.port, self.speed)
        return await self.opener()

    def remember(self) -> None:
        """Keep the speed that was found, if one was; never raises."""
        from tui.cli.flags.speeds import remember_speed

        if self.search is not None and self.search.found is not None:
            remember_speed(self.identity or self.port, self.search.found)


def reach(args: Namespace, settings: Settings) -> Reach:
    """Return how to reach the adapter of ``--port`` and ``--baud``.

    Without ``--port`` the one of last time; else those that may be one are tried in
    turn, and the one that answers is remembered.

    Raises:
        PortError: the name can be none, none is there, or none answers.
    """
    from bridge.link.ports.paired import paired_ports
    from bridge.link.ports.port_search import (
        candidates,
        find_ports,
        identity_of,
        remembered,
    )

    if args.port:
        identity = "" if "://" in args.port else identity_of(args.port)
        return _reach(args, args.port, identity=identity)
    found = find_ports()
    if remembered(found, settings.port, settings.port_id) is None:
        found += paired_ports()
    found = candidates(found, settings.port, settings.port_id)
    if len(found) > 1:
        return _first_that_answers(args, found, settings)
    return _at(args, found[0])


def _at(args: Namespace, port: FoundPort) -> Reach:
    adapter = _reach(args, port.device, identity=port.identity)
    return replace(adapter, description=port.description)


def _reach(args: Namespace, port: str, *, identity: str) -> Reach:
    from bridge.link.ports.baud import BaudSearch, has_speed
    from bridge.link.ports.opening import make_opener
    from tui.cli.flags.speeds import remembered_speed

    search, speed = None, args.baud or USUAL_SPEED
    if args.baud is None and has_speed(port):
        known = remembered_speed(identity or port)
        search, speed = BaudSearch(known), known or USUAL_SPEED
    return Reach(
        port=port,
        identity=identity,
        speed=speed,
        search=search,
        opener=make_opener(port, speed, identity=identity),
    )


def _first_that_answers(
    args: Namespace, found: tuple[FoundPort, ...], settings: Settings
) -> Reach:
    from bridge.link.examine import answers
    from bridge.link.ports.progress import telling

    silent = []
    for place, port in enumerate(found, start=1):
        _say(f"trying port {place} of {len(found)}: {port}")
        adapter = _at(args, port)
        with telling(_say):
            why = asyncio.run(answers(adapter.open, adapter.search))
        if why is None:
            _say(f"an adapter answers at {port.device}")
            _keep(adapter, settings)
            return _at(args, port)  # at the speed that was found
        silent.append(f"{port.device} ({_words(why)})")
    raise PortError(
        f"no adapter answers on any port: {'; '.join(silent)}. "
        "Is it plugged in, and is its light on? Otherwise name its port with --port"
    )


def _words(why: Cause | str) -> str:
    from tui.words.link_wording import CAUSES

    return CAUSES[why].what if isinstance(why, Cause) else why


def _keep(adapter: Reach, settings: Settings) -> None:
    """Remember which one it was; a settings file that cannot be written is told."""
    from tui.settings import SettingsError, save_settings

    adapter.remember()
    try:
        save_settings(replace(settings, port=adapter.port, port_id=adapter.identity))
    except SettingsError as problem:
        _say(f"note: {problem}")


def _say(what: str) -> None:
    sys.stderr.write(f"sumpgate: {what}\n")
    sys.stderr.flush()
