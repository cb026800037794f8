"""One look at a job, for lists: whose car, which sheet, how far gone, what came of it.

Nothing is checked, and only what the list shows is read; a list may be long.
"""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING, Any

from bridge.jobfile.file.chain import from_body
from bridge.jobfile.file.format import RowKind
from bridge.jobfile.file.reader import reading
from bridge.jobfile.report.field_words import moment_utc, number, of, plain, text
from bridge.jobfile.service_log import service_in
from bridge.service.log import last
from bridge.service.papers.whose import particulars
from bridge.units import ABSENT, Units, show_distance
from bridge.values.frozen import frozen
from bridge.values.service_events import Particular, ServiceKind

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

MOST_GLANCED = 2_000
"""Entries of a service that are looked through for one line about a job."""
HEAD = ("Began (UTC)", "Car", "Odometer", "Level", "Sheet", "Job")
_WIDEST = (16, 24, 12, 40, 60, 200)
_NEWEST = "SELECT body FROM event NOT INDEXED WHERE kind = ? ORDER BY seq DESC LIMIT 1"


@frozen
class Glance:
    """A job in figures and words; None or '': not known."""

    job: str
    began_utc_s: float | None = None
    car: str = ""
    km: float | None = None
    level: str = ""
    sheet: str = ""
    problem: str = ""
    """Why nothing more is known of it."""


def glance(path: Path) -> Glance:
    """Return what a list shows of a job; raises JobError."""
    try:
        with reading(path) as db:
            first = db.execute("SELECT utc_s, body FROM event ORDER BY seq").fetchone()
            # Of an aggregate max, SQLite takes the other column from the same row.
            _, kind = db.execute("SELECT max(seq), kind FROM event").fetchone()
            judged = _newest(db, RowKind.JUDGEMENT)
            typed = _newest(db, "odometer")
    except sqlite3.Error as problem:
        return Glance(job=path.stem, problem=f"damaged ({problem})")
    if first is None:
        return Glance(job=path.stem, problem="empty")
    start = from_body(first[1]) if isinstance(first[1], str) else {}
    log = service_in(path, most=MOST_GLANCED)
    known, odometer = particulars(log), last(log, ServiceKind.ODOMETER)
    outcome = judged.get("outcome")
    words = [plain(outcome) if isinstance(outcome, str) else "not judged"]
    words += ["simulated"] if start.get("simulated") else []
    words += [] if kind == RowKind.END else ["not closed"]
    car = [known[w] for w in (Particular.PLATE, Particular.CUSTOMER) if w in known]
    return Glance(
        job=path.stem,
        began_utc_s=number(first[0]),
        car=" ".join(car),
        km=odometer.km if odometer else number(typed.get("km")),
        level=", ".join(words),
        sheet=text(of(start, "sheet").get("name")),
    )


def _newest(db: sqlite3.Connection, kind: str) -> dict[str, Any]:
    row = db.execute(_NEWEST, (kind,)).fetchone()
    return from_body(row[0]) if row and isinstance(row[0], str) else {}


def in_columns(jobs: Sequence[Glance], units: Units) -> list[str]:
    """Return jobs as lines under a head, each column as wide as it needs."""
    rows = [HEAD, *(_row(j, units) for j in jobs)]
    widths = [max(len(row[i]) for row in rows) for i in range(len(HEAD))]
    return [
        "  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]


def _row(job: Glance, units: Units) -> tuple[str, ...]:
    cells = (
        moment_utc(job.began_utc_s)[:16],
        text(job.car) if job.car else ABSENT,
        show_distance(job.km, units),
        text(job.level) if job.level else ABSENT,
        text(job.sheet) if job.sheet else ABSENT,
        text(f"{job.job}: {job.problem}" if job.problem else job.job),
    )
    return tuple(c[:w] for c, w in zip(cells, _WIDEST, strict=True))
