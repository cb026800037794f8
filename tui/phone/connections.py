"""Connections: how long one may take to ask, how many may wait, how much is buffered.

A connection belongs to a stranger until a request on it has shown a session. Strangers
beyond the limit push out the oldest of their own address first, so they cannot keep a
paired phone out for longer than it takes to try again.

uvicorn's own limits do not serve here: ``limit_concurrency`` answers 503 to whoever
comes last, a paired phone too; ``timeout_keep_alive`` runs only after a first request,
so it never ends a connection that asks for nothing; and nothing bounds what is buffered
for one that does not read. Hence the subclass of its protocol.
"""

from __future__ import annotations

import asyncio
import contextlib
import socket
import struct
import sys
from collections.abc import Callable
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

ASK_S = 4.0
"""A request must be there, whole, so long after the connection or its first byte."""
MOST_OF_ONE = 24
"""Strangers' connections from one address."""
MOST_STRANGERS = 64
MOST_OPEN = 160
_NO_LINGER = struct.pack("hh" if sys.platform == "win32" else "ii", 1, 0)
BUFFER_BYTES = 16 * 1024
"""What may wait for a slow phone in this program, and in the system; about ten messages
each. The rest is the newest message, made when there is room."""


class Connections:
    """Every open connection, strangers first to go."""

    def __init__(self, refused: Callable[[str, str], object]) -> None:
        """``refused`` takes the kind of refusal and the address."""
        self._refused = refused
        self._strangers: dict[tuple[str, int], Connection] = {}
        self._friends: dict[tuple[str, int], Connection] = {}

    @property
    def open(self) -> int:
        """How many connections there are."""
        return len(self._strangers) + len(self._friends)

    def enter(self, connection: Connection) -> None:
        """Let a new connection in, making room if need be."""
        if connection.client is None or self.open >= MOST_OPEN:
            self._shut(connection, "too many connections")
            return
        same = [d for d in self._strangers.values() if d.at == connection.at]
        if len(same) >= MOST_OF_ONE:
            self._shut(same[0], "too many connections")
        elif len(self._strangers) >= MOST_STRANGERS:
            self._shut(next(iter(self._strangers.values())), "too many connections")
        self._strangers[connection.client] = connection

    def befriend(self, client: tuple[str, int]) -> None:
        """Take note that a request on this connection has shown a session."""
        connection = self._strangers.pop(client, None)
        if connection is not None:
            self._friends[client] = connection

    def cut(self, client: tuple[str, int]) -> None:
        """End a paired phone's connection that takes nothing any more.

        At once: a plain close would wait for what it does not take.
        """
        connection = self._friends.get(client)
        if connection is not None:
            self._shut(connection, kind="phone too slow, dropped")

    def leave(self, connection: Connection) -> None:
        """Forget a connection that has ended."""
        if connection.client is not None:
            self._strangers.pop(connection.client, None)
            self._friends.pop(connection.client, None)

    def late(self, connection: Connection) -> None:
        """Shut a connection that did not ask in time."""
        self._shut(connection, kind="slow or half-open connection")

    def _shut(self, connection: Connection, kind: str) -> None:
        self._refused(kind, connection.at)
        self.leave(connection)
        connection.reset()


class Connection(H11Protocol):
    """One connection of uvicorn's, with a deadline and small buffers."""

    kept: Connections
    """Set on the subclass that a server makes (see connection_class)."""

    def __init__(self, *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        self._deadline: asyncio.TimerHandle | None = None

    @property
    def at(self) -> str:
        """The address it comes from."""
        return self.client[0] if self.client else "unknown"

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Start the deadline."""
        super().connection_made(transport)
        transport.set_write_buffer_limits(high=BUFFER_BYTES)
        sock = transport.get_extra_info("socket")
        if sock is not None:
            with contextlib.suppress(OSError):
                sock.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, BUFFER_BYTES)
        self.kept.enter(self)
        self._watch()

    def data_received(self, data: bytes) -> None:
        """Stop the deadline once the request is whole."""
        if self.transport.is_closing():
            return
        super().data_received(data)
        self._watch()

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget it."""
        self._stop()
        self.kept.leave(self)
        super().connection_lost(exc)

    def reset(self) -> None:
        """End it at once; what it has not taken is thrown away, in the system too."""
        sock = self.transport.get_extra_info("socket")
        if sock is not None:
            with contextlib.suppress(OSError):
                sock.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, _NO_LINGER)
        self.transport.abort()

    def _watch(self) -> None:
        asking = self.conn.their_state in (h11.IDLE, h11.SEND_BODY)
        if not asking:
            self._stop()
        elif self._deadline is None and not self.transport.is_closing():
            self._deadline = self.loop.call_later(ASK_S, self._late)

    def _late(self) -> None:
        self._deadline = None
        if not self.transport.is_closing():
            self.kept.late(self)

    def _stop(self) -> None:
        if self._deadline is not None:
            self._deadline.cancel()
            self._deadline = None


def connection_class(kept: Connections) -> type[Connection]:
    """Return the protocol class of the connections that are kept there."""
    return type("KeptConnection", (Connection,), {"kept": kept})
