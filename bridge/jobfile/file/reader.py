"""A job file open for reading; nothing in it is changed by that."""

from __future__ import annotations

import contextlib
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from pathlib import Path

from bridge.jobfile.file.chain import Row
from bridge.jobfile.file.format import APPLICATION_ID
from bridge.jobfile.file.rescue import ALL
from bridge.jobfile.file.store import JobError, check_marks, distrust
from bridge.plain_file import JOB_BYTES, need_plain

_MAGIC = b"SQLite format 3\0"
_ROLLBACK = 1
_SIDE_FILES = ("-wal", "-journal")


@contextlib.contextmanager
def reading(path: Path) -> Iterator[sqlite3.Connection]:
    """Open a job file for reading, also one that is being written or was cut off.

    Raises:
        JobError: there is no such file, or it is no job file, or is damaged so
            that not even its beginning can be read.
    """
    with contextlib.ExitStack() as stack:
        try:
            db = stack.enter_context(contextlib.closing(_open(path, stack)))
            distrust(db)
            check_marks(db, path)
        except FileNotFoundError:
            raise JobError(
                f"there is no job file {path}: 'sumpgate job list' shows what there is"
            ) from None
        except OSError as problem:
            why = problem.strerror or problem
            raise JobError(f"{path} cannot be read ({why}): check it") from None
        except sqlite3.Error as problem:
            raise JobError(
                f"{path} is damaged from its beginning ({problem}): nothing in it can "
                "be relied on; use a copy if there is one"
            ) from None
        yield db


def _open(path: Path, stack: contextlib.ExitStack) -> sqlite3.Connection:
    if path.exists():
        need_plain(path, "a job file", most_bytes=JOB_BYTES, error=JobError)
    with path.open("rb") as file:
        header = file.read(100)
    journal = path.with_name(path.name + "-journal")
    if len(header) == 100 and header[18] == _ROLLBACK and not journal.exists():
        # Closed and complete in one file: leave not even a lock beside it.
        return sqlite3.connect(f"{path.absolute().as_uri()}?immutable=1", uri=True)
    db = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
    try:
        db.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.OperationalError:  # a folder or a disk that may not be written
        db.close()
        return _copy(path, stack)
    except sqlite3.DatabaseError:
        db.close()
        raise
    return db


def _copy(path: Path, stack: contextlib.ExitStack) -> sqlite3.Connection:
    folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="sumpgate-")))
    for end in ("", *_SIDE_FILES):
        beside = path.with_name(path.name + end)
        if beside.exists():
            shutil.copyfile(beside, folder / ("job" + end))
    return sqlite3.connect(folder / "job")


def rows(db: sqlite3.Connection) -> Iterator[Row]:
    """Yield every event in its order; may raise sqlite3.DatabaseError on the way."""
    yield from map(Row._make, db.execute(ALL))


def began_utc_s(path: Path) -> float:
    """Return when a job began, in seconds since 1970; raises as `reading` does."""
    with reading(path) as db:
        return next(rows(db)).utc_s


def digest_in(db: sqlite3.Connection) -> bytes | None:
    """Return what the file says its own digest is; None: it is not closed."""
    try:
        found = db.execute("SELECT digest FROM seal LIMIT 2").fetchall()
    except sqlite3.DatabaseError:
        return None
    if len(found) == 1 and isinstance(found[0][0], bytes):
        digest: bytes = found[0][0]
        return digest
    return None


def is_job_file(path: Path) -> bool:
    """Return whether a file begins as a job file does; a pipe is not even opened."""
    try:
        need_plain(path, "a job file", most_bytes=JOB_BYTES, error=JobError)
        with path.open("rb") as file:
            header = file.read(72)
    except (OSError, ValueError, JobError):
        return False
    mark = int.from_bytes(header[68:72], "big")
    return header[:16] == _MAGIC and mark == APPLICATION_ID
