"""The chain: each event's SHA-256 over its content and the hash before it. Pure.

SHA-256 is FIPS 180-4, by way of hashlib.
"""

from __future__ import annotations

import hashlib
import json
import math
import struct
from typing import Any, NamedTuple

from bridge.jobfile.file.format import Kind

NO_HASH = bytes(32)
"""What stands before the first event."""


class Draft(NamedTuple):
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


def link(before: bytes, seq: int, draft: Draft) -> bytes:
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
        return link(before, row[0], Draft._make(row[1:8])) == row[8]
    except (AttributeError, TypeError, ValueError, struct.error):
        return False


def number(value: float) -> float | None:
    """Return a float as the file keeps it: no NaN (None), and no minus zero."""
    value = float(value)
    return None if math.isnan(value) else value + 0.0


def to_body(content: dict[str, Any]) -> str:
    """Return a dictionary as canonical JSON: ASCII, sorted, no blanks.

    Raises ValueError for NaN or infinity, TypeError for what JSON cannot hold.
    """
    return json.dumps(content, sort_keys=True, separators=(",", ":"), allow_nan=False)


def from_body(body: str) -> dict[str, Any]:
    """Return what a body holds; {} for an empty one or one that is no object."""
    if not body:
        return {}
    try:
        content = json.loads(body)
    except ValueError:
        return {}
    return content if isinstance(content, dict) else {}


def looks_draft(looks: list[tuple[int, float]], utc_s: float) -> Draft:
    """Return the event that holds moments of decision.

    Each is (number of the last event taken before it, monotonic seconds).
    """
    body = to_body({"at": looks})
    return Draft(Kind.LOOKS, looks[-1][1], utc_s, body=body)
