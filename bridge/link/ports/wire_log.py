r"""A wire log: every byte between the program and the adapter, with its time.

One line a chunk: seconds, ``>`` to the adapter or ``<`` from it, the data::

    12.345678 > 0105\r
    12.356012 < 41 05 3C \r\r>

Printing ASCII stands for itself; the rest is ``\r``, ``\n``, ``\t``, ``\\`` or
``\xHH``, and so are blanks at either end. Lines with ``#`` are remarks. The bench
plays such a file back.

Writing is never the link's business: a log that cannot be written any more says so
once and is left alone.
"""

from __future__ import annotations

import contextlib
import os
import stat
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import TextIO

from bridge.link.clock import now_s
from bridge.link.ports.port import Port
from bridge.values.errors import LinkLost, UsageError

HEADING = "# sumpgate wire log"
_EXPLANATION = """\
# seconds, > to the adapter or < from it, then the bytes (\\r, \\n, \\t, \\\\, \\xHH)
# It may hold the vehicle's identification number: look before you send it.
"""
_WRITTEN = {"\r": "\\r", "\n": "\\n", "\t": "\\t", "\\": "\\\\"}

Opener = Callable[[], Awaitable[Port]]
Wrap = Callable[[Opener], Opener]
Note = Callable[[str], None]


def format_line(t_s: float, data: bytes, *, to_adapter: bool) -> str:
    """Return the line for some bytes that went one way, without its end."""
    text = "".join(_written(char) for char in data.decode("latin-1"))
    inner = text.strip(" ")
    front = len(text) - len(text.lstrip(" "))
    back = len(text) - front - len(inner)
    way = ">" if to_adapter else "<"
    return f"{t_s:.6f} {way} {_blanks(front)}{inner}{_blanks(back)}"


def _blanks(count: int) -> str:
    return r"\x20" * count


def _written(char: str) -> str:
    if char in _WRITTEN:
        return _WRITTEN[char]
    return char if " " <= char <= "~" else f"\\x{ord(char):02X}"


class WireLog:
    """One log file, written line by line until it is closed or cannot be."""

    def __init__(self, file: TextIO, name: str, note: Note) -> None:
        """``note`` gets one sentence if the log has to be given up."""
        self._file: TextIO | None = file
        self._name = name
        self._note = note
        self._last_s = 0.0
        self._put(HEADING + "\n" + _EXPLANATION)

    def bytes_went(self, t_s: float, data: bytes, *, to_adapter: bool) -> None:
        """Write a chunk; never raises.

        Bytes are stamped when they arrive and written when they are fetched, so a
        time may be older than the line above: then that line's time is repeated.
        """
        if not data:
            return
        self._last_s = max(self._last_s, t_s)
        self._put(format_line(self._last_s, data, to_adapter=to_adapter) + "\n")

    def remark(self, text: str) -> None:
        """Write a remark; never raises."""
        plain = "".join(c if " " <= c <= "~" else "?" for c in text)
        self._put(f"# {plain}\n")

    def close(self) -> None:
        """Close the file; safe to call twice."""
        file, self._file = self._file, None
        if file is not None:
            with contextlib.suppress(OSError, ValueError):
                file.close()

    def wrap(self, opener: Opener) -> Opener:
        """Return an opener whose ports write everything down here."""

        async def open_logged() -> Port:
            port = await opener()
            self.remark("the port was opened")
            return LoggedPort(port, self)

        return open_logged

    def _put(self, text: str) -> None:
        if self._file is None:
            return
        try:
            self._file.write(text)
        except (OSError, ValueError) as problem:
            self.close()
            why = getattr(problem, "strerror", None) or str(problem)
            self._note(f"the wire log {self._name} ends here ({why}); the rest goes on")


class LoggedPort:
    """A port that has every byte written down."""

    def __init__(self, port: Port, log: WireLog) -> None:
        self._port = port
        self._log = log

    async def read(self) -> tuple[bytes, float]:
        """Return the next bytes with their arrival time."""
        try:
            data, t_s = await self._port.read()
        except LinkLost as lost:
            self._log.remark(str(lost))
            raise
        self._log.bytes_went(t_s, data, to_adapter=False)
        return data, t_s

    def write(self, data: bytes) -> None:
        """Send bytes."""
        self._log.bytes_went(now_s(), data, to_adapter=True)
        self._port.write(data)

    def close(self) -> None:
        """Release the port."""
        self._port.close()

    @property
    def set_baud(self) -> Callable[[int], None] | None:
        """The port's own way to change its speed; None: it has no speed."""
        return getattr(self._port, "set_baud", None)


def create_wire_log(path: str, note: Note) -> WireLog:
    """Open a log file, line by line; an older log of that name is replaced.

    Raises:
        UsageError: it cannot be created, or is something else than a wire log.
    """
    target = Path(path)
    try:
        _only_a_log(target)
        file = open(  # noqa: SIM115 - closed by WireLog.close
            target, "w", encoding="ascii", newline="\n", buffering=1, opener=_private
        )
    except OSError as problem:
        raise UsageError(
            f"the wire log {path} cannot be created ({problem.strerror or problem}): "
            "name a file in a folder you may write to"
        ) from None
    return WireLog(file, path, note)


def _private(path: str, flags: int) -> int:
    """Open a file only its owner may read: it holds the vehicle's number."""
    handle = os.open(path, flags | getattr(os, "O_NONBLOCK", 0), 0o600)
    os.set_blocking(handle, True)
    if stat.S_ISREG(os.fstat(handle).st_mode):
        Path(path).chmod(0o600)
    return handle


def _only_a_log(target: Path) -> None:
    """Refuse to write over anything that is not an older log."""
    try:
        kind = target.stat().st_mode
    except FileNotFoundError:
        return
    if not stat.S_ISREG(kind):
        return
    with target.open("rb") as file:
        start = file.read(len(HEADING))
    if start and start != HEADING.encode("ascii"):
        raise UsageError(
            f"{target} is there already and is no wire log: name another "
            "file with --wire-log, or move that one away"
        )
