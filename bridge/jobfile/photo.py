"""A picture as a job file keeps it: by its path, its size and its SHA-256."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

from bridge.jobfile.file.store import JobError
from bridge.plain_file import need_plain

MOST_BYTES = 500_000_000


def photo(path: Path, text: str = "") -> dict[str, Any]:
    """Return the content of a photo event; raises JobError if it cannot be read."""
    need_plain(path, "a picture", most_bytes=MOST_BYTES, error=JobError)
    try:
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
            size = file.tell()
    except OSError as problem:
        why = problem.strerror or problem
        raise JobError(
            f"the photo {path} cannot be read ({why}): check its path"
        ) from None
    return {"path": str(path), "sha256": digest, "bytes": size, "text": text}


def still_same(told: dict[str, Any]) -> bool | None:
    """Return whether the picture is still as it was; None: it is not there.

    Reads whatever file the job names, so only for somebody who asked for it: a job
    from elsewhere may name any file of this machine.
    """
    try:
        path = Path(str(told["path"]))
        need_plain(path, "a picture", most_bytes=MOST_BYTES, error=JobError)
        if path.stat().st_size != told["bytes"]:
            return False
        return bool(photo(path)["sha256"] == told["sha256"])
    except (JobError, OSError, KeyError, ValueError):
        return None
