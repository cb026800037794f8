"""Where a job file lies, and whether it still lies there.

A file can be deleted, moved, replaced or written into while it is open: what is written
after that goes into a file nobody will find, or into none. The open file is therefore
compared with its path again and again.
"""

from __future__ import annotations

import contextlib
from pathlib import Path

_Mark = tuple[int, int]
"""Device and number of a file: the same file has the same, wherever it is moved."""


class JobPlace:
    """The path of an open job file, and what lay there when it was last written."""

    def __init__(self, path: Path) -> None:
        """Look at a file just opened; raises OSError."""
        self._path = path
        self._beside = path.with_name(path.name + "-wal")
        found = path.stat()
        self._file: _Mark = (found.st_dev, found.st_ino)
        self._written = (found.st_size, found.st_mtime_ns)
        self._log = _mark(self._beside)

    def settle(self) -> None:
        """Take what was written just now for right: we have written it ourselves."""
        if _mark(self._path) != self._file:
            return
        with contextlib.suppress(OSError):  # then the next look sees it
            found = self._path.stat()
            self._written = (found.st_size, found.st_mtime_ns)
            self._log = _mark(self._beside)

    def trouble(self) -> str:
        """Return what has become of the file, as 'was ...'; '': it is where it was."""
        try:
            found = self._path.stat()
        except FileNotFoundError:
            return "was deleted or moved while it was being recorded"
        except OSError as problem:
            return f"was put out of reach ({problem.strerror or problem})"
        if (found.st_dev, found.st_ino) != self._file:
            return "was replaced by another file while it was being recorded"
        if (found.st_size, found.st_mtime_ns) != self._written:
            return "was written into by another program while it was being recorded"
        if self._log is not None and _mark(self._beside) != self._log:
            return "lost the -wal file beside it while it was being recorded"
        return ""


def _mark(path: Path) -> _Mark | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino
