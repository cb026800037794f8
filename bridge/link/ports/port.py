"""The adapter's port: bytes in with the moment they came, bytes out.

`Port` is the seam: serial, TCP, RFCOMM and BLE stand behind it, the bench hands in
its own. Foreign exceptions end at each of them: whatever a library or the system
raises becomes PortError (cannot be opened) or LinkLost (gone while in use).
"""

from __future__ import annotations

from typing import Protocol

from bridge.protocol.request import is_allowed, is_session_line
from bridge.values.errors import ForbiddenRequest


class Port(Protocol):
    """A byte pipe to an adapter."""

    async def read(self) -> tuple[bytes, float]:
        """Return the next bytes and the loop time they came; LinkLost when gone."""

    def write(self, data: bytes) -> None:
        """Send bytes; raises LinkLost when the port is gone."""

    def close(self) -> None:
        """Release the port; safe to call twice."""


class GuardedPort:
    """The lowest place that writes: lines outside the one list never pass."""

    def __init__(self, port: Port, *, session: bool = False) -> None:
        """``session``: the sheet asks for an extended session; see SESSION_LINES."""
        self._port = port
        self._session = session

    async def read(self) -> tuple[bytes, float]:
        """Return the next bytes with their arrival time."""
        return await self._port.read()

    def write_line(self, line: str) -> None:
        """Send one permitted line and its carriage return.

        Raises:
            ForbiddenRequest: the line is not on the list of bridge.protocol.request.
            LinkLost: the port is gone.
        """
        if not (is_allowed(line) or (self._session and is_session_line(line))):
            raise ForbiddenRequest(
                f"{line[:40]!r} is not a reading request; sumpgate will not send it"
            )
        self._port.write(line.encode("ascii") + b"\r")

    def close(self) -> None:
        """Release the port."""
        self._port.close()
