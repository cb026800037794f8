"""What the units of a car say they support: their answers to 0100."""

from __future__ import annotations

from bridge.protocol.frames import BadFrames
from bridge.protocol.framing import Framing, read_messages
from bridge.protocol.reply import BUSY, PENDING, Answer, Refusal, check
from bridge.protocol.request import Request
from bridge.values.causes import Cause
from bridge.values.readings import FaultKind

EVERYTHING = Request(service=0x01, identifier=0x00)
NOTHING_OFFERED = bytes.fromhex("410000000000")
"""Stands for the bitmap of a unit that answers, but not to service 01."""


def bitmaps(lines: list[str], framing: Framing) -> dict[int, bytes] | Refusal:
    """Return the checked answer to 0100 of every unit that sent one, or a refusal."""
    found: dict[int, bytes] = {}
    problem = Refusal(
        kind=FaultKind.NO_DATA,
        detail="no control unit answered",
        cause=Cause.NO_UNITS,
    )
    for unit in _speakers(lines, framing) or [0]:
        result = check(lines, EVERYTHING, reply_id=unit, data_length=4, framing=framing)
        if isinstance(result, Answer):
            found[unit] = result.payload
        elif result.code is not None and result.code not in (BUSY, PENDING):
            found[unit] = NOTHING_OFFERED
        elif result.kind is not FaultKind.NO_DATA:
            problem = result
    return found or problem


def _speakers(lines: list[str], framing: Framing) -> list[int]:
    try:
        return sorted({m.unit for m in read_messages(lines, framing)})
    except BadFrames:
        return []
