"""The recorder: what a monitor tells goes into the job file, without delaying it."""

from __future__ import annotations

import time
import uuid
from collections.abc import Callable, Sequence
from concurrent.futures import CancelledError, Future
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bridge.jobfile.changes import News
from bridge.jobfile.file.chain import RowDraft, from_body, number, to_body
from bridge.jobfile.file.format import OWN_KINDS, RowKind, is_kind
from bridge.jobfile.file.store import LOOK, JobError, Store
from bridge.jobfile.file.writer import BATCH_S, Note, Writer
from bridge.jobfile.rows import draft_of, seen
from bridge.level.settling.outflow import settle_of
from bridge.session.rules import RULES
from bridge.snapshot import Snapshot
from bridge.values.codec import to_plain
from bridge.values.events import Event, PersonEvent
from bridge.values.frozen import frozen
from bridge.values.service_events import ServiceEvent
from bridge.values.sheet import Sheet

if TYPE_CHECKING:
    from bridge.session.session_state import Session  # loads all the arithmetic

_BEGUN_WITH = ("step", "judged_after", "carried", "lessons", "thermometer")
"""What of a session a watch begins with; the log is in the events before it."""
_WITH_SEEN = (RowKind.MARK, RowKind.TILT, RowKind.SERVICE)
"""Beside these stands what the screen said then."""


@frozen
class Job:
    """What is known when a job begins or goes on."""

    sheet: Sheet
    sheet_text: str
    """The sheet's file, word for word."""
    tool: str
    """Name and version of the program."""
    source: str
    """Where the readings come from: a port, or the bench and its scene."""
    simulated: bool
    afresh: bool = False
    """Begun anew on purpose: no older job is to be gone on with."""

    def content(self) -> dict[str, Any]:
        """Return it as the first event, or the one that resumes, keeps it."""
        sheet = self.sheet
        return {
            "tool": self.tool,
            "source": self.source,
            "simulated": self.simulated,
            "afresh": self.afresh,
            "sheet": {
                "name": sheet.name,
                "source": sheet.source,
                "edition": sheet.edition,
                "page": sheet.page,
                "dated": sheet.dated,
                "entered_by": sheet.entered_by,
                "checked_by": sheet.checked_by,
                "status": sheet.status and sheet.status.value,
                "figures": [to_plain(one) for one in sheet.figures],
                "origin": sheet.origin,
                "text": self.sheet_text,
                "sha256": sha256(self.sheet_text.encode("utf-8")).hexdigest(),
                "low_c": None if sheet.window.below_open else sheet.window.low_c,
                "high_c": None if sheet.window.above_open else sheet.window.high_c,
                "sensor_accuracy_c": sheet.sensor_accuracy_c,
                "settle_time_s": settle_of(sheet).time_s,
                "settle_time_basis": settle_of(sheet).basis.value,
                "stay_chance": sheet.stay_chance,
                "engine": sheet.engine.value,
                "method": sheet.method.value,
                "fill_ml": sheet.fill_ml,
                "density_kg_m3": sheet.density_kg_m3,
                "service": to_plain(sheet.service),
                "cautions": list(sheet.cautions),
                "steps": list(sheet.steps),
            },
        }


_SLOW = "the disk is slow:"
NOT_YET = "what you told last is shown, but NOT saved yet"
NOW_SAVED = "all you told is saved now"


