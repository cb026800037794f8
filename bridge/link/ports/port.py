"""The adapter's port: bytes in with the moment they came, bytes out.

`Port` is the seam: the real one is pyserial behind one daemon reader thread, the
bench hands in its own. Foreign exceptions end here: whatever pyserial or the
system raises becomes PortError (cannot be opened) or LinkLost (gone while in use).
"""

from __future__ import annotations

import asyncio
import contextlib
import errno
import os
import re
import threading
import time
from pathlib import Path
from typing import Any, Protocol

import serial  # noqa: TID251 - the one place where pyserial is used

from bridge.protocol.request import is_allowed, is_session_line
from bridge.values.errors import ForbiddenRequest, LinkLost, PortError

READ_TIMEOUT_S = 0.1
WRITE_TIMEOUT_S = 0.5
CHUNK = 4096
"""Bytes handed on at a time, so that a burst without a pause does not pile up."""
_REMEDIES: dict[int, str] = {
    errno.ENOENT: "no such port; plug the adapter in, or name another port",
    errno.EACCES: "not permitted; on Linux add yourself to the group that owns the "
    "port (often 'dialout') and log in again",
    errno.EPERM: "not permitted; on Linux add yourself to the group that owns the "
    "port (often 'dialout') and log in again",
    errno.EBUSY: "another program holds it; close that program",
    errno.EAGAIN: "another program holds it; close that program",
    errno.ECONNREFUSED: "nothing listens there; start the adapter or check the number",
    errno.ETIMEDOUT: "no answer from there; check the address and the network",
    errno.EHOSTUNREACH: "no way to that address; join the adapter's network first",
    errno.EISDIR: "that is a folder, not a port",
    errno.ENXIO: "the port is there but no adapter is behind it",
    errno.ENOTTY: "that is not a serial port; name a device, COMn or "
    "socket://host:port",
    errno.ENODEV: "the port is there but no adapter is behind it",
    errno.EIO: "the port is there but no adapter is behind it",
    getattr(
        errno, "EHOSTDOWN", 112
    ): "the adapter does not answer; is it plugged in, switched on and near enough?",
}
_NUMBER = re.compile(r"\[Errno (\d+)\]|(?:Error|port: )\((\d+),")
RFCOMM = "/dev/rfcomm"
"""How Linux names a Bluetooth adapter's port, once it is bound."""
UNBOUND = (
    "pair the adapter with this computer first; on Linux then bind it "
    "('sudo rfcomm bind 0 ADDRESS' makes /dev/rfcomm0)"
)


class Port(Protocol):
    """A byte pipe to an adapter."""

    async def read(self) -> tuple[bytes, float]:
        """Return the next bytes and the loop time they came; LinkLost when gone."""

    def write(self, data: bytes) -> None:
        """Send bytes; raises LinkLost when the port is gone."""

    def close(self) -> None:
        """Release the port; safe to call twice."""


class SerialPort:
    """A pyserial port or URL with one daemon thread that reads and stamps."""

    def __init__(self, device: Any, name: str) -> None:
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
            self._device.write(data)
        except Exception as problem:
            raise self._lost(problem) from problem

    def set_baud(self, baud: int) -> None:
        """Change the speed, in bits a second; ValueError if the port has no such."""
        try:
            self._device.baudrate = baud
        except Exception as problem:  # termios has an exception of its own
            raise ValueError(f"no {baud} baud: {_first_line(problem)}") from problem

    def close(self) -> None:
        """Free the reader, which closes the port on its way out."""
        self._closing.set()
        with contextlib.suppress(Exception):
            self._device.cancel_read()

    def _pump(self) -> None:
        """Read until told to stop, then close: pyserial's close may take 0.3 s."""
        try:
            while not self._closing.is_set():
                data = self._take()
                if data:
                    self._post((data, time.monotonic()))
        except Exception as problem:
            self._post(self._lost(problem))
        finally:
            self._release()

    def _release(self) -> None:
        socket = getattr(self._device, "_socket", None)
        with contextlib.suppress(Exception):
            self._device.close()
        with contextlib.suppress(Exception):
            # pyserial forgets the socket if the other end closed it first.
            socket.close()  # type: ignore[union-attr]

    def _take(self) -> bytes:
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

    def _post(self, item: tuple[bytes, float] | LinkLost) -> None:
        with contextlib.suppress(RuntimeError):  # the loop has ended before us
            self._loop.call_soon_threadsafe(self._queue.put_nowait, item)

    def _lost(self, problem: Exception) -> LinkLost:
        return LinkLost(f"the port {self._name} is gone ({_first_line(problem)})")


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


async def open_port(name: str, baud: int) -> Port:
    """Open a device, COMn or ``socket://host:port``.

    Raises:
        PortError: one sentence with the port and the remedy.
    """
    check_name(name)
    try:
        device = await asyncio.to_thread(_open, name, baud)
    except Exception as problem:
        raise PortError(
            f"cannot open port {name}: {remedy(problem, name)}"
        ) from problem
    return SerialPort(device, name)


_ADDRESS = re.compile(r"socket://(?:\[[0-9A-Fa-f:.]+\]|[^/:\s]+):(\d{1,5})/?")


def check_name(name: str) -> None:
    """Refuse a port name that can be none.

    Raises:
        PortError: an address that is not ``socket://host:port``.
    """
    if "://" not in name:
        return
    found = _ADDRESS.fullmatch(name)
    if found is None or int(found[1]) > 65535:
        raise PortError(
            f"{name!r} is no address of an adapter: write socket://host:port, "
            "such as socket://192.168.0.10:35000"
        )


def _open(name: str, baud: int) -> Any:
    options: dict[str, Any] = {"timeout": READ_TIMEOUT_S}
    if "://" not in name:
        options |= {"write_timeout": WRITE_TIMEOUT_S, "exclusive": True}
    return serial.serial_for_url(name, baudrate=baud, **options)


def not_permitted(name: str) -> str:
    """Return the remedy for a device we may not use, naming its group if known."""
    try:
        group = Path(name).group()
    except (OSError, KeyError, NotImplementedError):
        return _REMEDIES[errno.EACCES]
    if group == "root":
        return "not permitted; the port belongs to the administrator alone"
    return (
        f"not permitted; add yourself to the group {group!r} "
        f"('sudo usermod -a -G {group} NAME') and log in again"
    )


def remedy(problem: BaseException, name: str = "") -> str:
    """Return what is wrong with a port and what to do, from any exception."""
    number = _errno(problem)
    if number in (errno.EACCES, errno.EPERM):
        # Windows says so of a port that another program holds.
        return _REMEDIES[errno.EBUSY] if os.name == "nt" else not_permitted(name)
    if number == errno.ENOENT and name.startswith(RFCOMM):
        return f"there is no such Bluetooth port; {UNBOUND}"
    return _REMEDIES[number] if number in _REMEDIES else _first_line(problem)


def _errno(problem: BaseException) -> int | None:
    """Return the system's error number, wherever pyserial has put it."""
    number = getattr(problem, "errno", None)
    cause = problem.__cause__ or problem.__context__
    if number is None and cause is not None:
        number = getattr(cause, "errno", None)
    if isinstance(number, int):
        return number
    found = _NUMBER.search(_first_line(problem))
    return int(found[1] or found[2]) if found else None


def _first_line(problem: BaseException) -> str:
    lines = str(problem).splitlines()
    return lines[0].strip() if lines else type(problem).__name__
