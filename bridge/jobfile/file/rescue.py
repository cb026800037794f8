"""A job file written anew, whole, when the one that was open is not where it was.

The open handle still reaches what was written, also where no name leads to it any
more; each event is taken over only as long as the chain holds.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from bridge.jobfile.file.chain import NO_HASH, Row, RowDraft, is_linked, link, to_body
from bridge.jobfile.file.format import APPLICATION_ID, FORMAT, TABLES, RowKind

INSERT = "INSERT INTO event VALUES (?,?,?,?,?,?,?,?,?)"
ALL = (
    "SELECT seq, kind, t_s, utc_s, role, value, raw, body, hash FROM event "
    "NOT INDEXED ORDER BY seq"
)


def connect(path: Path) -> sqlite3.Connection:
    """Open a file; used by the thread that writes, made by the one that starts it."""
    return sqlite3.connect(path, isolation_level=None, check_same_thread=False)


@contextlib.contextmanager
def made(path: Path) -> Iterator[sqlite3.Connection]:
    """Give a new job file without events, on the disk when this ends.

    For its owner alone: it holds the vehicle's number. SQLite gives the files beside
    it the same rights.
    """
    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    db = connect(path)
    try:
        db.execute("PRAGMA synchronous=FULL")
        db.execute(f"PRAGMA application_id={APPLICATION_ID}")
        db.execute(f"PRAGMA user_version={FORMAT}")
        db.executescript(TABLES)
        db.execute("BEGIN")
        yield db
        db.execute("COMMIT")
    finally:
        db.close()


def rescued(
    old: sqlite3.Connection, last: int, path: Path, why: str, utc_s: float
) -> int:
    """Write what an open file holds, up to event ``last``, into a new one.

    What became of the old one is the new one's next event; so is how many events
    could not be had any more. Returns how many could. Raises sqlite3.Error, OSError.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    path.unlink(missing_ok=True)
    with made(path) as db:
        seq, head = 0, NO_HASH
        for row in _linked(old):
            db.execute(INSERT, row)
            seq, head = row.seq, row.hash
        drafts = [RowDraft(RowKind.MOVED, None, utc_s, body=to_body({"why": why}))]
        if seq < last:
            lost = to_body({"count": last - seq, "from_s": None})
            drafts.append(RowDraft(RowKind.LOST, None, utc_s, body=lost))
        for place, draft in enumerate(drafts, seq + 1):
            head = link(head, place, draft)
            db.execute(INSERT, (place, *draft, head))
    return seq


def _linked(db: sqlite3.Connection) -> Iterator[Row]:
    """Yield the events of a file for as long as the chain holds."""
    seq, head = 0, NO_HASH
    with contextlib.suppress(sqlite3.Error):
        for row in map(Row._make, db.execute(ALL)):
            if row.seq != seq + 1 or not is_linked(head, row):
                return
            yield row
            seq, head = row.seq, row.hash