class Recorder:
    """Writes one job down; see bridge.monitor.Witness for whom it listens to.

    ``began``, ``took``, ``looked`` and ``note_event`` never raise for what the disk
    does and never wait for it.
    """

    def __init__(
        self,
        store: Store,
        note: Note,
        *,
        utc: Callable[[], float] = time.time,
        batch_s: float = BATCH_S,
    ) -> None:
        self._utc, self._note = utc, note
        self._store = store
        self._writer = Writer(store, note, batch_s=batch_s)
        self._news = News()
        self._last: tuple[float, Snapshot] | None = None
        self._newest: Future[int] | None = None
        """Done when what the person told last is on the disk."""
        self._waits: Future[int] | None = None
        """The same, where it was shown before it was on the disk."""

    @property
    def path(self) -> Path:
        """Where the job file is."""
        return self._store.path

    def began(
        self,
        *,
        now_s: float,
        interval_s: float,
        session: Session,
    ) -> None:
        """Note that a monitor starts, and what its session begins with."""
        content: dict[str, Any] = {
            "t0_s": number(now_s),
            "interval_s": number(interval_s),
            "rules": RULES,
        }
        for name in _BEGUN_WITH:
            content[name] = to_plain(getattr(session, name))
        body = self._written(content)
        self._news = News()
        self._writer.put(
            RowDraft(RowKind.WATCH, number(now_s), self._utc(), body=body), urgent=True
        )

    def took(self, event: Event) -> None:
        """Note an event the session took."""
        try:
            draft = self._beside(draft_of(event, self._utc()))
        except (ValueError, TypeError) as problem:
            body = to_body({"what": type(event).__name__, "why": str(problem)})
            draft = RowDraft("unwritable", None, self._utc(), body=body)
        if not isinstance(event, PersonEvent):
            self._writer.put(draft)
            return
        self._newest = Future()
        self._writer.put(draft, urgent=True, done=self._newest)

    def keep(self, *, within_s: float) -> None:
        """Wait until what the person told last is on the disk, but not longer.

        Where the disk has failed already, not at all. What is shown and not on the
        disk yet is said, and said again once it is.
        """
        if self._newest is None or self._writer.failing:
            return
        try:
            self._newest.result(within_s)
        except TimeoutError:
            if self._waits is None:
                self._note(f"{_SLOW} {NOT_YET}")
            self._waits = self._newest
            self._waits.add_done_callback(self._arrived)
        except CancelledError:
            pass

    def _arrived(self, future: Future[int]) -> None:
        """Say that what was waited for is on the disk, in the writer's thread."""
        if future is self._waits and not future.cancelled():
            self._waits = None
            self._note(f"{_SLOW} {NOW_SAVED}")

    def _beside(self, draft: RowDraft) -> RowDraft:
        """Put what was seen last beside what the person told."""
        if draft.kind not in _WITH_SEEN or self._last is None:
            return draft
        content = from_body(draft.body)
        return draft._replace(body=to_body({**content, "seen": seen(self._last[1])}))

    def looked(self, *, now_s: float, snapshot: Snapshot) -> None:
        """Note a moment of decision, and the decision if it is another than before."""
        utc_s = self._utc()
        self._last = (now_s, snapshot)
        at_s = number(now_s)
        changes = [
            RowDraft(kind, at_s, utc_s, body=self._written(content))
            for kind, content in self._news.of(snapshot)
        ]
        self._writer.put(RowDraft(LOOK, at_s, utc_s), *changes, urgent=bool(changes))

    def _written(self, content: dict[str, Any]) -> str:
        try:
            return to_body(content)
        except (ValueError, TypeError) as problem:
            return to_body({"unwritable": str(problem)})

    def note_event(self, kind: str, content: dict[str, Any]) -> Future[int]:
        """Write down what the person did or told; from any thread.

        The last snapshot goes in beside it under "seen", where there is one. The
        future holds the event's number once it is on the disk, and is cancelled if
        it could not even be kept in memory.

        Raises:
            ValueError, TypeError: a kind of the recorder's own, or content that
                JSON cannot hold.
        """
        if not is_kind(kind) or kind in OWN_KINDS:
            raise ValueError(f"{kind!r} is not a kind of event to note")
        last = self._last
        written = dict(content)
        if last is not None:
            written["seen"] = seen(last[1])
        draft = RowDraft(
            kind,
            number(last[0]) if last else None,
            self._utc(),
            body=to_body(written),
        )
        done: Future[int] = Future()
        self._writer.put(draft, urgent=True, done=done)
        return done

    def close(self) -> bool:
        """End the job and seal the file; False: a note has said why it is not."""
        body = to_body({"lost": self._writer.lost_in_all})
        last_s = number(self._last[0]) if self._last else None
        return self._writer.close(RowDraft(RowKind.END, last_s, self._utc(), body=body))


def start(
    path: Path,
    job: Job,
    note: Note,
    *,
    utc: Callable[[], float] = time.time,
    batch_s: float = BATCH_S,
) -> Recorder:
    """Make a job file and its recorder, or continue the file that is there.

    Raises:
        JobError: the file there is no job file, or is of another format.
        OSError, sqlite3.Error: it cannot be written.
    """
    content = job.content()
    if path.exists() and not path.is_file():
        raise JobError(f"{path} is no file of this disk: name another")
    if path.exists():
        store = Store(path)
        draft = RowDraft(RowKind.RESUME, None, utc(), body=to_body(content))
        store.append([draft])
    else:
        content["job"] = str(uuid.uuid4())
        store = Store.create(
            path, RowDraft(RowKind.START, None, utc(), body=to_body(content))
        )
    return Recorder(store, note, utc=utc, batch_s=batch_s)


Added = ServiceEvent | tuple[str, dict[str, Any]]
"""What is added to a closed job: an event of the service, or a kind and its content."""


def add_to(path: Path, events: Sequence[Added]) -> bool:
    """Add events to a job file that is not being recorded, and seal it again.

    Raises:
        JobError: it is no job file. OSError, sqlite3.Error: it cannot be written.
    """
    store = Store(path)
    try:
        now_s = time.time()
        drafts = [_added(event, now_s) for event in events]
        cut_off = {} if store.was_ended else {"cut_off": True}
        store.append(drafts)
        return store.finish(
            RowDraft(RowKind.END, None, time.time(), body=to_body(cut_off))
        )
    finally:
        store.close()


def _added(event: Added, now_s: float) -> RowDraft:
    if isinstance(event, ServiceEvent):
        stamped = replace(event, at_utc_s=now_s)
        return draft_of(stamped, now_s)._replace(t_s=None)  # no monitor's clock runs
    kind, content = event
    return RowDraft(kind, None, now_s, body=to_body(content))


__all__ = ["Job", "JobError", "Recorder", "add_to", "start"]
