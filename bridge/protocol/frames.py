"""CAN frames as the adapter prints them, assembled into messages (ISO 15765-2).

With headers on and spaces off a line is the id (3 or 8 hex digits) followed by up
to 8 data bytes. A unit either fills every frame up to eight bytes or sends exactly
what is needed (ISO 15765-2): a frame of any other length has lost characters on its
way, and so has a short one of a unit that is known to fill its frames.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from bridge.values.causes import Cause

FULL = 8
"""Data bytes of a full CAN frame."""
_HEX = re.compile(r"[0-9A-F]+")


@dataclass(frozen=True, slots=True)
class Message:
    """One whole ISO-TP message of one control unit."""

    unit: int
    payload: bytes


class BadFrames(Exception):  # noqa: N818 - caught within this module's callers
    """Frames that do not make a message; the text says what is wrong."""

    def __init__(self, text: str, cause: Cause = Cause.CUT_SHORT) -> None:
        super().__init__(text)
        self.cause = cause


def hex_bytes(text: str, line: str) -> bytes:
    """Return the bytes of hex digits; blanks between them do not count.

    Raises:
        BadFrames: any other character, or half a byte.
    """
    digits = text.replace(" ", "")
    if not _HEX.fullmatch(digits) or len(digits) % 2:
        shown = "".join(c if " " <= c <= "~" else "." for c in line[:40])
        raise BadFrames(f"not a frame: {shown!r}", Cause.CHARACTERS_LOST)
    return bytes.fromhex(digits)


def read_frames(
    lines: Sequence[str], *, id_digits: int, filling: Collection[int] = ()
) -> list[Message]:
    """Assemble cleaned lines of CAN frames into messages (ISO 15765-2).

    ``id_digits``: 3 for 11-bit ids, 8 for 29-bit ids. ``filling``: reply ids of units
    known to fill their frames up. A frame repeated to the letter right after itself
    counts once.

    Raises:
        BadFrames: not hex, cut short, out of order, or of a wrong length.
    """
    frames = [_split(line, id_digits) for line in lines]
    for unit, data in frames:
        if unit in filling and len(data) < FULL:
            raise BadFrames(
                f"cut short: {len(data)} bytes, and {unit:X} fills its frames to {FULL}"
            )
    by_unit: dict[int, list[bytes]] = {}
    for unit, data in frames:
        queue = by_unit.setdefault(unit, [])
        if not queue or queue[-1] != data:
            queue.append(data)
    return [m for unit, queue in by_unit.items() for m in _assemble(unit, queue)]


def filling_units(lines: Sequence[str], *, id_digits: int) -> frozenset[int]:
    """Return the units of which some frame is longer than it had to be: they fill."""
    found = set()
    for line in lines:
        try:
            unit, data = _split(line, id_digits)
        except BadFrames:
            continue
        if len(data) == FULL and data[0] >> 4 == 0 and data[0] < FULL - 1:
            found.add(unit)
    return frozenset(found)


def _split(line: str, id_digits: int) -> tuple[int, bytes]:
    text = line.replace(" ", "")
    pad = "0" if id_digits % 2 else ""
    raw = hex_bytes(pad + text, line)
    head = len(pad + text[:id_digits]) // 2
    data = raw[head:]
    if not 1 <= len(data) <= FULL:
        raise BadFrames(
            f"a frame with {len(data)} data bytes: {line[:40]!r}",
            Cause.CUT_SHORT if not data else Cause.CHARACTERS_LOST,
        )
    return int.from_bytes(raw[:head], "big"), data


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
            raise BadFrames(
                "a continuation frame without its beginning", Cause.CHARACTERS_LOST
            )
    return messages


def _single(frame: bytes) -> bytes:
    length = frame[0] & 0x0F
    if not 1 <= length <= 7:
        raise BadFrames(
            f"a single frame that announces {length} bytes", Cause.CHARACTERS_LOST
        )
    if len(frame) < 1 + length:
        raise BadFrames(f"cut short: {len(frame) - 1} of {length} bytes arrived")
    _whole(frame, 1 + length)
    return frame[1 : 1 + length]


def _long(frames: Sequence[bytes]) -> tuple[bytes, int]:
    first = frames[0]
    if len(first) != FULL:
        raise BadFrames("cut short: a first frame of less than 8 bytes")
    length = (first[0] & 0x0F) << 8 | first[1]
    if length < 8:
        raise BadFrames(
            f"a multi-frame answer that announces {length} bytes", Cause.CHARACTERS_LOST
        )
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
        raise BadFrames("frames out of order", Cause.CHARACTERS_LOST)
    needed = min(FULL - 1, length - len(payload))
    if len(frame) - 1 < needed:
        raise BadFrames("cut short: a continuation frame lacks bytes")
    _whole(frame, 1 + needed)
    payload.extend(frame[1:])


def _whole(frame: bytes, needed: int) -> None:
    """Refuse a frame that is neither as short as can be nor filled up."""
    if len(frame) not in (needed, FULL):
        raise BadFrames(
            f"cut short: {len(frame)} bytes, where {needed} or {FULL} can be"
        )
