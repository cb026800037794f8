"""The job file open for writing: created whole or not at all, continued, sealed."""

from __future__ import annotations

import contextlib
import functools
import os
import sqlite3
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from bridge.jobfile.file.chain import (
    MOST_BODY,
    NO_HASH,
    Row,
    RowDraft,
    link,
    looks_draft,
)
from bridge.jobfile.file.digest import PLACEHOLDER, seal
from bridge.jobfile.file.format import (
    APPLICATION_ID,
    FORMAT,
    READABLE,
    TABLES,
    RowKind,
)
from bridge.jobfile.file.lock import lock, release
from bridge.jobfile.file.place import JobPlace
from bridge.jobfile.file.rescue import INSERT, connect, made, rescued
from bridge.values.errors import SumpgateError

SIDE_FILES = ("-wal", "-shm", "-journal")
LOOK = "look"
"""A draft of this kind is a moment of decision: it gets no row of its own."""
_MOST_VALUE = MOST_BODY + 100_000


class JobError(SumpgateError):
    """A job file that cannot be used; names the file and the remedy."""


class Store:
    """One job file, written by one thread at a time.

    Every method may raise sqlite3.Error or OSError; what was not committed then is
    not in the file, and may be given again.
    """

    def __init__(self, path: Path) -> None:
        """Open an existing file to continue it.

        Raises JobError if it is no job file, or another program writes to it.
        """
        self._moving: tuple[Path, int] | None = None
        self._take(path)

    def _take(self, path: Path) -> None:
        self.path = path
        try:
            self._lock = lock(path)
        except BlockingIOError:
            raise JobError(
                f"{path} is being recorded by another program: end that, or name "
                "another file"
            ) from None
        try:
            self._open(path)
        except BaseException:
            release(self._lock)
            raise

    def _open(self, path: Path) -> None:
        self._db = connect(path)
        try:
            distrust(self._db)
            check_marks(self._db, path)
            # What is deleted is wiped: the seal must find its place only once.
            self._db.execute("PRAGMA secure_delete=ON")
            self._db.execute("PRAGMA synchronous=FULL")
            # Before anything else changes: from here on the file is not closed.
            self._db.execute("DELETE FROM seal")
            self._db.execute(f"PRAGMA user_version={FORMAT}")
            self._db.execute("PRAGMA journal_mode=WAL")
            last = self._db.execute(
                "SELECT seq, hash, kind FROM event ORDER BY seq DESC LIMIT 1"
            ).fetchone()
        except BaseException:
            self._db.close()
            raise
        self.seq: int = last[0] if last else 0
        self._hash: bytes = last[1] if last else NO_HASH
        self.was_ended = bool(last) and last[2] == RowKind.END
        self._place = JobPlace(path)

    def trouble(self) -> str:
        """Return what has become of the file on the disk, '': it is where it was."""
        return self._place.trouble()

    def anew(self, why: str, utc_s: float) -> int:
        """Write the whole job into a new file and go on with that.

        At the same path if that is free, else beside it. Returns how many events
        could not be had any more. Raises JobError as well.
        """
        if self._moving is None:
            draft = _unfinished_name(self.path)
            lost = self.seq - rescued(self._db, self.seq, draft, why, utc_s)
            self._moving = (draft, lost)
            # Before another has the name: SQLite is done with the files beside it.
            with contextlib.suppress(sqlite3.Error):
                self._db.close()
            release(self._lock)
        made_anew, lost = self._moving
        if made_anew == _unfinished_name(self.path):
            made_anew = _moved(made_anew, self.path)
            self._moving = (made_anew, lost)
        self._take(made_anew)
        self._moving = None
        return lost

    @classmethod
    def create(cls, path: Path, first: RowDraft) -> Store:
        """Make a new file that holds its first event, and open it.

        The file appears under its name only when the event is in it.
        """
        draft = _unfinished_name(path)
        draft.unlink(missing_ok=True)
        try:
            _make(draft, first)
            # Not 'replace': an existing file is never written over.
            _move(draft, path)
        finally:
            draft.unlink(missing_ok=True)
        return cls(path)

    def append(self, drafts: Sequence[RowDraft]) -> list[int]:
        """Write events in one transaction that is on the disk when this returns.

        Returns the number each got; a moment of decision has that of the event
        before it.
        """
        rows, places = _chained(drafts, self.seq, self._hash)
        if rows:
            with self._transaction():
                self._insert(rows)
            self.seq, self._hash = rows[-1].seq, rows[-1].hash
            self._place.settle()
        return places

    def _insert(self, rows: Sequence[Row]) -> None:
        """Put rows in, and count what is there then."""
        self._db.executemany(INSERT, rows)
        counted = "SELECT count(*), max(seq) FROM event WHERE seq > ?"
        (count, last) = self._db.execute(counted, (self.seq,)).fetchone()
        if (count, last) != (len(rows), rows[-1].seq):
            raise sqlite3.DatabaseError(
                f"of {len(rows)} events written {count} are in the file"
            )

    def finish(self, last: RowDraft) -> bool:
        """Write the last event, and seal the file; False: it could not be sealed."""
        rows, _ = _chained((last,), self.seq, self._hash)
        with self._transaction():
            self._insert(rows)
            self._db.execute("INSERT INTO seal VALUES (?)", (PLACEHOLDER,))
        self.seq, self._hash = rows[-1].seq, rows[-1].hash
        alone = self._leave_wal()
        self.close()
        return alone and seal(self.path) and self._is_there()

    def _is_there(self) -> bool:
        """Return whether the file at the path ends with what was written last."""
        uri = f"{self.path.absolute().as_uri()}?immutable=1"
        with contextlib.closing(sqlite3.connect(uri, uri=True)) as db:
            found = db.execute("SELECT max(seq), hash FROM event").fetchone()
        return tuple(found) == (self.seq, self._hash)

    def _leave_wal(self) -> bool:
        """Put everything into the one file; False: another program is reading it."""
        with contextlib.suppress(sqlite3.OperationalError):
            mode = self._db.execute("PRAGMA journal_mode=DELETE").fetchone()
            return bool(mode and mode[0] == "delete")
        return False

    def close(self) -> None:
        """Close the file as it is; safe to call twice."""
        self._db.close()
        release(self._lock)

    @contextlib.contextmanager
    def _transaction(self) -> Iterator[None]:
        self._db.execute("BEGIN IMMEDIATE")
        try:
            yield
            self._db.execute("COMMIT")
        except BaseException:
            with contextlib.suppress(sqlite3.Error):
                self._db.execute("ROLLBACK")
            raise


