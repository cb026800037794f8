"""Whether a job file is as it was written: intact, changed, or cut off."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from enum import StrEnum
from pathlib import Path

from bridge.jobfile.file.chain import NO_HASH, Row, from_body, is_linked
from bridge.jobfile.file.digest import PLACEHOLDER, is_sealed
from bridge.jobfile.file.format import RowKind
from bridge.jobfile.file.oddity import oddity
from bridge.jobfile.file.reader import digest_in, reading, rows
from bridge.values.frozen import frozen

Visit = Callable[[Row], None]


class FileState(StrEnum):
    """How a job file stands."""

    INTACT = "intact"
    """Closed and sealed; every byte is as it was written."""
    GAPS = "gaps"
    """Closed and sealed, but something of the job is missing in it, by its own word."""
    OPEN = "open"
    """Every event there is fits, but the job was not closed: more may be missing."""
    CHANGED = "changed"
    ALTERED = "altered"
    """Every event fits, but the file around them is not as it was sealed."""


@frozen
class Finding:
    """What the check of a job file found."""

    state: FileState
    events: int
    """So many events fit, from the first on."""
    head: str
    """The hash of the last one that fits, in hexadecimal digits."""
    why: str = ""
    """More about what is wrong; '': nothing more to say."""

    @property
    def sentence(self) -> str:
        """Say it in one sentence."""
        return _SAYINGS[self.state].format(
            n=self.events, next=self.events + 1, why=self.why
        )


_SAYINGS = {
    FileState.INTACT: "intact: all {n} events and every byte are as they were written",
    FileState.GAPS: "closed, with a gap: all {n} events and every byte are as "
    "they were written, but {why}",
    FileState.OPEN: "cut off after event {n}: everything up to there is as it was "
    "written, but the job was not closed ({why})",
    FileState.CHANGED: "changed at event {next}: only the {n} events before it are as "
    "they were written ({why})",
    FileState.ALTERED: "changed outside its events: all {n} events are as they were "
    "written, but the file is not as it was closed ({why})",
}


def check(path: Path, visit: Visit | None = None) -> Finding:
    """Check a file; ``visit`` is given each event that fits, in order.

    Nothing that comes after the first event that does not fit is handed out.

    Raises:
        JobError: it is no job file, or cannot be read at all.
    """
    with reading(path) as db:
        walk = _Walk(visit or (lambda _: None))
        trouble = walk.go(db)
        digest = digest_in(db)
    if trouble:
        return walk.finding(FileState.CHANGED, trouble)
    if walk.kind != RowKind.END:
        why = "the recording ended without an end, or its end is missing"
        return walk.finding(FileState.OPEN, why)
    if digest is None or digest == PLACEHOLDER:
        return walk.finding(FileState.OPEN, "it was interrupted while being sealed")
    if not is_sealed(path, digest):
        return walk.finding(FileState.ALTERED, "its digest is another")
    if walk.gap:
        return walk.finding(FileState.GAPS, walk.gap)
    return walk.finding(FileState.INTACT, "")


class _Walk:
    """Goes along the chain for as long as it holds."""

    def __init__(self, visit: Visit) -> None:
        self._visit = visit
        self._seq, self._hash, self.kind = 0, NO_HASH, ""
        self.gap = ""

    def go(self, db: sqlite3.Connection) -> str:
        """Return what broke the chain, '' if nothing did."""
        try:
            for row in rows(db):
                if row.seq != self._seq + 1:
                    return "an event is missing"
                if not is_linked(self._hash, row):
                    return "its content and its hash do not agree"
                if why := oddity(row):
                    return why
                self.gap = self.gap or _gap(row, self.kind)
                self._seq, self._hash, self.kind = row.seq, row.hash, row.kind
                self._visit(row)
        except (sqlite3.Error, UnicodeError, OverflowError) as problem:
            return f"the file is damaged there: {problem}"
        return "" if self._seq else "there is no event"

    def finding(self, state: FileState, why: str) -> Finding:
        """Return what was found, with how far the chain holds."""
        return Finding(state=state, events=self._seq, head=self._hash.hex(), why=why)


def _gap(row: Row, before: str) -> str:
    """Return what is missing before an event; '': nothing, as far as can be told."""
    content = from_body(row.body) if row.kind in (RowKind.LOST, RowKind.END) else {}
    if row.kind == RowKind.LOST:
        count = content.get("count")
        some = count if type(count) is int else "some"
        return f"{some} events before event {row.seq} could not be written"
    if row.kind == RowKind.RESUME and before != RowKind.END:
        return (
            f"the recording broke off after event {row.seq - 1} and was taken up "
            "again: what came in between may be missing"
        )
    if row.kind == RowKind.END and content.get("cut_off"):
        return (
            f"the recording had broken off before event {row.seq}, where it was closed "
            "later: what came then may be missing"
        )
    return ""
