"""What was refused, counted and written down; a flood cannot fill the disk.

At most so many lines a second are written, the rest are counted in the next line. No
token, cookie, body or foreign header ever gets into the log.
"""

from __future__ import annotations

import logging
import logging.handlers
from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from tui.words.screen import phone_words

LINES_PER_S = 5
FILE_BYTES = 256 * 1024


class Refusals:
    """Counts by kind, and a short log file."""

    def __init__(
        self, write: Callable[[str], object], clock: Callable[[], float]
    ) -> None:
        self._write, self._clock = write, clock
        self.counts: Counter[str] = Counter()
        self._second, self._lines, self._unwritten = -1, 0, 0

    @property
    def total(self) -> int:
        """How many requests and connections were refused."""
        return self.counts.total()

    def note(self, kind: str, address: str, status: int | None = None) -> None:
        """Count one refusal, and write it down unless there are too many."""
        self.counts[kind] += 1
        second = int(self._clock())
        if second != self._second:
            self._second, self._lines = second, 0
        if self._lines >= LINES_PER_S:
            self._unwritten += 1
            return
        self._lines += 1
        more = (
            phone_words.MORE_BEFORE.format(self._unwritten) if self._unwritten else ""
        )
        self._unwritten = 0
        said = f" with {status}" if status else ""
        self._write(f"refused{said}: {kind}, from {address}{more}")


def log_path() -> Path:
    """Return where this system keeps the log (platformdirs' log folder)."""
    from platformdirs import user_log_path

    return user_log_path("sumpgate", appauthor=False) / "phone.log"


def file_writer(path: Path) -> Callable[[str], None]:
    """Return what appends a line to the log; the log is cut at a quarter megabyte.

    Where it cannot be written nothing is: the count stays on the laptop's screen.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handler = logging.handlers.RotatingFileHandler(
            path, maxBytes=FILE_BYTES, backupCount=1, delay=True, encoding="utf-8"
        )
    except OSError:
        return lambda _line: None
    handler.handleError = lambda *_: None  # type: ignore[method-assign]
    logger = logging.getLogger("sumpgate.phone")
    logger.handlers, logger.propagate = [handler], False
    logger.setLevel(logging.INFO)

    def write(line: str) -> None:
        logger.info("%s %s", datetime.now(UTC).isoformat(timespec="milliseconds"), line)

    return write
