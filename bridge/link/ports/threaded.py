"""A port with one daemon thread that reads and stamps, for devices that block."""

from __future__ import annotations

import asyncio
import contextlib
import threading
import time
from typing import Protocol

from bridge.link.ports.remedies import first_line
from bridge.values.errors import LinkLost


class Device(Protocol):
    """What blocks; any exception of it means that it is gone."""

    def take(self) -> bytes:
        """Return what has come, after a moment b'' if nothing has."""

    def put(self, data: bytes) -> None:
        """Send bytes."""

    def interrupt(self) -> None:
        """Wake a reader that waits, from another thread."""

    def release(self) -> None:
        """Let the device go; never raises."""


class ThreadedPort:
    """A blocking device as a port."""

    def __init__(self, device: Device, name: str) -> None:
        self._device = device
        self._name = name
        self._loop = asyncio.get_running_loop()
        self._queue: asyncio.Queue[tuple[bytes, float] | LinkLost] = asyncio.Queue()
        self._closing = threading.Event()
        self._thread = threading.Thread(
            target=self._pump, name=f"sumpgate reader {name}", daemon=True
        )
        self._thread.start()

    async def read(self) -> tuple[bytes, float]:
        """Return the next bytes and the monotonic time at which they arrived."""
        item = await self._queue.get()
        if isinstance(item, LinkLost):
            self._queue.put_nowait(item)  # every later read says the same
            raise item
        return item

    def write(self, data: bytes) -> None:
        """Write bytes to the adapter."""
        try:
            self._device.put(data)
        except Exception as problem:
            raise self._lost(problem) from problem

    def close(self) -> None:
        """Free the reader, which closes the device on its way out."""
        self._closing.set()
        with contextlib.suppress(Exception):
            self._device.interrupt()

    def _pump(self) -> None:
        """Read until told to stop, then close: that may take 0.3 s."""
        try:
            while not self._closing.is_set():
                data = self._device.take()
                if data:
                    self._post((data, time.monotonic()))
        except Exception as problem:
            self._post(self._lost(problem))
        finally:
            self._device.release()

    def _post(self, item: tuple[bytes, float] | LinkLost) -> None:
        with contextlib.suppress(RuntimeError):  # the loop has ended before us
            self._loop.call_soon_threadsafe(self._queue.put_nowait, item)

    def _lost(self, problem: Exception) -> LinkLost:
        return LinkLost(f"the port {self._name} is gone ({first_line(problem)})")
