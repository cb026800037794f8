"""A program and a bench in one process, on one loop: a wire without a port."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

from bridge.values.errors import LinkLost

if TYPE_CHECKING:
    from simulators.serve.bench import Bench

_GONE = "The simulated adapter was unplugged: it can be opened again when it is back."


class BenchPipe:
    """The program's end of a connection to a bench.

    Opening it raises PortError while the bench's adapter is unplugged
    (``Bench.unplug``). One reader at a time.
    """

    def __init__(self, bench: Bench) -> None:
        self._loop = asyncio.get_running_loop()
        self._arrived: asyncio.Queue[tuple[bytes, float] | None] = asyncio.Queue()
        """None: nothing comes after it."""
        self._lost: str | None = None
        self._port = bench.attach(self._deliver, self._cut)

    async def read(self) -> tuple[bytes, float]:
        """Wait for bytes; return them with the loop time of the last one.

        Raises LinkLost once the bench has dropped the connection and everything
        that came before has been read, or after ``close``.
        """
        arrived = await self._arrived.get()
        if arrived is None:
            self._arrived.put_nowait(None)  # for whoever reads again
            raise LinkLost(self._lost or _GONE)
        return arrived

    def write(self, data: bytes) -> None:
        """Send bytes; raises LinkLost if the connection is gone."""
        if self._lost is not None:
            raise LinkLost(self._lost)
        self._port.feed(data)

    def close(self) -> None:
        """Hang up; a waiting reader gets LinkLost. May be called twice."""
        if self._lost is None:
            self._port.detach()
            self._cut("The connection to the simulated adapter was closed.")

    def _deliver(self, data: bytes) -> None:
        self._arrived.put_nowait((data, self._loop.time()))

    def _cut(self, why: str = _GONE) -> None:
        self._lost = why
        self._arrived.put_nowait(None)
