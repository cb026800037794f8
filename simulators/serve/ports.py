"""The bench as something a program can open: a TCP port or a pseudo-terminal."""

from __future__ import annotations

import asyncio
import contextlib
import errno
import os
from typing import TYPE_CHECKING

from bridge import posix
from bridge.values.errors import PortError

if TYPE_CHECKING:
    from collections.abc import Callable

    from simulators.serve.bench import Bench, BenchPort

_BACKLOG = 65_536  # bytes kept for a program that does not read
_MOST = 4096


async def serve_tcp(
    bench: Bench,
    host: str,
    port: int,
    *,
    on_ready: Callable[[str, int], None] | None = None,
) -> None:
    """Serve one program at a time over TCP until cancelled.

    Each connection finds the adapter as just powered up and the car as it is; a
    second program is turned away while one is connected. Port 0 picks a free one;
    ``on_ready`` is told host and port. Raises PortError if the port cannot be had.
    """
    bench.start()
    ends: set[asyncio.Transport] = set()
    try:
        server = await asyncio.get_running_loop().create_server(
            lambda: _TcpEnd(bench, ends), host, port
        )
    except OSError as error:
        raise PortError(_why_not(host, port, error)) from error
    async with server:
        if on_ready is not None:
            on_ready(*server.sockets[0].getsockname()[:2])
        try:
            # Not serve_forever: cancelled, it closes under a program just accepted.
            await asyncio.get_running_loop().create_future()
        finally:
            await _hang_up(ends)


async def _hang_up(ends: set[asyncio.Transport]) -> None:
    """Close every connection, also one that is just being accepted."""
    for _ in range(5):  # turns of the loop from accepting to the socket's close
        for transport in tuple(ends):
            transport.abort()
        await asyncio.sleep(0)


def _why_not(host: str, port: int, error: OSError) -> str:
    if error.errno == errno.EADDRINUSE:
        return f"Port {port} on {host} is taken by another program: choose another one."
    if error.errno in (errno.EACCES, errno.EPERM):
        return f"Port {port} on {host} is not allowed: choose one above 1023."
    return (
        f"The bench cannot listen on {host} port {port} ({error.strerror or error}): "
        "give an address of this machine, such as 127.0.0.1:35000."
    )


class _TcpEnd(asyncio.Protocol):
    """One TCP connection to the bench."""

    def __init__(self, bench: Bench, ends: set[asyncio.Transport]) -> None:
        self._bench = bench
        self._ends = ends
        self._port: BenchPort | None = None
        self._transport: asyncio.Transport | None = None

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        if not isinstance(transport, asyncio.Transport):  # asyncio promises one here
            return
        self._transport = transport
        self._ends.add(transport)
        if self._bench.port is not None and self._bench.port.open:
            transport.abort()  # a serial adapter has only one port
            return
        try:
            self._port = self._bench.attach(self._write, transport.abort)
        except PortError:
            transport.abort()

    def _write(self, data: bytes) -> None:
        """Write; a program that does not read loses bytes, as on a serial line."""
        transport = self._transport
        if transport is not None and transport.get_write_buffer_size() < _BACKLOG:
            transport.write(data)

    def data_received(self, data: bytes) -> None:
        if self._port is not None:
            self._port.feed(data)

    def connection_lost(self, exc: Exception | None) -> None:  # noqa: ARG002 - asyncio's
        if self._transport is not None:
            self._ends.discard(self._transport)
        if self._port is not None:
            self._port.detach()


async def serve_pty(
    bench: Bench,
    *,
    on_ready: Callable[[str], None] | None = None,
) -> None:
    """Serve one program at a time over a pseudo-terminal until cancelled.

    ``on_ready`` is told the path to open. A program may close it and open it again:
    adapter and car go on, as behind a USB lead. When the bench unplugs itself, the
    path disappears and, once it is back, ``on_ready`` is told the new one.
    Raises PortError where the system has no pseudo-terminals.
    """
    bench.start()
    while True:
        end = _PtyEnd(bench)
        if on_ready is not None:
            on_ready(end.path)
        try:
            await end.serve()
        finally:
            end.close()
        await bench.until_plugged()


class _PtyEnd:
    """One pseudo-terminal; lives until the bench unplugs it."""

    def __init__(self, bench: Bench) -> None:
        # The slave stays open here, so that the master survives a program that
        # closes its end, and raw mode stays set.
        self._master, self._slave, self.path = _open_pty()
        self._loop = asyncio.get_running_loop()
        self._unplugged = asyncio.Event()
        self._port = bench.attach(self._write, self._unplugged.set)

    async def serve(self) -> None:
        """Carry bytes both ways until unplugged."""
        self._loop.add_reader(self._master, self._readable)
        await self._unplugged.wait()

    def close(self) -> None:
        """Let the pseudo-terminal go."""
        self._loop.remove_reader(self._master)
        self._port.detach()
        for file in (self._master, self._slave):
            with contextlib.suppress(OSError):
                os.close(file)

    def _readable(self) -> None:
        try:
            data = os.read(self._master, _MOST)
        except BlockingIOError:
            return
        except OSError:
            self._unplugged.set()
            return
        self._port.feed(data)

    def _write(self, data: bytes) -> None:
        """Write for a reader that may not be there: a full queue loses bytes."""
        with contextlib.suppress(BlockingIOError, OSError):
            os.write(self._master, data)


def _open_pty() -> tuple[int, int, str]:
    try:
        ends = posix.open_pty()
    except OSError as error:
        raise PortError(
            f"No pseudo-terminal can be had ({error.strerror}): serve over TCP instead."
        ) from error
    if ends is None:
        raise PortError("This system has no pseudo-terminals: serve over TCP instead.")
    return ends
