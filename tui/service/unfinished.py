"""Which job file holds the service that was begun and not closed, for each sheet.

A small file in the system's state folder. With it a service goes on in the job file
it was begun in, after a crash as after a night's sleep.
"""

from __future__ import annotations

import contextlib
import json
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bridge.jobfile.file.reader import is_job_file

if TYPE_CHECKING:
    from bridge.values.sheet import Sheet

LONGEST_AWAY_S = 30 * 86400.0


def unfinished_path() -> Path:
    """Return where this system keeps such things (platformdirs' state folder)."""
    from platformdirs import user_state_path

    return user_state_path("sumpgate", appauthor=False) / "services.json"


def _key(sheet: Sheet) -> str:
    return f"{sheet.name} ({sheet.origin})"


def _read(path: Path) -> dict[str, Any]:
    try:
        told = json.loads(path.read_text("utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    return told if isinstance(told, dict) else {}


def _write(path: Path, told: dict[str, Any]) -> None:
    with contextlib.suppress(OSError):  # it is a convenience, the job file is the job
        path.parent.mkdir(parents=True, exist_ok=True)
        draft = path.with_suffix(".new")
        draft.write_text(json.dumps(told), "utf-8")
        draft.replace(path)


def unfinished(sheet: Sheet, path: Path | None = None) -> Path | None:
    """Return the job file of this sheet's unfinished service, if it is still there."""
    told = _read(path or unfinished_path()).get(_key(sheet), {})
    try:
        job = Path(told["job"])
        away_s = time.time() - float(told["wall_s"])
    except (TypeError, KeyError, ValueError):
        return None
    good = 0 <= away_s <= LONGEST_AWAY_S and job.is_file() and is_job_file(job)
    return job if good else None


def begun(sheet: Sheet, job: Path, path: Path | None = None) -> None:
    """Keep in mind that this job's service is under way."""
    where = path or unfinished_path()
    told = {"job": str(job.absolute()), "wall_s": time.time()}
    _write(where, {**_read(where), _key(sheet): told})


def ended(sheet: Sheet, path: Path | None = None) -> None:
    """Forget this sheet's service: it was closed, or is begun afresh."""
    where = path or unfinished_path()
    known = _read(where)
    if known.pop(_key(sheet), None) is not None:
        _write(where, known)
