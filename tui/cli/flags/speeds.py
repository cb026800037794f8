"""The speed each serial port was last talked to at: found by the machine, kept by it.

Not a setting: nobody chose it, and losing it costs a search of a few seconds.
"""

from __future__ import annotations

import contextlib
import json
from pathlib import Path

_MOST = 50
"""Ports that are remembered; the oldest go first."""


def speeds_path() -> Path:
    """Return where this system keeps such things (platformdirs' state folder)."""
    from platformdirs import user_state_path

    return user_state_path("sumpgate", appauthor=False) / "speeds.json"


def remembered_speed(port: str, path: Path | None = None) -> int | None:
    """Return the speed a port was last talked to at; never raises."""
    speed = _all(path or speeds_path()).get(port)
    return speed if speed and speed > 0 else None


def remember_speed(port: str, speed: int, path: Path | None = None) -> None:
    """Keep a port's speed; never raises: it would only be searched again."""
    path = path or speeds_path()
    known = _all(path)
    if known.get(port) == speed:
        return
    known.pop(port, None)
    known[port] = speed
    kept = dict(list(known.items())[-_MOST:])
    with contextlib.suppress(OSError, UnicodeEncodeError):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps(kept, indent=1) + "\n", encoding="utf-8")


def _all(path: Path) -> dict[str, int]:
    try:
        table = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    if not isinstance(table, dict):
        return {}
    return {k: v for k, v in table.items() if type(v) is int}
