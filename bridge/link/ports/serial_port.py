"""Serial devices and TCP addresses, both through pyserial."""

from __future__ import annotations

import asyncio
import contextlib
from typing import Any

import serial  # noqa: TID251 - the one place where pyserial is used

from bridge.link.ports.remedies import first_line
from bridge.link.ports.threaded import ThreadedPort

READ_TIMEOUT_S = 0.1
WRITE_TIMEOUT_S = 0.5
CHUNK = 4096
"""Bytes handed on at a time, so that a burst without a pause does not pile up."""


class _PySerial:
    """A device or ``socket://`` of pyserial."""

    def __init__(self, device: Any) -> None:
        self._device = device

    def take(self) -> bytes:
        """Read what is there, up to CHUNK bytes; wait a moment for the first one."""
        first: bytes = self._device.read(1)
        return first + self._at_hand() if first else b""

    def _at_hand(self) -> bytes:
        """Return what has arrived already, without waiting for more."""
        socket = getattr(self._device, "_socket", None)
        if socket is None:
            waiting = min(self._device.in_waiting, CHUNK)
            return bytes(self._device.read(waiting)) if waiting else b""
        with contextlib.suppress(BlockingIOError):
            # pyserial looks at a socket byte by byte: a burst would take minutes.
            return bytes(socket.recv(CHUNK))
        return b""

    def put(self, data: bytes) -> None:
        """Send bytes."""
        self._device.write(data)

    def interrupt(self) -> None:
        """Wake the reader."""
        self._device.cancel_read()

    def release(self) -> None:
        """Close, also the socket that pyserial forgets if the other end went first."""
        socket = getattr(self._device, "_socket", None)
        with contextlib.suppress(Exception):
            self._device.close()
        with contextlib.suppress(Exception):
            socket.close()  # type: ignore[union-attr]


class SerialPort(ThreadedPort):
    """A port whose speed can be changed."""

    def __init__(self, device: Any, name: str) -> None:
        super().__init__(_PySerial(device), name)
        self._serial = device

    def set_baud(self, baud: int) -> None:
        """Change the speed, in bits a second; ValueError if the port has no such."""
        try:
            self._serial.baudrate = baud
        except Exception as problem:  # termios has an exception of its own
            raise ValueError(f"no {baud} baud: {first_line(problem)}") from problem


async def open_serial(name: str, baud: int) -> SerialPort:
    """Open a device, COMn or ``socket://host:port``; raises what pyserial does."""
    return SerialPort(await asyncio.to_thread(_open, name, baud), name)


def _open(name: str, baud: int) -> Any:
    options: dict[str, Any] = {"timeout": READ_TIMEOUT_S}
    if "://" not in name:
        options |= {"write_timeout": WRITE_TIMEOUT_S, "exclusive": True}
    return serial.serial_for_url(name, baudrate=baud, **options)
