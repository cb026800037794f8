"""A picture as a job file keeps it: by its path, its size and its SHA-256."""

from __future__ import annotations

import hashlib
import io
import warnings
from pathlib import Path
from typing import Any

from bridge.jobfile.file.store import JobError
from bridge.plain_file import need_plain
from bridge.values.frozen import frozen

MOST_BYTES = 500_000_000
MOST_PIXELS = {"JPEG": 120_000_000, "PNG": 30_000_000, "WEBP": 30_000_000}
"""Of a picture that is made small: a JPEG is read small to begin with, others whole."""
MOST_SHOWN_BYTES = 60_000_000
SMALL_PIXELS = 480
"""The longer side of a picture made small."""


@frozen
class PhotoSeen:
    """What was found of a picture that a job names."""

    same: bool | None
    """None: it is not there."""
    small: bytes = b""
    """The same picture as a small JPEG with nothing else in it; b'': none was made."""
    width: int = 0
    height: int = 0
    """Of the small one, in pixels."""


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


def look_at(body: dict[str, Any]) -> PhotoSeen:
    """Return whether the picture is still as it was, and if so a small one of it.

    Reads whatever file the job names, so only for somebody who asked for it: a job
    from elsewhere may name any file of this machine.
    """
    try:
        path = Path(str(body["path"]))
        need_plain(path, "a picture", most_bytes=MOST_BYTES, error=JobError)
        if path.stat().st_size != body["bytes"]:
            return PhotoSeen(same=False)
        if body["bytes"] > MOST_SHOWN_BYTES:
            return PhotoSeen(same=photo(path)["sha256"] == body["sha256"])
        content = path.read_bytes()
    except (JobError, OSError, KeyError, ValueError):
        return PhotoSeen(same=None)
    if hashlib.sha256(content).hexdigest() != body.get("sha256"):
        return PhotoSeen(same=False)
    return _made_small(content)


def _made_small(content: bytes) -> PhotoSeen:
    """Return a picture as a small JPEG, without what a camera writes beside it."""
    try:
        from PIL import Image, ImageOps  # comes with the PDF's library

        with warnings.catch_warnings(action="ignore"):
            picture = Image.open(io.BytesIO(content), formats=list(MOST_PIXELS))
            wide, high = picture.size
            if wide * high > MOST_PIXELS[str(picture.format)]:
                return PhotoSeen(same=True)
            picture.draft("RGB", (SMALL_PIXELS, SMALL_PIXELS))
            small = ImageOps.exif_transpose(picture).convert("RGB")
            small.thumbnail((SMALL_PIXELS, SMALL_PIXELS))
            out = io.BytesIO()
            Image.frombytes("RGB", small.size, small.tobytes()).save(
                out, "JPEG", quality=75
            )
    except Exception:
        return PhotoSeen(same=True)
    wide, high = small.size
    return PhotoSeen(same=True, small=out.getvalue(), width=wide, height=high)
