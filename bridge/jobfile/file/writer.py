"""The thread that writes: a queue at one end, the store at the other.

Putting something into the queue takes microseconds and never waits for the disk.
What cannot be written is kept and tried again; what no longer fits into memory is
counted, and the count goes into the file when there is room again.
"""

from __future__ import annotations

import contextlib
import sqlite3
import threading
import time
from collections import deque
from collections.abc import Callable
from concurrent.futures import Future

from bridge.jobfile.file.chain import RowDraft, to_body
from bridge.jobfile.file.format import RowKind
from bridge.jobfile.file.store import JobError, Store

BATCH_S = 0.5
"""Readings wait at most so long for others; real seconds."""
RETRY_S = 1.0
"""After a failure it is tried again so often."""
MOST_WAITING = 20_000
"""Events kept while they cannot be written: over half an hour of a usual job."""
RESERVE = 2_000
"""Room beyond that for what the person did and for verdicts."""
MOST_AT_ONCE = 5_000
LOOK_S = 1.0
"""How often to check that the file is still there when nothing is written."""
CLOSE_S = 60.0

Note = Callable[[str], None]


class Writer:
    """Writes drafts into a store from a thread of its own."""

    def __init__(
        self,
        store: Store,
        note: Note,
        *,
        batch_s: float = BATCH_S,
        utc: Callable[[], float] = time.time,
    ) -> None:
        """``note`` gets one sentence, in the writer's thread, when something fails."""
        self._store, self._note, self._batch_s = store, note, batch_s
        self._utc = utc
        self._wake = threading.Condition()
        self._waiting: deque[tuple[RowDraft, Future[int] | None]] = deque()
        self._urgent = self._closing = self._failing = False
        self._lost = 0
        self._lost_from_s: float | None = None
        self.lost_in_all = 0
        self._thread = threading.Thread(
            target=self._run, name="sumpgate-record", daemon=True
        )
        self._thread.start()

    def put(
        self, *drafts: RowDraft, urgent: bool = False, done: Future[int] | None = None
    ) -> None:
        """Queue drafts, in their order; never waits for the disk.

        ``urgent``: write at once. ``done`` is told the last event's number when it
        is on the disk.
        """
        with self._wake:
            most = MOST_WAITING + (RESERVE if urgent else 0)
            if self._closing or len(self._waiting) + len(drafts) > most:
                self._lose(drafts, done)
                return
            self._own_up(drafts[0].utc_s)
            first = not self._waiting
            for draft in drafts[:-1]:
                self._waiting.append((draft, None))
            self._waiting.append((drafts[-1], done))
            if urgent or first:
                self._urgent = self._urgent or urgent
                self._wake.notify()

    def _lose(self, drafts: tuple[RowDraft, ...], done: Future[int] | None) -> None:
        self._lost += len(drafts)
        self.lost_in_all += len(drafts)
        if self._lost_from_s is None:
            self._lost_from_s = drafts[0].t_s
        if done is not None:
            done.cancel()

    def _own_up(self, utc_s: float) -> None:
        """Put the count of what was lost where it was lost."""
        if self._lost:
            body = to_body({"count": self._lost, "from_s": self._lost_from_s})
            self._waiting.append((RowDraft(RowKind.LOST, None, utc_s, body=body), None))
            self._lost, self._lost_from_s = 0, None

    @property
    def failing(self) -> bool:
        """Whether the disk took nothing the last time."""
        return self._failing

    def close(self, last: RowDraft, *, within_s: float = CLOSE_S) -> bool:
        """Write what waits and the last event, and seal; False: it is not sealed."""
        with self._wake:
            if self._closing:
                return False
            self._closing = True
            self._wake.notify()
        self._thread.join(within_s)
        if self._thread.is_alive():
            self._note(_unfinished(self._store, "it takes too long"))
            return False
        return self._finish(last)

    def _finish(self, last: RowDraft) -> bool:
        with self._wake:
            self._own_up(last.utc_s)
        try:
            self._look_after()
            self._write_some()
            if self._waiting:
                self._note(_unfinished(self._store, "the disk does not take it"))
                return False
            sealed = self._store.finish(last)
        except (sqlite3.Error, OSError, JobError) as problem:
            self._note(_unfinished(self._store, str(problem)))
            return False
        finally:
            with contextlib.suppress(sqlite3.Error):
                self._store.close()
        if not sealed:
            why = "another program is reading it, or it is not where it was"
            self._note(_unfinished(self._store, why))
        return sealed

    def _run(self) -> None:
        while True:
            with self._wake:
                self._rest()
                closing = self._closing
                self._urgent = False
            self._try_to_write()
            if closing and (self._failing or not self._waiting):
                return

    def _rest(self) -> None:
        """Wait until there is something to write."""
        if self._failing:
            self._wake.wait_for(lambda: self._closing, RETRY_S)
            return
        some = self._wake.wait_for(lambda: self._closing or self._waiting, LOOK_S)
        if not some:
            return
        self._wake.wait_for(lambda: self._closing or self._urgent, self._batch_s)

    def _try_to_write(self) -> None:
        try:
            self._look_after()
            while self._write_some():
                pass
        except (sqlite3.Error, OSError, JobError) as problem:
            if not self._failing:
                self._failing = True
                self._note(_failed(self._store, problem))
        else:
            if self._failing:
                self._failing = False
                self._note(f"the job file {self._store.path} is written again")

    def _look_after(self) -> None:
        """Where the file is gone, write the job anew before anything is added."""
        was = self._store.path
        why = self._store.trouble()
        if not why:
            return
        lost = self._store.anew(why, self._utc())
        now = "it" if self._store.path == was else f"{self._store.path}"
        what = f"all of the job but {lost} events" if lost else "all of the job"
        self._note(f"the job file {was} {why}: {what} was written anew into {now}")

    def _write_some(self) -> bool:
        """Write what waits, up to a limit; return whether more waits."""
        with self._wake:
            batch = [self._waiting[i] for i in range(self._some())]
        if not batch:
            return False
        places = self._store.append([draft for draft, _ in batch])
        with self._wake:
            for _ in batch:
                self._waiting.popleft()
            more = bool(self._waiting)
        for (_, done), seq in zip(batch, places, strict=True):
            if done is not None and done.set_running_or_notify_cancel():
                done.set_result(seq)
        return more and len(batch) == MOST_AT_ONCE

    def _some(self) -> int:
        return min(len(self._waiting), MOST_AT_ONCE)


def _failed(store: Store, problem: Exception) -> str:
    return (
        f"the job file {store.path} cannot be written ({problem}): make room or give "
        "it another place; the view goes on, and it is tried again every second"
    )


def _unfinished(store: Store, why: str) -> str:
    return (
        f"the job file {store.path} was left unsealed ({why}); what is in it is whole, "
        "and 'sumpgate job close' seals it"
    )
