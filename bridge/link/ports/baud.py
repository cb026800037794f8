"""Finding the speed a serial adapter talks at.

Each speed is tried with a line that means nothing and one that asks for the
adapter's name: a prompt must come back, and text that can be read. At a wrong speed
there is silence or garbage. Nothing is sent to the car.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from bridge.link.exchange import AdapterReset, AdapterSilent, Exchange, Said
from bridge.link.ports.port import Port
from bridge.protocol.request import NONSENSE

SPEEDS = (38400, 115200, 9600, 230400, 500000, 1000000, 2000000, 57600, 921600)
"""Bits a second, in the order they are tried: the usual ones first (common
practice, no source)."""

WAKE_S = 0.35
"""For the prompt after the line that means nothing."""
NAME_S = 0.5
"""For the adapter's name: at 9600 bits a second 30 characters take 31 ms."""

_PTY = re.compile(r"/dev/(pts/|ttys\d)")

Say = Callable[[str], None]
SetBaud = Callable[[int], None]


def has_speed(port: str) -> bool:
    """Return whether a port, by its name, has a speed: networks and ptys have none."""
    if "://" in port:
        return False
    return not _PTY.match(str(Path(port).resolve()) if os.name == "posix" else port)


@dataclass(slots=True)
class BaudSearch:
    """Looks for the speed whenever a port is opened; begins where it last found it."""

    found: int | None = None
    """The speed last talked at; before the first search the remembered one."""

    async def settle(self, exchange: Exchange, port: Port, say: Say) -> int | None:
        """Set the port to the speed the adapter understands and return it.

        None: this port has no speed. ``say`` is told what is being tried.

        Raises:
            AdapterSilent: it talks sense at no speed. LinkLost: the port is gone.
        """
        set_baud = getattr(port, "set_baud", None)
        if set_baud is None:
            return None
        for speed in candidates(self.found):
            say(f"trying {speed} baud")
            if _set(set_baud, speed) and await _talks_sense(exchange):
                self.found = speed
                return speed
        raise AdapterSilent


def candidates(remembered: int | None) -> tuple[int, ...]:
    """Return the speeds in the order they are tried, each once."""
    first = () if remembered is None else (remembered,)
    return tuple(dict.fromkeys(first + SPEEDS))


def _set(set_baud: SetBaud, speed: int) -> bool:
    """Set a speed; False: this port has no such speed."""
    try:
        set_baud(speed)
    except (ValueError, OSError):
        return False
    return True


async def _talks_sense(exchange: Exchange) -> bool:
    """Return whether a prompt and readable text come at the present speed."""
    try:
        # What this brings may still be garbage: bytes of the speed before.
        await _ask(exchange, NONSENSE, WAKE_S)
        name = await _ask(exchange, "ATI", NAME_S)
    except AdapterSilent:
        return False
    text = "".join(name.lines)
    return bool(text) and all(" " <= char <= "~" for char in text)


async def _ask(exchange: Exchange, line: str, deadline_s: float) -> Said:
    try:
        return await exchange.ask(line, deadline_s=deadline_s)
    except AdapterReset:
        # A banner had come by itself: throw it away, which asking has done.
        return await exchange.ask(line, deadline_s=deadline_s)
