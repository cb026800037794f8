"""Payloads cut into CAN frames as ISO 15765-2 says (classic CAN, normal addressing)."""

from __future__ import annotations

from dataclasses import dataclass

SINGLE, FIRST, CONSECUTIVE, FLOW = 0x0, 0x1, 0x2, 0x3
CLEAR_TO_SEND = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowControl:
    """What the receiver of a long message allows its sender."""

    ident: int
    """CAN id it is sent with."""
    status: int = CLEAR_TO_SEND
    block_size: int = 0
    """Frames until the next flow control; 0: all of them."""
    gap_s: float = 0.0


def parse_flow(ident: int, data: bytes) -> FlowControl | None:
    """Read a flow control frame; None if the bytes are not one."""
    if len(data) < 3 or data[0] >> 4 != FLOW:
        return None
    return FlowControl(
        ident=ident, status=data[0] & 0xF, block_size=data[1], gap_s=gap_s(data[2])
    )


def gap_s(stmin: int) -> float:
    """Return the least time between frames in seconds for an STmin byte.

    00..7F are milliseconds, F1..F9 are 100..900 microseconds; the other values
    are reserved and mean the longest time (ISO 15765-2, 9.6.5.4).
    """
    if stmin <= 0x7F:
        return stmin / 1000
    if 0xF1 <= stmin <= 0xF9:
        return (stmin - 0xF0) / 10_000
    return 0.127


def segment(payload: bytes) -> tuple[bytes, ...]:
    """Cut a payload of 1 byte or more into the data fields of its frames.

    The first element is a single or a first frame; frames are not padded.
    """
    if len(payload) <= 7:
        return (bytes((len(payload),)) + payload,)
    if len(payload) <= 0xFFF:
        head = (FIRST << 12 | len(payload)).to_bytes(2, "big")
    else:
        head = b"\x10\x00" + len(payload).to_bytes(4, "big")
    room = 8 - len(head)
    rest = payload[room:]
    return (
        head + payload[:room],
        *(
            bytes((CONSECUTIVE << 4 | (1 + at // 7) & 0xF,)) + rest[at : at + 7]
            for at in range(0, len(rest), 7)
        ),
    )


def pad(data: bytes, filler: int | None) -> bytes:
    """Fill a data field up to eight bytes; None leaves it as it is."""
    return data if filler is None else data.ljust(8, bytes((filler,)))
