"""The whole service on the demo car, by keyboard: tests/show/service_walk.sh."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

_ROOT = Path(__file__).resolve().parents[4]
_SCRIPT = _ROOT / "tests" / "show" / "service_walk.sh"
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
    text = done.stdout
    steps = re.search(r"(\d+) of (\d+) steps done", text[text.rfind("## Complete") :])
    replayed = re.search(r"replayed (\d+) events.*: the same", text)
    return {
        "walk_exit": done.returncode,
        "walk_unseen": [m[0] for m in _UNSEEN.finditer(text)],
        "walk_steps_done": int(steps[1]) if steps else 0,
        "walk_steps": int(steps[2]) if steps else None,
        "walk_went_on_after_kill": "7 of 16 steps done" in text,
        "walk_closed_complete": "closed as complete on" in text,
        "walk_nothing_missing": "Nothing is missing from the record." in text,
        "walk_record_intact": "intact: all" in text,
        "walk_replayed_events": int(replayed[1]) if replayed else 0,
    }
