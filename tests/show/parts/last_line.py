"""The last line of a show: one JSON object that every parser takes (RFC 8259)."""

from __future__ import annotations

import json
import math
from typing import Any


def last_line(figures: Any) -> str:
    """Return the figures as JSON; what is no finite number becomes null."""
    return json.dumps(_plain(figures), allow_nan=False)


def _plain(value: Any) -> Any:
    if isinstance(value, float) and not math.isfinite(value):
        return None
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value


def named(asked: Any) -> dict[str, Any]:
    """Return what was asked by name; an indented name belongs to the one above it."""
    found: dict[str, Any] = {}
    above = ""
    for what, got, *_ in asked:
        name = f"{above}, {what.strip()}" if what.startswith(" ") else what
        above = above if what.startswith(" ") else what
        found[name] = got
    return found
