"""Bluetooth classic through the system's own sockets: ``rfcomm://ADDRESS[/CHANNEL]``.

No device has to be bound first; the adapter has to be paired. A serial port profile
answers on an RFCOMM channel from 1 to 30 (Bluetooth SIG, RFCOMM with TS 07.10); that
adapters use channel 1 is common practice, no source.
"""

from __future__ import annotations

import asyncio
import contextlib
import errno
import re
import socket

from bridge.link.ports.remedies import remedy
from bridge.link.ports.threaded import ThreadedPort
from bridge.values.errors import PortError

CONNECT_S = 12.0
"""A page to a Bluetooth device takes 5 s, and some radios try twice."""
READ_S = 0.1
_MOST = 4096
_NAME = re.compile(
    r"rfcomm://((?:[0-9A-Fa-f]{2}[:-]){5}[0-9A-Fa-f]{2})(?:/(\d{1,2}))?/?"
)


def place_of(name: str) -> tuple[str, int]:
    """Return address and channel of ``rfcomm://ADDRESS[/CHANNEL]``.

    Raises:
        PortError: it is not written so.
    """
    found = _NAME.fullmatch(name)
    channel = int(found[2] or 1) if found else 0
    if found is None or not 1 <= channel <= 30:
        raise PortError(
            f"{name!r} is no Bluetooth address: write rfcomm://ADDRESS or "
            "rfcomm://ADDRESS/CHANNEL, such as rfcomm://00:1D:A5:00:00:01/1 (the "
            "channel is 1 to 30)"
        )
    return found[1].upper().replace("-", ":"), channel


def need_sockets() -> None:
    """Say so where this Python has no Bluetooth sockets.

    Raises:
        PortError: it has none.
    """
    if not hasattr(socket, "AF_BLUETOOTH"):
        raise PortError(
            "this Python was built without Bluetooth sockets, so rfcomm:// cannot be "
            "used: take a Python of your system's own packages, or bind the adapter "
            "to a serial port and name that"
        )


async def open_rfcomm(name: str) -> ThreadedPort:
    """Connect to a paired adapter.

    Raises:
        PortError: one sentence with the port and the remedy.
    """
    place = place_of(name)
    need_sockets()
    try:
        device = await asyncio.to_thread(_connect, place)
    except OSError as problem:
        raise PortError(
            f"cannot open port {name}: {_why(problem, *place)}"
        ) from problem
    return ThreadedPort(_Socket(device), name)


def _connect(place: tuple[str, int]) -> socket.socket:
    device = make_socket()
    try:
        device.settimeout(CONNECT_S)
        device.connect(place)
    except BaseException:
        device.close()
        raise
    return device


def make_socket() -> socket.socket:
    """Return an unconnected RFCOMM socket."""
    family: int = socket.AF_BLUETOOTH  # type: ignore[attr-defined,unused-ignore]
    kind: int = socket.BTPROTO_RFCOMM  # type: ignore[attr-defined,unused-ignore]
    return socket.socket(family, socket.SOCK_STREAM, kind)


def _why(problem: OSError, address: str, channel: int) -> str:
    if isinstance(problem, TimeoutError):
        return "the adapter does not answer; is it plugged in and near enough?"
    match problem.errno:
        case errno.ECONNREFUSED:
            return (
                f"it has no serial line on channel {channel}; name another, "
                f"such as rfcomm://{address}/{channel % 30 + 1}"
            )
        case errno.EACCES | errno.EPERM:
            return "it wants to be paired; pair it in the system's Bluetooth settings"
        case errno.EBUSY:
            return "another program holds it; close that program"
        case errno.ENODEV | errno.ENETDOWN | errno.EAFNOSUPPORT:
            return "this computer's Bluetooth is off or missing; switch it on"
    return remedy(problem)


class _Socket:
    """A connected socket as a device that blocks."""

    def __init__(self, device: socket.socket) -> None:
        self._device = device
        device.settimeout(READ_S)

    def take(self) -> bytes:
        """Return what has come, b'' if nothing has for a moment."""
        try:
            data = self._device.recv(_MOST)
        except TimeoutError:
            return b""
        if not data:
            raise ConnectionResetError("the adapter ended the connection")
        return data

    def put(self, data: bytes) -> None:
        """Send bytes, all of them."""
        self._device.sendall(data)

    def interrupt(self) -> None:
        """Wake the reader: both ways are shut."""
        self._device.shutdown(socket.SHUT_RDWR)

    def release(self) -> None:
        """Let the connection go."""
        with contextlib.suppress(OSError):
            self._device.close()
