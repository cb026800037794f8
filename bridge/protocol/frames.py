"""CAN frames as the adapter prints them, assembled into messages (ISO 15765-2).

With headers on and spaces off a line is the id (3 or 8 hex digits) followed by up
to 8 data bytes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Message:
    """One whole ISO-TP message of one control unit."""

    unit: int
    payload: bytes


class BadFrames(Exception):  # noqa: N818 - caught within this module's callers
    """Frames that do not make a message; the text says what is wrong."""


def read_frames(lines: Sequence[str], *, id_digits: int) -> list[Message]:
    """Assemble cleaned lines of CAN frames into messages (ISO 15765-2).

    ``id_digits``: 3 for 11-bit ids, 8 for 29-bit ids. A frame repeated to the
    letter right after itself counts once.

    Raises:
        BadFrames: not hex, cut short, out of order, or of a wrong length.
    """
    frames = [_split(line, id_digits) for line in lines]
    by_unit: dict[int, list[bytes]] = {}
    for unit, data in frames:
        queue = by_unit.setdefault(unit, [])
        if not queue or queue[-1] != data:
            queue.append(data)
    return [m for unit, queue in by_unit.items() for m in _assemble(unit, queue)]


def _split(line: str, id_digits: int) -> tuple[int, bytes]:
    text = line.replace(" ", "")
    try:
        unit, data = int(text[:id_digits], 16), bytes.fromhex(text[id_digits:])
    except ValueError:
        raise BadFrames(f"not a frame: {line[:40]!r}") from None
    if not 1 <= len(data) <= 8:
        raise BadFrames(f"a frame with {len(data)} data bytes: {line[:40]!r}")
    return unit, data


def _assemble(unit: int, frames: list[bytes]) -> list[Message]:
    messages: list[Message] = []
    at = 0
    while at < len(frames):
        kind = frames[at][0] >> 4
        if kind == 0:
            messages.append(Message(unit, _single(frames[at])))
            at += 1
        elif kind == 1:
            payload, used = _long(frames[at:])
            messages.append(Message(unit, payload))
            at += used
        else:
            raise BadFrames("a continuation frame without its beginning")
    return messages


def _single(frame: bytes) -> bytes:
    length = frame[0] & 0x0F
    if not 1 <= length <= 7:
        raise BadFrames(f"a single frame that announces {length} bytes")
    if len(frame) < 1 + length:
        raise BadFrames(f"cut short: {len(frame) - 1} of {length} bytes arrived")
    return frame[1 : 1 + length]


def _long(frames: Sequence[bytes]) -> tuple[bytes, int]:
    first = frames[0]
    if len(first) != 8:
        raise BadFrames("cut short: a first frame of less than 8 bytes")
    length = (first[0] & 0x0F) << 8 | first[1]
    if length < 8:
        raise BadFrames(f"a multi-frame answer that announces {length} bytes")
    payload = bytearray(first[2:])
    used = 1
    while len(payload) < length:
        if used >= len(frames):
            raise BadFrames(f"cut short: {len(payload)} of {length} bytes arrived")
        _continue(payload, frames[used], used, length)
        used += 1
    return bytes(payload[:length]), used


def _continue(payload: bytearray, frame: bytes, count: int, length: int) -> None:
    if frame[0] != 0x20 | (count & 0x0F):
        raise BadFrames("frames out of order")
    if len(frame) - 1 < min(7, length - len(payload)):
        raise BadFrames("cut short: a continuation frame lacks bytes")
    payload.extend(frame[1:])
