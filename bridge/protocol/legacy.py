"""Messages of the buses before CAN, as the adapter prints them with headers on.

A line is three header bytes (KWP may put the length in a fourth), the payload and a
check byte; the check byte must be right, so a lost or added byte is noticed.

Sources: SAE J1850 (CRC 0x1D), ISO 9141-2 and ISO 14230-2 (sum modulo 256).
"""

from __future__ import annotations

from collections.abc import Sequence

from bridge.protocol.frames import BadFrames, Message, hex_bytes
from bridge.values.causes import Cause

TESTER = 0xF1
_FUNCTIONAL_REPLY = 0x6B
_MOST_BYTES = 260


def read_legacy(lines: Sequence[str], *, kwp: bool, crc: bool) -> list[Message]:
    """Return the messages of cleaned lines; a line repeated right away counts once.

    ``kwp``: the header carries the length; ``crc``: the check byte is J1850's CRC.

    Raises:
        BadFrames: not hex, not meant for a tester, a wrong length or check byte.
    """
    messages: list[Message] = []
    for line in lines:
        raw = _bytes_of(line)
        _check_byte(raw, crc=crc)
        message = _kwp(raw[:-1]) if kwp else _three_byte(raw[:-1])
        if not messages or messages[-1] != message:
            messages.append(message)
    return messages


def _bytes_of(line: str) -> bytes:
    raw = hex_bytes(line, line)
    if not 5 <= len(raw) <= _MOST_BYTES:
        raise BadFrames(f"cut short: a message of {len(raw)} bytes")
    return raw


def _check_byte(raw: bytes, *, crc: bool) -> None:
    expected = crc_j1850(raw[:-1]) if crc else sum(raw[:-1]) & 0xFF
    if raw[-1] != expected:
        raise BadFrames("a wrong or missing check byte", Cause.DAMAGED)


def crc_j1850(data: bytes) -> int:
    """Return the CRC-8 of SAE J1850: polynomial 0x1D, start and final XOR 0xFF."""
    crc = 0xFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = (crc << 1) ^ 0x1D if crc & 0x80 else crc << 1
            crc &= 0xFF
    return crc ^ 0xFF


def _three_byte(raw: bytes) -> Message:
    if raw[1] not in (_FUNCTIONAL_REPLY, TESTER):
        raise BadFrames(
            f"a message for {raw[1]:02X}, not for a tester", Cause.OTHER_QUESTION
        )
    return Message(raw[2], raw[3:])


def _kwp(raw: bytes) -> Message:
    length, body = raw[0] & 0x3F, raw[3:]
    if length == 0:  # the length stands in a byte of its own
        length, body = raw[3], raw[4:]
    if raw[1] != TESTER:
        raise BadFrames(
            f"a message for {raw[1]:02X}, not for a tester", Cause.OTHER_QUESTION
        )
    if len(body) != length or not body:
        raise BadFrames(f"the header announces {length} bytes, {len(body)} arrived")
    return Message(raw[2], body)
