"""Which job of a folder is to be gone on with: the newest that is not at its end."""

from __future__ import annotations

import sqlite3
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from bridge.jobfile.file.chain import from_body
from bridge.jobfile.file.format import RowKind
from bridge.jobfile.file.lock import lock, release
from bridge.jobfile.file.reader import reading
from bridge.jobfile.file.store import JobError
from bridge.jobfile.job_folder import job_files
from bridge.jobfile.service_log import service_in
from bridge.level.step.step_values import OPEN_PHASES, Phase
from bridge.service.log import is_begun, is_closed, of
from bridge.service.papers.whose import particulars
from bridge.service.step_names import step_name
from bridge.values.frozen import frozen
from bridge.values.service_events import Particular, ServiceKind

if TYPE_CHECKING:
    from pathlib import Path

SERVICE_AWAY_S = 30 * 86400.0
"""A service may rest so long: parts are waited for."""
STEP_AWAY_S = 3600.0
"""A level step that was left with the plug in is begun anew after that."""
PLUG_AWAY_S = 86400.0
"""A plug that was left out is asked about for so long."""


def open_job(sheet_text: str, where: Path | None, *, now_utc_s: float) -> Path | None:
    """Return the job on this sheet to go on with; None: there is none.

    It is the newest in the folder, of a real car, that nobody is recording, that has
    no end yet: a service that was begun and not closed, a plug that is out, a level
    step under way. One that was begun afresh ends the search: what is older is over.
    """
    for path in reversed(job_files(where)):
        job = _glanced_at(path, sheet_text, now_utc_s)
        if job is None:
            continue
        if job.is_open and _is_free(path):
            return path
        if job.start.get("afresh"):
            return None
    return None


@frozen
class OpenJob:
    """A job that is not at its end, as a list shows it."""

    path: Path
    sheet: str
    """The sheet's name, and how it was asked for."""
    origin: str
    step: str
    """The newest step done, else where the level step stands; '' at the beginning."""
    car: str
    service: bool
    """Whether anything of the whole service was told."""
    since_utc_s: float
    """When it was last worked on."""
    plug_open: bool = False
    """Whether it was left with the level plug out."""


def open_jobs(where: Path | None, *, now_utc_s: float) -> tuple[OpenJob, ...]:
    """Return the jobs ``open_job`` would go on with, on any sheet, newest first."""
    over: set[str] = set()
    found = []
    for path in reversed(job_files(where)):
        job = _glanced_at(path, None, now_utc_s)
        if job is None or job.sheet in over:
            continue
        if job.is_open and _is_free(path):
            found.append(job.listed(path, now_utc_s))
            over.add(job.sheet)
        elif job.start.get("afresh"):
            over.add(job.sheet)
    return tuple(found)


def is_open(path: Path, sheet_text: str, *, now_utc_s: float) -> bool:
    """Return whether this very job on this sheet is to be gone on with."""
    job = _glanced_at(path, sheet_text, now_utc_s)
    return job is not None and job.is_open and _is_free(path)


def _glanced_at(path: Path, sheet_text: str | None, now_utc_s: float) -> _Job | None:
    """Return what a quick look finds of a real car's job on this sheet; else None.

    ``sheet_text``: None takes any sheet.
    """
    wanted = sheet_text and sha256(sheet_text.encode("utf-8")).hexdigest()
    try:
        job = _Job(path, now_utc_s)
    except (JobError, OSError, sqlite3.Error, ValueError, KeyError, TypeError):
        return None
    other = wanted is not None and job.sheet != wanted
    return None if other or job.start.get("simulated") else job


class _Job:
    """What a quick look at a job file says about whether it is over."""

    def __init__(self, path: Path, now_utc_s: float) -> None:
        with reading(path) as db:
            asked = "SELECT body FROM event WHERE kind = ? ORDER BY seq"
            self.start = _newest(db, asked, RowKind.START)
            self._step = _newest(db, asked, RowKind.STEP)
            marks = "SELECT count(*) FROM event WHERE kind = ?"
            (self._marks,) = db.execute(marks, (RowKind.MARK,)).fetchone()
            asked = "SELECT max(utc_s) FROM event"
            self._away_s = now_utc_s - float(db.execute(asked).fetchone()[0])
            asked = "SELECT kind FROM event ORDER BY seq DESC LIMIT 1"
            self._ended = db.execute(asked).fetchone()[0] == RowKind.END
        self._told = service_in(path)
        self.sheet = self.start["sheet"]["sha256"]

    def listed(self, path: Path, now_utc_s: float) -> OpenJob:
        """Return it as a list shows it."""
        sheet = self.start["sheet"]
        done = [e.step for e in of(self._told, ServiceKind.DONE) if e.step is not None]
        phase = _spaced(str(self._step.get("phase", "")))
        known = particulars(self._told)
        return OpenJob(
            path=path,
            sheet=str(sheet.get("name", "")),
            origin=str(sheet.get("origin", "")),
            step=step_name(done[-1]) if done else phase,
            car=known.get(Particular.PLATE) or known.get(Particular.VIN) or "",
            plug_open=phase in map(_spaced, OPEN_PHASES),
            service=bool(self._told),
            since_utc_s=now_utc_s - self._away_s,
        )

    @property
    def is_open(self) -> bool:
        """Whether there is something to go on with."""
        if self._away_s < 0:
            return False
        phase = str(self._step.get("phase", ""))
        if is_begun(self._told):
            return not is_closed(self._told) and self._away_s <= SERVICE_AWAY_S
        if phase in OPEN_PHASES:
            return self._away_s <= PLUG_AWAY_S
        under_way = self._marks > 0 and phase != Phase.JUDGED and not self._ended
        return under_way and self._away_s <= STEP_AWAY_S


def _spaced(phase: str) -> str:
    return phase.replace("-", " ")


def _newest(db: sqlite3.Connection, asked: str, kind: RowKind) -> dict[str, Any]:
    found = db.execute(asked, (kind,)).fetchall()
    return from_body(found[-1][0]) if found else {}


def _is_free(path: Path) -> bool:
    try:
        release(lock(path))
    except BlockingIOError:
        return False
    return True
