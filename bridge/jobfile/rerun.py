"""A recorded job through the session once more: are the decisions the same?"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from bridge.jobfile.changes import News
from bridge.jobfile.differences import Change, by_other_rules, differences
from bridge.jobfile.file.chain import Row, from_body, to_body
from bridge.jobfile.file.format import RowKind
from bridge.jobfile.file.reader import reading, rows
from bridge.jobfile.rows import event_of
from bridge.level.step.step_values import Step
from bridge.level.thermometer import Thermometer
from bridge.service.log import Log
from bridge.session.rules import RULES
from bridge.session.session import advance, apply
from bridge.session.session_state import Session, begin
from bridge.snapshot import Snapshot
from bridge.thermal.lesson import NO_LESSONS, Lessons
from bridge.values.carried import Carried
from bridge.values.codec import from_plain
from bridge.values.service_events import ServiceEvent
from bridge.values.sheet import Sheet

ReadSheet = Callable[[str, str], Sheet]
"""From a sheet's text and its name to the sheet."""


@dataclass(slots=True)
class Rerun:
    """What came of running a job again."""

    events: int = 0
    looks: int = 0
    watches: int = 0
    lost: int = 0
    """Events that could not be written when the job was recorded."""
    changes: list[Change] = field(default_factory=list)
    differences: list[str] = field(default_factory=list)
    """Decisions that the same version of the rules makes otherwise now."""
    by_other_rules: list[str] = field(default_factory=list)
    """Decisions of another version of the rules that this one would make otherwise."""

    @property
    def sentence(self) -> str:
        """Say in one sentence what came of it."""
        lost = f"; {self.lost} events were lost when it was recorded" * bool(self.lost)
        ran = f"{self.events} events, {self.looks} decisions, {self.watches} watches"
        same = f"the same {len(self.changes)} decisions changed at the same times"
        counts = []
        if self.differences:
            counts.append(f"{len(self.differences)} differences")
        if self.by_other_rules:
            count = len(self.by_other_rules)
            counts.append(f"{count} decided otherwise by the rules of another version")
        return f"replayed {ran}: {', '.join(counts) or same}{lost}"


_DECISIONS = (RowKind.VERDICT, RowKind.STEP, RowKind.JUDGEMENT)


class _Watch:
    """One monitor's run: its session, and the decisions of then and now."""

    def __init__(self, sheet: Sheet, content: dict[str, Any], log: Log) -> None:
        self.rules = int(content.get("rules", 1))
        self.t0_s: float = content["t0_s"]
        self.session: Session = begun(sheet, content, log)
        self.then: list[Change] = []
        self.now: list[Change] = []
        self._news = News(rules=self.rules)

    def decide(self, now_s: float) -> Snapshot:
        """Decide at a moment the monitor decided at."""
        self.session, snapshot = advance(self.session, now_s=now_s, t0_s=self.t0_s)
        at_s = now_s - self.t0_s
        for kind, content in self._news.of(snapshot):
            written = from_body(to_body(content))
            self.now.append(Change(t_s=at_s, kind=kind, content=written))
        return snapshot

    def remember(self, row: Row) -> None:
        """Note what was decided when the job was recorded."""
        at_s = (row.t_s or 0.0) - self.t0_s
        content = from_body(row.body)
        self.then.append(Change(t_s=at_s, kind=row.kind, content=content, seq=row.seq))


def begun(sheet: Sheet, content: dict[str, Any], log: Log) -> Session:
    """Return the session a watch began with, by the body of its event.

    ``log``: what was told of the service before it. Raises ValueError, KeyError.
    """
    lessons, by_hand = content.get("lessons"), content.get("thermometer")
    session = begin(
        sheet,
        interval_s=content["interval_s"],
        lessons=from_plain(Lessons, lessons) if lessons else NO_LESSONS,
        thermometer=from_plain(Thermometer, by_hand) if by_hand else None,
        told=log,
    )
    return replace(
        session,
        step=from_plain(Step, content["step"]),
        judged_after=int(content.get("judged_after", 0)),
        carried=from_plain(Carried, content.get("carried", {})),
    )


def rerun(
    path: Path, read_sheet: ReadSheet, each: Callable[[Snapshot], None] | None = None
) -> Rerun:
    """Run a job's events through the session again and compare every decision.

    ``each`` is given every snapshot, in order, as the screen was then.

    Raises:
        JobError: it is no job file. SheetError: its sheet cannot be read any more.
        sqlite3.Error, KeyError, ValueError: it is damaged; check it first.
    """
    with reading(path) as db:
        again = _Again(read_sheet, each or (lambda _: None))
        for item in in_order(rows(db), looks(rows(db))):
            again.go_on(item)
    again.end()
    return again.done


class _Again:
    """Goes through a file, one watch after the other."""

    def __init__(self, read_sheet: ReadSheet, each: Callable[[Snapshot], None]) -> None:
        self.done = Rerun()
        self._read_sheet, self._each = read_sheet, each
        self._sheet: Sheet | None = None
        self._watch: _Watch | None = None
        self._log: Log = ()
        """What was told of the service outside the watches, and before this one."""

    def go_on(self, item: Row | float) -> None:
        """Take the next event, or decide at the next moment of decision."""
        if isinstance(item, float):
            if self._watch is not None:
                self.done.looks += 1
                self._each(self._watch.decide(item))
        elif item.kind in (RowKind.START, RowKind.RESUME):
            sheet = from_body(item.body)["sheet"]
            self._sheet = self._read_sheet(sheet["text"], sheet["name"])
        elif item.kind == RowKind.WATCH and self._sheet is not None:
            self.end()
            log = self._watch.session.told if self._watch else self._log
            self._watch = _Watch(self._sheet, from_body(item.body), log)
        elif self._watch is not None:
            _take(self._watch, item, self.done)
        elif item.kind == RowKind.SERVICE:
            self._log = _logged(self._log, item, self.done)

    def end(self) -> None:
        """Compare what the watch that ends has decided."""
        if self._watch is not None:
            self.done.watches += 1
            self.done.changes += self._watch.now
            then, now = self._watch.then, self._watch.now
            if self._watch.rules == RULES:
                self.done.differences += differences(then, now)
            else:
                rules = self._watch.rules
                self.done.by_other_rules += by_other_rules(then, now, rules)


def _logged(log: Log, row: Row, done: Rerun) -> Log:
    event = event_of(row)
    done.events += 1
    return (*log, event) if isinstance(event, ServiceEvent) else log


def _take(watch: _Watch, row: Row, done: Rerun) -> None:
    if row.kind in _DECISIONS:
        watch.remember(row)
    elif row.kind == RowKind.LOST:
        done.lost += int(from_body(row.body)["count"])
    else:
        event = event_of(row)
        if event is not None:
            done.events += 1
            watch.session = apply(watch.session, event)


def looks(all_rows: Iterator[Row]) -> Iterator[tuple[int, float]]:
    """Yield every moment of decision, with the event it comes after."""
    for row in all_rows:
        if row.kind == RowKind.LOOKS:
            yield from from_body(row.body)["at"]


def in_order(
    events: Iterator[Row], looks: Iterator[tuple[int, float]]
) -> Iterator[Row | float]:
    """Yield the events, and the moments of decision where they were between them."""
    waiting = next(looks, None)
    for row in events:
        while waiting is not None and waiting[0] < row.seq:
            yield waiting[1]
            waiting = next(looks, None)
        if row.kind != RowKind.LOOKS:
            yield row
    while waiting is not None:
        yield waiting[1]
        waiting = next(looks, None)
