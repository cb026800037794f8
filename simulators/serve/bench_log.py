r"""A wire log: every byte between a program and an adapter, as text.

One line a chunk: seconds, direction, data. ``>`` goes to the adapter, ``<`` comes
from it, ``#`` begins a comment line::

    12.345678 > 0105\r
    12.356012 < 41 05 3C \r\r>

Printing ASCII stands for itself; the rest is written ``\r``, ``\n``, ``\t``,
``\\`` or ``\xHH``, and so are blanks at either end of the data.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from bridge.values.errors import UsageError

TO_ADAPTER = ">"

_LINE = re.compile(r"\s*(-?\d+(?:\.\d+)?)\s+([<>])\s+(\S(?:.*\S)?)\s*")
_ESCAPE = re.compile(r"\\(?:([rnt\\])|x([0-9A-Fa-f]{2})|.|$)", re.DOTALL)
_NAMED = {"r": "\r", "n": "\n", "t": "\t", "\\": "\\"}


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
        to_adapter=match[2] == TO_ADAPTER,
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
