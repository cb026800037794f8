"""From the adapter's lines to one believable payload, or the reason why not.

The adapter is asked for headers on and spaces off. Nothing is decoded here: a
payload only comes out if the frames (bridge.protocol.framing), the unit, the echo of
service and identifier and the length are all exactly right.

Sources: ISO 15765-4 (ids), ISO 14229-1 (negative responses).
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable

from bridge.protocol.frames import BadFrames
from bridge.protocol.framing import Framing, read_messages
from bridge.protocol.request import GroupRequest, Request
from bridge.values.causes import OF_NEGATIVE_RESPONSE, Cause
from bridge.values.frozen import frozen
from bridge.values.readings import FaultKind

GROUP_BYTES = 8
"""Data bytes of a J1939 group that is read (SAE J1939-21)."""
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

STATUS_TEXTS: dict[str, Cause] = {
    "NO DATA": Cause.UNIT_SILENT,
    "STOPPED": Cause.ALWAYS_STOPPED,
    "BUFFER FULL": Cause.BUFFER_FULL,
    "CAN ERROR": Cause.BUS_ERROR,
    "BUS INIT: ERROR": Cause.BUS_INIT_FAILED,
    "BUS INIT: ...ERROR": Cause.BUS_INIT_FAILED,
    "BUS BUSY": Cause.BUS_BUSY,
    "BUS ERROR": Cause.BUS_ERROR,
    "UNABLE TO CONNECT": Cause.NO_BUS,
    "ACT ALERT": Cause.ADAPTER_ERROR,
    "FB ERROR": Cause.BUS_ERROR,
    "DATA ERROR": Cause.DAMAGED,
    "RX ERROR": Cause.DAMAGED,
    "LP ALERT": Cause.ADAPTER_ERROR,
    "LV RESET": Cause.ADAPTER_RESTARTED,
    "RESET": Cause.ADAPTER_RESTARTED,
    "?": Cause.REQUESTS_REFUSED,
}
"""Texts an adapter sends instead of an answer; none may become a number."""

RESET_TEXTS = re.compile(r"ELM\s*\d|LV RESET|RESET")
"""A banner or a reset notice: the adapter has forgotten its settings."""

_ERR = re.compile(r"ERR\d\d")
_PROGRESS = re.compile(
    r"(?:SEARCHING[. ]*+|BUS INIT:?+[. ]*+(?:OK)?(?!ERROR|OK)|[. ]++)++"
)
"""Notices before an answer, on a line of their own or at the head of its line, the
dots one by one."""


@frozen
class Answer:
    """A payload that passed every check."""

    payload: bytes
    """Echo included."""
    data: bytes
    """What follows the echo."""
    reply_id: int


@frozen
class Refusal:
    """No value, and why: a kind for the program, a sentence for the person."""

    kind: FaultKind
    detail: str
    cause: Cause
    code: int | None = None
    """The negative response code, where there was one."""
    reset: bool = False
    """The adapter has restarted and must be initialised again."""


def clean(lines: Iterable[str]) -> list[str]:
    """Drop progress notices and blank lines, trim what is no text off the ends.

    A control or foreign character inside a line stays, so that the line is no frame.
    """
    kept = []
    for line in lines:
        text = _trimmed(line).upper()
        notice = _PROGRESS.match(text)
        text = _trimmed(text[notice.end() :] if notice else text)
        if text:
            kept.append(text)
    return kept


def _trimmed(line: str) -> str:
    first, last = 0, len(line)
    while first < last and not "!" <= line[first] <= "~":
        first += 1
    while last > first and not "!" <= line[last - 1] <= "~":
        last -= 1
    return line[first:last]


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
        cause=STATUS_TEXTS.get(text, Cause.ADAPTER_ERROR),
        reset=bool(RESET_TEXTS.search(text)),
    )


def check(
    lines: Iterable[str],
    request: Request,
    *,
    reply_id: int,
    data_length: int | None,
    framing: Framing = Framing.CAN_11,
    filling: Collection[int] = (),
) -> Answer | Refusal:
    """Return the one believable answer to a request, or why there is none.

    ``data_length``: bytes that must follow the echo; None accepts any number of
    at least one. ``filling``: units known to fill their CAN frames. Never raises,
    whatever the lines hold.
    """
    cleaned = clean(lines)
    status = next((t for t in map(status_text, cleaned) if t), None)
    if status is not None:
        return said(status)
    if not cleaned:
        return _bad("an empty answer", Cause.CUT_SHORT)
    try:
        messages = read_messages(cleaned, framing, filling=filling)
    except BadFrames as bad:
        return _bad(str(bad), bad.cause)
    ours = [m.payload for m in messages if m.unit == reply_id]
    if not ours:
        other = messages[0].unit
        text = f"unit {other:X} answered instead of {reply_id:X}"
        return _bad(text, Cause.OTHER_UNIT)
    return _judge(ours, request, reply_id, data_length)


def _judge(
    payloads: list[bytes], request: Request, reply_id: int, data_length: int | None
) -> Answer | Refusal:
    """Judge the messages of the right unit; 'pending' may stand before the answer.

    Answers to somebody else's questions are set aside; two that answer this one and
    differ are refused.
    """
    final = [p for p in payloads if not _is_negative(p, request, PENDING)]
    if not final:
        return _refused(PENDING)
    to_us = [p for p in final if _answers(p, request)]
    if not to_us:
        shown = final[0][: len(request.echo)].hex(" ").upper()
        return _bad(f"an answer to another question ({shown})", Cause.OTHER_QUESTION)
    if len(set(to_us)) > 1:
        return _bad("two different answers at once", Cause.CONTRADICTION)
    payload = to_us[0]
    if payload[0] == NEGATIVE:
        return _refused(payload[2])
    return _measured(payload, request, reply_id, data_length)


def _answers(payload: bytes, request: Request) -> bool:
    """Tell whether a message answers the request, with data or with a refusal."""
    refuses = payload[0] == NEGATIVE and len(payload) == 3
    if refuses and payload[1] == request.service:
        return True
    return payload.startswith(request.echo)


def _measured(
    payload: bytes, request: Request, reply_id: int, data_length: int | None
) -> Answer | Refusal:
    data = payload[len(request.echo) :]
    wrong = len(data) != data_length if data_length is not None else not data
    if wrong:
        wanted = "at least 1" if data_length is None else str(data_length)
        text = f"the answer holds {len(data)} data bytes, not {wanted}"
        return _bad(text, Cause.WRONG_LENGTH)
    return Answer(payload=payload, data=data, reply_id=reply_id)


def _bad(text: str, cause: Cause) -> Refusal:
    return Refusal(kind=FaultKind.BAD_REPLY, detail=text, cause=cause)


def _is_negative(payload: bytes, request: Request, code: int) -> bool:
    return payload == bytes([NEGATIVE, request.service, code])


def _refused(code: int) -> Refusal:
    meaning = REFUSALS.get(code, "a reason this tool does not know")
    return Refusal(
        kind=FaultKind.REFUSED,
        detail=f"the control unit refused: {meaning} (0x{code:02X})",
        code=code,
        cause=OF_NEGATIVE_RESPONSE.get(code, Cause.UNIT_REFUSED),
    )


def check_group(lines: Iterable[str], request: GroupRequest) -> Answer | Refusal:
    """Return a J1939 group's eight bytes, or why there are none. Never raises.

    A line is priority (1 digit), group (5), source (2) and the data, or the bare
    29-bit id (8) and the data (SAE J1939-21; the adapter's data sheet from memory).
    """
    cleaned = clean(lines)
    found = [a for a in (_read_group(line, request) for line in cleaned) if a]
    if found:
        return found[-1]
    status = next((t for t in map(status_text, cleaned) if t), None)
    if status is not None:
        return said(status)
    text = f"no sound message of group {request.pgn}"
    return _bad(text, Cause.CHARACTERS_LOST)


def _read_group(line: str, request: GroupRequest) -> Answer | None:
    text = line.replace(" ", "")
    if not re.fullmatch(f"[0-9A-F]{{{8 + 2 * GROUP_BYTES}}}", text):
        return None
    data = bytes.fromhex(text[8:])
    source = int(text[6:8], 16)
    named = int(text[1:6], 16) == request.pgn
    bare = int(text[2:6], 16) == request.pgn and text[:2] in ("0C", "18", "1C", "14")
    wanted = request.source is None or source == request.source
    if not (named or bare) or not wanted:
        return None
    return Answer(payload=data, data=data, reply_id=source)
