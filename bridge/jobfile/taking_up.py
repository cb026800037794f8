"""A job taken up again: its file applied, event by event, gives the state it was in.

Nothing else remembers a job. The service's log is all of the file's; the level step is
what the last watch makes of the one it began with, by the same reducer as when it ran.
"""

from __future__ import annotations

import sqlite3
from hashlib import sha256
from typing import TYPE_CHECKING

from bridge.jobfile.file.chain import Row, from_body
from bridge.jobfile.file.check import FileState, check
from bridge.jobfile.file.format import RowKind
from bridge.jobfile.file.reader import reading, rows
from bridge.jobfile.rerun import begun, in_order, looks
from bridge.jobfile.rows import event_of
from bridge.jobfile.service_log import service_in
from bridge.level.step.marks import BY_READINGS
from bridge.level.step.step_values import BEFORE_OPENING
from bridge.session.session import advance, apply
from bridge.session.taken_up import NEW, TakenUp
from bridge.values.carried import Carried
from bridge.values.events import Mark, Marked, PersonEvent, Tilted
from bridge.values.service_events import ServiceEvent
from bridge.values.sheet import Confirmation

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from bridge.session.session_state import Session
    from bridge.values.sheet import Sheet

EVERY = 8
"""While the plug is in, of so many looks one is enough, and the one before a mark."""
SOUND = (FileState.INTACT, FileState.OPEN, FileState.GAPS)


def taken_up(path: Path, sheet: Sheet, sheet_text: str) -> TakenUp:
    """Return a job as its file leaves it; of a file that was changed, nothing.

    With another sheet than the file's the level step is not taken up, nor any word.

    Raises:
        JobError: it is no job file.
    """
    if check(path).state not in SOUND:
        return NEW
    with reading(path) as db:
        try:
            watch, same = _last_watch(db), _is_of(db, sheet_text)
            left_utc_s = _left(db)
            log = service_in(path)
            if watch is None or not same:
                return TakenUp(told=log)
            session = _Watch(sheet, watch, _before(db, watch)).to_its_end(db)
            carried = _carried(db, session)
        except (sqlite3.Error, ValueError, KeyError, TypeError):
            return NEW
    return TakenUp(
        told=log,
        step=session.step,
        judged_after=session.judged_after,
        left_utc_s=left_utc_s,
        carried=carried,
    )


_COLUMNS = "seq, kind, t_s, utc_s, role, value, raw, body, hash"


def _rows(db: sqlite3.Connection, where: str, *values: object) -> Iterator[Row]:
    asked = f"SELECT {_COLUMNS} FROM event NOT INDEXED WHERE {where} ORDER BY seq"  # noqa: S608 - ours
    return (Row(*found) for found in db.execute(asked, values))


def _last_watch(db: sqlite3.Connection) -> Row | None:
    found = list(_rows(db, "kind = ?", RowKind.WATCH))
    return found[-1] if found else None


def _is_of(db: sqlite3.Connection, sheet_text: str) -> bool:
    """Return whether the job's watches ran on this very sheet."""
    wanted = sha256(sheet_text.encode("utf-8")).hexdigest()
    before = "seq < (SELECT max(seq) FROM event WHERE kind = ?)"
    begun = list(_rows(db, f"kind IN (?, ?) AND {before}", *_BEGINNINGS, RowKind.WATCH))
    return bool(begun) and from_body(begun[-1].body)["sheet"]["sha256"] == wanted


_BEGINNINGS = (RowKind.START, RowKind.RESUME)


def _left(db: sqlite3.Connection) -> float:
    asked = "SELECT max(utc_s) FROM event WHERE kind NOT IN (?, ?)"
    (utc_s,) = db.execute(asked, (RowKind.RESUME, RowKind.END)).fetchone()
    return float(utc_s or 0.0)


def _before(db: sqlite3.Connection, watch: Row) -> tuple[ServiceEvent, ...]:
    found = _rows(db, "kind = ? AND seq < ?", RowKind.SERVICE, watch.seq)
    return tuple(e for r in found if isinstance(e := event_of(r), ServiceEvent))


class _Watch:
    """The last watch of a job, run to its end."""

    def __init__(self, sheet: Sheet, watch: Row, log: tuple[ServiceEvent, ...]) -> None:
        body = from_body(watch.body)
        self._from = watch.seq
        self._t0_s = float(body["t0_s"])
        self.session: Session = begun(sheet, body, log)
        self._skipped: float | None = None
        self._looks = 0
        self._car_counts = False

    def to_its_end(self, db: sqlite3.Connection) -> Session:
        """Return the session the watch left."""
        self._car_counts = self._by_readings(db)
        for item in in_order(rows(db), looks(rows(db))):
            if isinstance(item, float):
                self._look(item)
            elif item.seq > self._from:
                self._take(item)
        self._catch_up()
        return self.session

    def _by_readings(self, db: sqlite3.Connection) -> bool:
        """Return whether anything was marked that the car's readings bear on.

        Between the phases of a level the car's own readings lead on.
        """
        step = self.session.step
        if step.phase not in BEFORE_OPENING or step.legs > 1:
            return True
        found = map(
            event_of, _rows(db, "kind = ? AND seq > ?", RowKind.MARK, self._from)
        )
        return any(isinstance(m, Marked) and m.mark in BY_READINGS for m in found)

    def _look(self, now_s: float) -> None:
        if now_s < self._t0_s or not self._car_counts:
            return
        self._skipped = now_s
        self._looks += 1
        if self.session.step.plug_open or self._looks % EVERY == 0:
            self._catch_up()

    def _catch_up(self) -> None:
        if self._skipped is not None:
            now_s, self._skipped = self._skipped, None
            self.session, _ = advance(self.session, now_s=now_s, t0_s=self._t0_s)

    def _take(self, row: Row) -> None:
        event = event_of(row)
        if isinstance(event, PersonEvent):
            self._catch_up()
        elif not self._car_counts and row.kind != RowKind.VIN:
            return
        if event is not None:
            self.session = apply(self.session, event)


def _carried(db: sqlite3.Connection, session: Session) -> Carried:
    """Return when each confirmation that stands was given, and the car's number."""
    given: dict[Confirmation, float] = {}
    for row in _rows(db, "kind IN (?, ?)", RowKind.MARK, RowKind.TILT):
        event = event_of(row)
        if isinstance(event, Tilted):
            given[Confirmation.CAR_LEVEL] = row.utc_s
        elif isinstance(event, Marked) and event.mark is Mark.CONFIRMED:
            given |= {event.confirms: row.utc_s} if event.confirms else {}
    numbers = [
        from_body(r.body).get("text") for r in _rows(db, "kind = ?", RowKind.VIN)
    ]
    return Carried(
        given_utc_s={c: given[c] for c in session.step.confirmed if c in given},
        vin=next((str(n) for n in reversed(numbers) if n), ""),
    )
