"""Rows for a reader who may be slow: it gets the newest one, never a queue of old ones.

A thread of its own writes, so that a reader who does not read never stops the link. It
waits until the reader has taken what was written before, then writes what is newest.
"""

from __future__ import annotations

import contextlib
import threading
import time
from collections.abc import Callable
from typing import TYPE_CHECKING, TextIO

from bridge import posix
from bridge.snapshot import Snapshot

if TYPE_CHECKING:
    from tui.headless.no_screen import Lines

TAKEN_POLL_S = 0.02
"""How often is looked whether the reader has taken the row before."""
OLDEST_S = 0.5
"""A row that has waited so long is not written: the next one is better."""
QUIET_S = 2.0
"""After so long without a snapshot nothing that was said is live any more."""
LAST_ROW_S = 1.0
"""The reader has so long for the last row once all is over."""


class NewestRow:
    """Writes snapshots to one reader; ``broken`` is called when it has gone."""

    def __init__(self, out: TextIO, lines: Lines, broken: Callable[[], object]) -> None:
        """``lines`` writes to ``out``; it is called in a thread of this one's own."""
        self._out, self._lines, self._broken = out, lines, broken
        self._waits = _takes_time(out)
        self._news = threading.Condition()
        self._next: tuple[Snapshot, float, float] | None = None
        self._over = False
        self._thread = threading.Thread(target=self._run, name="rows", daemon=True)
        self._thread.start()

    def put(self, snapshot: Snapshot) -> None:
        """Hand over a snapshot just decided; never waits."""
        with self._news:
            self._next = snapshot, time.time(), time.monotonic()
            self._news.notify()

    def close(self) -> None:
        """Write the last row, if its reader takes it in time."""
        with self._news:
            self._over = True
            self._news.notify()
        self._thread.join(LAST_ROW_S)

    def _run(self) -> None:
        try:
            while self._wait_for_news():
                self._write_newest()
        except (OSError, ValueError):  # the reader, or standard output, has gone
            self._broken()

    def _wait_for_news(self) -> bool:
        with self._news:
            while not self._news.wait_for(self._is_news, QUIET_S):
                self._lines.quiet()
            return self._next is not None

    def _is_news(self) -> bool:
        return self._next is not None or self._over

    def _write_newest(self) -> None:
        """Wait for the reader; what has come meanwhile takes the older row's place."""
        while self._waits and posix.untaken_bytes(self._out.fileno()):
            time.sleep(TAKEN_POLL_S)
        with self._news:
            row, self._next, over = self._next, None, self._over
        if row is None:
            return
        snapshot, utc_s, at_s = row
        # The clock on the wall goes on where the machine sleeps, the other may not.
        old_s = max(time.time() - utc_s, time.monotonic() - at_s)
        if over or old_s <= OLDEST_S:
            self._lines.write(snapshot, utc_s)


def _takes_time(out: TextIO) -> bool:
    """Return whether what is written waits for a reader whose pace can be seen."""
    with contextlib.suppress(OSError, ValueError):
        return posix.takes_time(out.fileno())
    return False
