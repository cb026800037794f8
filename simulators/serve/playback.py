r"""Somebody's wire log played back: the adapter says again what it said then.

A wire log is every byte between a program and an adapter, as text. One line a chunk:
seconds, direction, data; ``>`` goes to the adapter, ``<`` comes from it, ``#`` begins a
comment line::

    12.345678 > 0105\r
    12.356012 < 41 05 3C \r\r>

Printing ASCII stands for itself; the rest is written ``\r``, ``\n``, ``\t``,
``\\`` or ``\xHH``, and so are blanks at either end of the data.

The program need not send exactly the same lines: for each line the next place in
the log where it was sent is looked for, from the present one on and then from the
start, and what followed there follows again with the same delays. A line that was
never sent is answered with ``?``.
"""

from __future__ import annotations

import math
import re
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from bridge.plain_file import LARGE_BYTES, read_plain
from bridge.values.errors import UsageError
from simulators.adapter.adapter import Adapter
from simulators.car.car import Car
from simulators.car.plant import Heat, Plant
from simulators.serve.bench import Bench

_LINE = re.compile(r"\s*(-?\d+(?:\.\d+)?)\s+([<>])\s+(\S(?:.*\S)?)\s*")
_ESCAPE = re.compile(r"\\(?:([rnt\\])|x([0-9A-Fa-f]{2})|.|$)", re.DOTALL)
_NAMED = {"r": "\r", "n": "\n", "t": "\t", "\\": "\\"}
_UNKNOWN = b"?\r\r>"
_UNKNOWN_AFTER_S = 0.005
_LONGEST_LINE = 4096


@dataclass(frozen=True, slots=True, kw_only=True)
class Chunk:
    """Some bytes that went one way."""

    t_s: float
    to_adapter: bool
    data: bytes


def parse_wire_log(text: str, name: str) -> tuple[Chunk, ...]:
    """Read a wire log; ``name`` is what errors call the file.

    Tolerates a byte order mark, any line ending and blank lines. Raises UsageError,
    naming file, line and remedy, on anything else that is not in the format, on
    times that go back, and on a log without a single byte from the adapter.
    """
    chunks: list[Chunk] = []
    for number, line in enumerate(text.removeprefix("\ufeff").splitlines(), 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        chunk = _chunk(line, f"{name}, line {number}")
        if chunks and chunk.t_s < chunks[-1].t_s:
            raise UsageError(
                f"{name}, line {number} has the time {chunk.t_s:g}, before the line "
                "above it: put the lines in the order they happened."
            )
        chunks.append(chunk)
    if all(chunk.to_adapter for chunk in chunks):
        raise UsageError(
            f"{name} holds nothing an adapter said: give a log with lines such as "
            r"12.5 < OK\r\r> in it."
        )
    return tuple(chunks)


def _chunk(line: str, where: str) -> Chunk:
    match = _LINE.fullmatch(line)
    if match is None:
        raise UsageError(
            f"{where} is not a line of a wire log: "
            r"write seconds, > or <, and the data, as in 12.5 > 0105\r."
        )
    return Chunk(
        t_s=float(match[1]),
        to_adapter=match[2] == ">",
        data=_unescaped(match[3], where),
    )


def _unescaped(text: str, where: str) -> bytes:
    def plain(match: re.Match[str]) -> str:
        if match[1]:
            return _NAMED[match[1]]
        if match[2]:
            return chr(int(match[2], 16))
        raise UsageError(
            f"{where} has the unknown escape {match[0]!r}: "
            r"write \r, \n, \t, \\ or \xHH."
        )

    try:
        return _ESCAPE.sub(plain, text).encode("latin-1")
    except UnicodeEncodeError as error:
        raise UsageError(
            f"{where} holds the character {text[error.start : error.end]!r}: "
            r"write bytes above 7E as \xHH."
        ) from error


@dataclass(frozen=True, slots=True, kw_only=True)
class Spoken:
    """One line of the program and what the adapter said until the next."""

    line: str
    """Upper case without blanks; '' for what was said before any line."""
    answers: tuple[tuple[float, bytes], ...]
    """Delay after the end of the line in seconds, and the bytes."""


def exchanges(chunks: Sequence[Chunk]) -> tuple[Spoken, ...]:
    """Sort a log's chunks into lines and what followed each of them."""
    spoken: list[Spoken] = []
    line, since_s = "", chunks[0].t_s if chunks else 0.0
    answers: list[tuple[float, bytes]] = []
    typed = bytearray()
    for chunk in chunks:
        if not chunk.to_adapter:
            answers.append((chunk.t_s - since_s, chunk.data))
            continue
        typed += chunk.data
        while b"\r" in typed:
            whole, _, rest = bytes(typed).partition(b"\r")
            spoken.append(Spoken(line=line, answers=tuple(answers)))
            line, since_s, answers = _plain(whole), chunk.t_s, []
            typed[:] = rest
    spoken.append(Spoken(line=line, answers=tuple(answers)))
    return tuple(spoken)


def _plain(line: bytes) -> str:
    return "".join(line.decode("latin-1").split()).upper()


class Playback:
    """Stands in for the adapter of a bench."""

    def __init__(self, spoken: Sequence[Spoken]) -> None:
        self._spoken = tuple(spoken)
        self._place = 0
        self._typed = bytearray()
        self._due: deque[tuple[float, bytes]] = deque()

    def power_up(self, now_s: float) -> None:
        """Begin at the start of the log."""
        self._place = 0
        self._typed.clear()
        self._due.clear()
        if not self._spoken[0].line:
            self._say(self._spoken[0], now_s)

    def receive(self, data: bytes, now_s: float) -> None:
        """Take bytes of the program; each line ends with a carriage return."""
        self._typed += data
        while b"\r" in self._typed:
            whole, _, rest = bytes(self._typed).partition(b"\r")
            self._typed[:] = rest
            self._line(_plain(whole), now_s)
        del self._typed[:-_LONGEST_LINE]

    def _line(self, line: str, now_s: float) -> None:
        count = len(self._spoken)
        for step in range(1, count + 1):
            place = (self._place + step) % count
            if self._spoken[place].line == line:
                self._place = place
                self._say(self._spoken[place], now_s)
                return
        self._due.append((now_s + _UNKNOWN_AFTER_S, _UNKNOWN))

    def _say(self, spoken: Spoken, now_s: float) -> None:
        self._due.extend((now_s + delay_s, data) for delay_s, data in spoken.answers)

    def take(self, now_s: float) -> bytes:
        """Return what is due by now."""
        out = b""
        while self._due and self._due[0][0] <= now_s + 1e-9:
            out += self._due.popleft()[1]
        return out

    def wake_s(self) -> float | None:
        """Return when the next bytes are due; None: when the program speaks."""
        due_s = self._due[0][0] if self._due else math.inf
        return None if math.isinf(due_s) else due_s


def playback_bench(text: str, name: str) -> Bench:
    """Return a bench that plays a wire log; raises UsageError on a bad one."""
    car = Car(plant=Plant(Heat.soaked(20.0), ambient_c=20.0))
    device = Playback(exchanges(parse_wire_log(text, name)))
    return Bench(car, Adapter(car, ()), device=device)


def read_playback(path: str | Path) -> Bench:
    """Return a bench that plays the wire log in a file; raises UsageError."""
    file = Path(path)
    text = read_plain(file, "a wire log", most_bytes=LARGE_BYTES)
    return playback_bench(text, str(file))