def distrust(db: sqlite3.Connection) -> None:
    """Make a connection trust nothing in a file before it has been checked.

    No view or trigger of it runs a function, and no value larger than an event can be
    is brought into memory.
    """
    db.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, _MOST_VALUE)
    db.execute("PRAGMA trusted_schema=OFF")
    db.execute("PRAGMA cell_size_check=ON")


def check_marks(db: sqlite3.Connection, path: Path) -> None:
    """Raise JobError unless the file is a job file of this format."""
    try:
        (application,) = db.execute("PRAGMA application_id").fetchone()
        (version,) = db.execute("PRAGMA user_version").fetchone()
        found = _tables(db)
    except sqlite3.DatabaseError as problem:
        if getattr(problem, "sqlite_errorcode", 0) != sqlite3.SQLITE_NOTADB:
            raise
        application, version, found = 0, 0, []
    if application != APPLICATION_ID:
        raise JobError(f"{path} is not a job file: name one from 'sumpgate job list'")
    if version not in READABLE:
        raise JobError(
            f"{path} is a job file of format {version}, this tool reads formats up to "
            f"{FORMAT}: use the version of sumpgate that wrote it"
        )
    if found != _own_tables():
        raise JobError(
            f"{path} is marked as a job file but is not made like one (its tables are "
            "others, or something was put beside them): nothing in it can be relied "
            "on; use a copy if there is one"
        )


def _tables(db: sqlite3.Connection) -> list[Any]:
    """Return kind, name and wording of all that a file is made of, up to a few."""
    few = "SELECT type, name, tbl_name, sql FROM sqlite_schema ORDER BY name LIMIT 4"
    return db.execute(few).fetchall()


@functools.cache
def _own_tables() -> list[Any]:
    with contextlib.closing(sqlite3.connect(":memory:")) as db:
        db.executescript(TABLES)
        return _tables(db)


def _make(path: Path, first: RowDraft) -> None:
    rows, _ = _chained((first,), 0, NO_HASH)
    with made(path) as db:
        db.executemany(INSERT, rows)


def _unfinished_name(path: Path) -> Path:
    return path.with_name(f".{path.name}.{os.getpid()}.new")


def _moved(draft: Path, path: Path) -> Path:
    """Give a new file a name that is free: the one asked for, or one like it."""
    free, count = path, 1
    while True:
        try:
            _move(draft, free)
        except FileExistsError:
            count += 1
            free = path.with_name(f"{path.stem}-{count}{path.suffix}")
        else:
            draft.unlink(missing_ok=True)
            return free


def _move(draft: Path, path: Path) -> None:
    """Give the new file its name; raises FileExistsError if that is taken."""
    _clear(path)
    try:
        os.link(draft, path)
    except FileExistsError:
        raise
    except (OSError, NotImplementedError):  # a file system without links
        if path.exists():
            raise FileExistsError(str(path)) from None
        draft.rename(path)
    _sync_folder(path.parent)


def _clear(path: Path) -> None:
    """Remove what an earlier file of a free name left beside it.

    SQLite would put such a -wal file's content into the new file.
    """
    if not os.path.lexists(path):
        for end in SIDE_FILES:
            path.with_name(path.name + end).unlink(missing_ok=True)


def _sync_folder(folder: Path) -> None:
    """Have the new name on the disk too, where the system can do that."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _chained(
    drafts: Sequence[RowDraft], seq: int, before: bytes
) -> tuple[list[Row], list[int]]:
    """Return the rows of some drafts after the last one, and the number of each."""
    rows: list[Row] = []
    places: list[int] = []
    looks: list[tuple[int, float]] = []
    for draft in drafts:
        if draft.kind != LOOK:
            seq += 1
            before = link(before, seq, draft)
            rows.append(Row(seq, *draft, before))
        elif draft.t_s is not None:
            looks.append((seq, draft.t_s))
        places.append(seq)
    if looks:
        draft = looks_draft(looks, drafts[-1].utc_s)
        rows.append(Row(seq + 1, *draft, link(before, seq + 1, draft)))
    return rows, places
