"""The chain: each event's SHA-256 over its content and the hash before it. Pure.

SHA-256 is FIPS 180-4, by way of hashlib.
"""

from __future__ import annotations

import hashlib
import json
import math
import struct
from typing import Any, NamedTuple

from bridge.jobfile.file.format import RowKind

MOST_BODY = 2_000_000
"""Characters of one event's content: a sheet of the largest size, every letter of it
written as an escape, has room."""
DEEPEST = 24
_MOST_DIGITS = 18
"""Every whole number of so many digits fits into 64 bits."""
NO_HASH = bytes(32)
"""What stands before the first event."""


class RowDraft(NamedTuple):
    """An event before it has its place in the chain."""

    kind: str
    t_s: float | None
    utc_s: float
    role: str = ""
    value: float | None = None
    raw: bytes = b""
    body: str = ""


class Row(NamedTuple):
    """An event as the file holds it, in the order of the table's columns."""

    seq: int
    kind: str
    t_s: float | None
    utc_s: float
    role: str
    value: float | None
    raw: bytes
    body: str
    hash: bytes


_NUMBERS = struct.Struct(">qBdddIIII")
"""Number, which of t_s (1) and value (2) are known, t_s, utc_s, value (0 where not
known), and the lengths of kind, role, raw and body."""


def link(before: bytes, seq: int, draft: RowDraft) -> bytes:
    """Return the hash of the event that gets number ``seq`` after hash ``before``.

    All lengths are among what is hashed, so two different events never read the
    same. Raises struct.error, AttributeError or TypeError for odd types.
    """
    kind, t_s, utc_s, role, value, raw, body = draft
    kind_, role_, body_ = kind.encode(), role.encode(), body.encode()
    known = (t_s is not None) | (value is not None) << 1
    numbers = _NUMBERS.pack(
        seq,
        known,
        t_s or 0.0,
        utc_s,
        value or 0.0,
        len(kind_),
        len(role_),
        len(raw),
        len(body_),
    )
    return hashlib.sha256(
        b"".join((before, numbers, kind_, role_, raw, body_))
    ).digest()


def is_linked(before: bytes, row: Row) -> bool:
    """Return whether a row's hash is that of its content; False for odd types."""
    try:
        return link(before, row[0], RowDraft._make(row[1:8])) == row[8]
    except (AttributeError, TypeError, ValueError, struct.error):
        return False


def number(value: float) -> float | None:
    """Return a float as the file keeps it: no NaN (None), and no minus zero."""
    value = float(value)
    return None if math.isnan(value) else value + 0.0


def to_body(content: dict[str, Any]) -> str:
    """Return a dictionary as canonical JSON: ASCII, sorted, no blanks.

    Raises ValueError for NaN, infinity or far too much, TypeError for what JSON
    cannot hold.
    """
    body = json.dumps(content, sort_keys=True, separators=(",", ":"), allow_nan=False)
    if len(body) > MOST_BODY:
        raise ValueError(f"{len(body)} characters are too much for one event")
    return body


def from_body(body: str) -> dict[str, Any]:
    """Return what a body holds; {} for an empty one or one that is no object."""
    return (loaded(body) or {}) if body else {}


def loaded(body: str) -> dict[str, Any] | None:
    """Return the object a body holds; None: it is none that ``to_body`` writes.

    Neither a number of hundreds of digits, nor infinity, nor brackets nested beyond
    all reason get through: what reads the content need not fear them.
    """
    if len(body) > MOST_BODY or not body.isascii():
        return None
    try:
        content = _DECODER.decode(body)
    except (ValueError, RecursionError):
        return None
    fits = isinstance(content, dict) and not _deeper(content, DEEPEST)
    return content if fits else None


def _whole(digits: str) -> int:
    if len(digits) > _MOST_DIGITS:
        raise ValueError(digits[:_MOST_DIGITS])
    return int(digits)


def _finite(digits: str) -> float:
    value = float(digits)
    if not math.isfinite(value):
        raise ValueError(digits)
    return value


def _refuse(name: str) -> float:
    """Refuse NaN and the infinities, which JSON does not know (RFC 8259, 6)."""
    raise ValueError(name)


_DECODER = json.JSONDecoder(
    parse_int=_whole, parse_float=_finite, parse_constant=_refuse
)


def _deeper(content: Any, levels: int) -> bool:
    """Return whether brackets are nested more than so many levels deep."""
    if isinstance(content, dict):
        content = content.values()
    elif not isinstance(content, list):
        return False
    return levels == 0 or any(_deeper(c, levels - 1) for c in content)


def looks_draft(looks: list[tuple[int, float]], utc_s: float) -> RowDraft:
    """Return the event that holds moments of decision.

    Each is (number of the last event taken before it, monotonic seconds).
    """
    body = to_body({"at": looks})
    return RowDraft(RowKind.LOOKS, looks[-1][1], utc_s, body=body)
