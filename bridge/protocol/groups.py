"""J1939 parameter groups as the adapter prints them, checked before decoding.

With headers on and spaces off a line is priority (1 digit), group (5), source (2) and
eight data bytes, or the bare 29-bit id (8) and the data. Source: SAE J1939-21, and the
adapter's data sheet from memory.
"""

from __future__ import annotations

from collections.abc import Iterable

from bridge.protocol.reply import Answer, Refusal, clean, said, status_text
from bridge.protocol.request import GroupRequest
from bridge.values.causes import Cause
from bridge.values.readings import FaultKind

GROUP_BYTES = 8
_LINE_DIGITS = 24


def check_group(lines: Iterable[str], request: GroupRequest) -> Answer | Refusal:
    """Return the group's eight bytes, or why there are none. Never raises."""
    cleaned = clean(lines)
    found = [a for a in (_read(line, request) for line in cleaned) if a is not None]
    if found:
        return found[-1]
    told = next((t for t in map(status_text, cleaned) if t), None)
    if told is not None:
        return said(told)
    return Refusal(
        kind=FaultKind.BAD_REPLY,
        detail=f"no sound message of group {request.pgn}",
        cause=Cause.CHARACTERS_LOST,
    )


def _read(line: str, request: GroupRequest) -> Answer | None:
    text = line.replace(" ", "")
    if len(text) != _LINE_DIGITS or any(c not in "0123456789ABCDEF" for c in text):
        return None
    data = bytes.fromhex(text[8:])
    source = int(text[6:8], 16)
    named = int(text[1:6], 16) & 0xFFFF == request.pgn and text[1] == "0"
    bare = int(text[2:6], 16) == request.pgn and text[:2] in ("0C", "18", "1C", "14")
    wanted = request.source is None or source == request.source
    if not (named or bare) or not wanted:
        return None
    return Answer(payload=data, data=data, reply_id=source)
