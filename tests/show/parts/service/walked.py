"""The whole service on the demo car, by keyboard: tests/show/service_walk.sh."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

_ROOT = Path(__file__).resolve().parents[4]
_SCRIPT = _ROOT / "tests" / "show" / "service_walk.sh"
_DONE = re.compile(r"(\d+) of \d+ steps done")
_WHOLE = re.compile(r"with a gap: all \d+ events and every byte are as they were")
"""Killed in the middle, it has a gap, and says so; nothing else of it is amiss."""
_UNSEEN = re.compile(r"^\((never seen|no step|no item|no calendar).*\)$", re.MULTILINE)


def walk() -> dict[str, Any] | None:
    """Return what the walk came to; None: no tmux here to walk in."""
    if shutil.which("tmux") is None:
        return None
    try:
        done = subprocess.run(
            [str(_SCRIPT)], capture_output=True, text=True, cwd=_ROOT, timeout=1800
        )
    except subprocess.TimeoutExpired:
        return {"walk_exit": "not through after half an hour"}
    return read(done.stdout, done.returncode)


def read(text: str, code: int) -> dict[str, Any]:
    """Return what a walk's page says of the service, and its exit code."""
    steps = re.search(r"(\d+) of (\d+) steps done", text[text.rfind("## Complete") :])
    before, _, after = text.partition("## Killed (kill -9)")
    replayed = re.search(r"replayed (\d+) events.*: the same", text)
    return {
        "walk_exit": code,
        "walk_unseen": [m[0] for m in _UNSEEN.finditer(text)],
        "walk_steps_done": int(steps[1]) if steps else 0,
        "walk_steps": int(steps[2]) if steps else None,
        "walk_went_on_after_kill": _DONE.findall(before)[-1:]
        == _DONE.findall(after)[:1],
        "walk_closed_complete": "closed as complete on" in text,
        "walk_nothing_missing": "Everything the sheet asks for is done" in text,
        "walk_record_intact": bool(_WHOLE.search(text)),
        "walk_replayed_events": int(replayed[1]) if replayed else 0,
    }
