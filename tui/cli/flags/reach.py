"""The adapter the flags name, or the one that is found: its port and its speed."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bridge.link.ports.baud import BaudSearch
    from bridge.link.ports.port import Port

USUAL_SPEED = 38400
"""The speed most adapters come with; a search begins here."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """How an adapter is reached."""

    port: str
    description: str = ""
    """What the system calls it; '': the port was named, nothing was looked up."""
    speed: int = USUAL_SPEED
    search: BaudSearch | None = None
    """Finds the speed; None: it is fixed, or the port has none."""

    async def open(self) -> Port:
        """Open the port; raises PortError."""
        from bridge.link.ports.port import open_port

        return await open_port(self.port, self.speed)

    def remember(self) -> None:
        """Keep the speed that was found, if one was; never raises."""
        from tui.cli.flags.speeds import remember_speed

        if self.search is not None and self.search.found is not None:
            remember_speed(self.port, self.search.found)


def reach(args: Namespace, remembered_port: str) -> Reach:
    """Return how to reach the adapter of ``--port`` and ``--baud``.

    Raises:
        PortError, UsageError: no port is named and there is not exactly one.
    """
    from bridge.link.ports.baud import BaudSearch, has_speed
    from tui.cli.flags.speeds import remembered_speed

    port, description = args.port, ""
    if not port:
        from bridge.link.ports.port_search import choose, find_ports

        found = choose(find_ports(), remembered_port)
        port, description = found.device, found.description
    if args.baud is not None or not has_speed(port):
        return Reach(port=port, description=description, speed=args.baud or USUAL_SPEED)
    known = remembered_speed(port)
    return Reach(
        port=port,
        description=description,
        speed=known or USUAL_SPEED,
        search=BaudSearch(known),
    )
