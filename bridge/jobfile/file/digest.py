"""The seal: a digest over every byte of a closed job file, kept inside it.

The digest cannot cover itself: it is made over the file with a placeholder in its
place. The chain finds which event was changed; the seal also sees a byte changed
where no event lies.
"""

from __future__ import annotations

import hashlib
import mmap
import os
from pathlib import Path

PLACEHOLDER = hashlib.sha256(b"sumpgate: not sealed yet").digest()


def seal(path: Path) -> bool:
    """Put the digest over the placeholder; False: the placeholder is not there once.

    The file must be closed and complete. Raises OSError.
    """
    digest, at = _digest(path, PLACEHOLDER)
    if at is None:
        return False
    with path.open("r+b") as file:
        file.seek(at)
        file.write(digest)
        file.flush()
        os.fsync(file.fileno())
    return True


def is_sealed(path: Path, held: bytes) -> bool:
    """Return whether ``held`` is the digest of the file that holds it."""
    if len(held) != len(PLACEHOLDER):
        return False
    digest, at = _digest(path, held)
    return at is not None and digest == held


def _digest(path: Path, hole: bytes) -> tuple[bytes, int | None]:
    """Return the digest with the placeholder where ``hole`` is, and where that is.

    None in place of the position: ``hole`` occurs nowhere, or more than once.
    """
    with path.open("rb") as file:
        if not os.fstat(file.fileno()).st_size:
            return b"", None
        with mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as content:
            at = content.find(hole)
            if at < 0 or content.find(hole, at + 1) >= 0:
                return b"", None
            return _around(content, at), at


def _around(content: mmap.mmap, at: int) -> bytes:
    """Hash the file without reading it into memory; the view must not outlive it."""
    with memoryview(content) as view:
        total = hashlib.sha256(view[:at])
        total.update(PLACEHOLDER)
        total.update(view[at + len(PLACEHOLDER) :])
    return total.digest()
