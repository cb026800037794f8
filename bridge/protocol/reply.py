"""From the adapter's lines to one believable payload, or the reason why not.

The adapter is asked for headers on and spaces off. Nothing is decoded here: a
payload only comes out if the frames (bridge.protocol.framing), the unit, the echo of
service and identifier and the length are all exactly right.

Sources: ISO 15765-4 (ids), ISO 14229-1 (negative responses).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from bridge.protocol.frames import BadFrames
from bridge.protocol.framing import Framing, read_messages
from bridge.protocol.request import Request
from bridge.values.readings import FaultKind

NEGATIVE = 0x7F
PENDING = 0x78
BUSY = 0x21

REFUSALS: dict[int, str] = {
    0x10: "general reject",
    0x11: "service not supported",
    0x12: "sub-function not supported",
    0x13: "incorrect message length or format",
    0x14: "response too long",
    0x21: "busy, repeat request",
    0x22: "conditions not correct",
    0x24: "request sequence error",
    0x31: "request out of range: this unit does not know the identifier",
    0x33: "security access denied",
    0x35: "invalid key",
    0x36: "exceeded number of attempts",
    0x37: "required time delay not expired",
    0x78: "response pending",
    0x7E: "sub-function not supported in the active session",
    0x7F: "service not supported in the active session",
    0x83: "engine is running",
    0x84: "engine is not running",
    0x86: "temperature too high",
    0x87: "temperature too low",
    0x8C: "transmission range not in neutral",
    0x8D: "transmission range not in gear",
    0x90: "shifter lever not in park",
    0x92: "voltage too high",
    0x93: "voltage too low",
}
"""Negative response codes (ISO 14229-1, table A.1) in words."""

STATUS_TEXTS = (
    "NO DATA",
    "STOPPED",
    "BUFFER FULL",
    "CAN ERROR",
    "BUS INIT: ERROR",
    "BUS INIT: ...ERROR",
    "BUS BUSY",
    "BUS ERROR",
    "UNABLE TO CONNECT",
    "ACT ALERT",
    "FB ERROR",
    "DATA ERROR",
    "RX ERROR",
    "LP ALERT",
    "LV RESET",
    "?",
)
"""Texts an adapter sends instead of an answer; none may become a number."""

RESET_TEXTS = re.compile(r"ELM\s*\d|LV RESET|RESET")
"""A banner or a reset notice: the adapter has forgotten its settings."""

_ERR = re.compile(r"ERR\d\d")
_PROGRESS = ("SEARCHING...", "SEARCHING", "BUS INIT: OK", "BUS INIT: ...OK")


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A payload that passed every check."""

    payload: bytes
    """Echo included."""
    data: bytes
    """What follows the echo."""
    reply_id: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """No value, and why: a kind for the program, a sentence for the person."""

    kind: FaultKind
    detail: str
    code: int | None = None
    """The negative response code, where there was one."""
    reset: bool = False
    """The adapter has restarted and must be initialised again."""


def clean(lines: Iterable[str]) -> list[str]:
    """Drop progress notices, blanks and control characters; fold case."""
    kept = []
    for line in lines:
        text = "".join(c for c in line if 32 <= ord(c) < 127).strip().upper()
        for notice in _PROGRESS:
            text = text.removeprefix(notice).strip()
        if text:
            kept.append(text)
    return kept


def status_text(line: str) -> str | None:
    """Return the adapter's status text a line carries, or None."""
    bare = line.strip("*<> ").upper()
    for text in STATUS_TEXTS:
        if bare == text or (text != "?" and bare.endswith(text)):
            return text
    if RESET_TEXTS.search(bare):
        return "RESET"
    return bare if _ERR.fullmatch(bare) else None


def said(text: str) -> Refusal:
    """Return the refusal for an adapter's status text."""
    kind = FaultKind.NO_DATA if text == "NO DATA" else FaultKind.ADAPTER_SAID
    return Refusal(
        kind=kind,
        detail="no control unit answered (NO DATA)"
        if kind is FaultKind.NO_DATA
        else f"the adapter said {text}",
        reset=bool(RESET_TEXTS.search(text)),
    )


def check(
    lines: Iterable[str],
    request: Request,
    *,
    reply_id: int,
    data_length: int | None,
    framing: Framing = Framing.CAN_11,
) -> Answer | Refusal:
    """Return the one believable answer to a request, or why there is none.

    ``data_length``: bytes that must follow the echo; None accepts any number of
    at least one. Never raises, whatever the lines hold.
    """
    cleaned = clean(lines)
    told = next((t for t in map(status_text, cleaned) if t), None)
    if told is not None:
        return said(told)
    if not cleaned:
        return Refusal(kind=FaultKind.BAD_REPLY, detail="an empty answer")
    try:
        messages = read_messages(cleaned, framing)
    except BadFrames as bad:
        return Refusal(kind=FaultKind.BAD_REPLY, detail=str(bad))
    ours = [m.payload for m in messages if m.unit == reply_id]
    if not ours:
        other = messages[0].unit
        return Refusal(
            kind=FaultKind.BAD_REPLY,
            detail=f"unit {other:X} answered instead of {reply_id:X}",
        )
    return _judge(ours, request, reply_id, data_length)


def _judge(
    payloads: list[bytes], request: Request, reply_id: int, data_length: int | None
) -> Answer | Refusal:
    """Judge the messages of the right unit; 'pending' may stand before the answer."""
    final = [p for p in payloads if not _is_negative(p, request, PENDING)]
    if not final:
        return _refused(PENDING)
    if len(set(final)) > 1:
        return Refusal(kind=FaultKind.BAD_REPLY, detail="two different answers at once")
    payload = final[0]
    if payload[0] == NEGATIVE and len(payload) == 3 and payload[1] == request.service:
        return _refused(payload[2])
    if not payload.startswith(request.echo):
        shown = payload[: len(request.echo)].hex(" ").upper()
        return Refusal(
            kind=FaultKind.BAD_REPLY, detail=f"an answer to another question ({shown})"
        )
    return _measured(payload, request, reply_id, data_length)


def _measured(
    payload: bytes, request: Request, reply_id: int, data_length: int | None
) -> Answer | Refusal:
    data = payload[len(request.echo) :]
    wrong = len(data) != data_length if data_length is not None else not data
    if wrong:
        wanted = "at least 1" if data_length is None else str(data_length)
        return Refusal(
            kind=FaultKind.BAD_REPLY,
            detail=f"the answer holds {len(data)} data bytes, not {wanted}",
        )
    return Answer(payload=payload, data=data, reply_id=reply_id)


def _is_negative(payload: bytes, request: Request, code: int) -> bool:
    return payload == bytes([NEGATIVE, request.service, code])


def _refused(code: int) -> Refusal:
    meaning = REFUSALS.get(code, "a reason this tool does not know")
    return Refusal(
        kind=FaultKind.REFUSED,
        detail=f"the control unit refused: {meaning} (0x{code:02X})",
        code=code,
    )
