"""What a job file tells, gathered in one pass: the basis of report and comparison."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from bridge.jobfile.file.chain import Row, from_body
from bridge.jobfile.file.check import Finding, check
from bridge.jobfile.file.format import RowKind
from bridge.jobfile.photo import PhotoSeen, look_at
from bridge.jobfile.report.field_words import number, text
from bridge.jobfile.report.thinned_trace import ThinnedTrace
from bridge.jobfile.service_log import log_of
from bridge.level.step.step_values import Outcome
from bridge.service.level_facts import LevelFacts, LevelSet, whole
from bridge.service.log import Log, is_begun, standing
from bridge.values.frozen import frozen
from bridge.values.service_events import ServiceKind
from bridge.values.sheet import OPEN_C, Confirmation, Role, Window

MOST_KEPT = 500
"""Events of one kind kept word for word; beyond that they are only counted."""
MOST_HELD = 32_000_000
"""Characters of all events' content together that are kept word for word."""
MOST_NAMES, MOST_SPANS = 200, 5_000


def _by_circuit(content: object) -> tuple[tuple[str, float], ...]:
    found = content.items() if isinstance(content, dict) else ()
    return tuple((text(k), ml) for k, v in found if (ml := number(v)) is not None)


def _levels_set(content: object) -> tuple[LevelSet, ...]:
    found = content if isinstance(content, list) else []
    found = [one for one in found if isinstance(one, dict)]
    return tuple(
        LevelSet(
            circuit=text(one.get("circuit")),
            log_length=int(number(one.get("log_length")) or 0.0),
            added_after_ml=number(one.get("added_after_ml")) or 0.0,
        )
        for one in found
    )


@frozen
class Moment:
    """An event with its place in time."""

    seq: int
    kind: str
    at_s: float
    """Seconds since the first watch began, pauses between watches included."""
    utc_s: float
    content: dict[str, Any]


@dataclass(slots=True)
class SummarySpan:
    """A stretch of time with GO."""

    from_s: float
    to_s: float
    low_c: float | None = None
    high_c: float | None = None


@dataclass(slots=True)
class Summary:
    """Everything a report can say of a job."""

    path: Path
    finding: Finding | None = None
    start: dict[str, Any] = field(default_factory=dict)
    began_utc_s: float | None = None
    ended_utc_s: float | None = None
    length_s: float = 0.0
    watches: int = 0
    lost: int = 0
    trace: ThinnedTrace = field(default_factory=ThinnedTrace)
    go: list[SummarySpan] = field(default_factory=list)
    kept: dict[str, list[Moment]] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)
    faults: dict[str, int] = field(default_factory=dict)
    left_out: int = 0
    """Events too many or too large to be told of one by one."""
    photos: dict[int, PhotoSeen] = field(default_factory=dict)
    """What was found of each photo's event looked at."""

    @property
    def told(self) -> Log:
        """Return what the person told of the service, in order."""
        return log_of(m.content for m in self.of(RowKind.SERVICE))

    @property
    def log(self) -> Log:
        """Return the same with what the level step tells."""
        return whole(self.told, self._level())

    @property
    def window(self) -> Window | None:
        """The sheet's window, an open end where the record has none; None: unknown."""
        ends = [number(self.sheet.get(key)) for key in ("low_c", "high_c")]
        if ends == [None, None]:
            return None
        low_c, high_c = ends
        return Window(
            low_c=-OPEN_C if low_c is None else low_c,
            high_c=OPEN_C if high_c is None else high_c,
        )

    @property
    def has_service(self) -> bool:
        """Whether a service was worked at: its sheet has steps, and one was told of."""
        service = self.sheet.get("service")
        steps = isinstance(service, dict) and bool(service.get("order"))
        return steps and is_begun(self.told)

    def _level(self) -> LevelFacts:
        judged, step = self.last(RowKind.JUDGEMENT), self.last(RowKind.STEP)
        judgement = judged.content if judged else {}
        stands = step.content if step and "added_ml" in step.content else judgement
        before = [m for m in self.of(RowKind.SERVICE) if judged and m.seq < judged.seq]
        outcome = {o.value: o for o in Outcome}.get(str(judgement.get("outcome")))
        left = number(stands.get("legs")) or 1.0
        if outcome is Outcome.GOOD and (number(stands.get("leg")) or 0.0) + 1.0 < left:
            outcome = None  # a phase before the last: no level of the service yet
        points = stands.get("confirmed")
        met = points if isinstance(points, list) else []
        return LevelFacts(
            confirmed=tuple(c for c in Confirmation if c.value in met),
            added_ml=number(stands.get("added_ml")) or 0.0,
            added_temp_c=number(stands.get("added_temp_c")),
            added_in=_by_circuit(stands.get("added_in")),
            set_in=_levels_set(stands.get("set_in")),
            outcome=outcome,
            added_after_ml=(number(stands.get("added_ml")) or 0.0)
            - (number(judgement.get("added_ml")) or 0.0),
            since=len(before),
        )

    def of(self, kind: str) -> list[Moment]:
        """Return the events of a kind, in order, up to MOST_KEPT."""
        return self.kept.get(kind, [])

    def last(self, kind: str) -> Moment | None:
        """Return the last event of a kind; None: there is none."""
        found = self.of(kind)
        return found[-1] if found else None

    @property
    def sheet(self) -> dict[str, Any]:
        """Return the sheet as the file tells it."""
        sheet = self.start.get("sheet")
        return sheet if isinstance(sheet, dict) else {}

    @property
    def intact(self) -> Finding:
        """Return what the check found."""
        assert self.finding is not None  # noqa: S101 - set by tell
        return self.finding


def tell(path: Path, *, photos: bool = False) -> Summary:
    """Return what a job file tells; nothing after a changed event is used.

    ``photos``: also look at the pictures it names, wherever on this machine.

    Raises JobError if it is no job file.
    """
    summary = Summary(path=path)
    gatherer = _Gatherer(summary)
    summary.finding = check(path, gatherer.take)
    gatherer.end()
    _add_from_service(summary)
    if photos:
        summary.photos = {m.seq: look_at(m.content) for m in summary.of(RowKind.PHOTO)}
    return summary


_VOLUMES = {
    ServiceKind.OUT: "drained",
    ServiceKind.IN: "filled",
    ServiceKind.ADDED: "added",
    ServiceKind.RAN_OFF: "ran-off",
}


def _add_from_service(summary: Summary) -> None:
    """Put the service's amounts and odometer where those typed later are found.

    They carry ``service`` where the report lists them with the service, once.
    """
    made = summary.of(RowKind.SERVICE) or summary.of(RowKind.STEP)
    if not made:
        return
    for _, entry in standing(summary.log):
        content: dict[str, Any] = {"service": summary.has_service, "text": entry.text}
        if entry.kind in _VOLUMES:
            kind = "volume"
            content |= {"what": _VOLUMES[entry.kind], "ml": entry.ml}
            content |= {"temp_c": entry.temp_c}
        elif entry.kind is ServiceKind.ODOMETER:
            kind, content = "odometer", {**content, "km": entry.km}
        elif entry.kind is ServiceKind.NOTE and entry.step is None:
            kind = "note"
        else:
            continue
        moment = replace(made[-1], kind=kind, utc_s=entry.at_utc_s, content=content)
        summary.kept.setdefault(kind, []).append(moment)


class _Gatherer:
    """Takes a file's events one after the other into a summary."""

    def __init__(self, summary: Summary) -> None:
        self._story = summary
        self._t0_s = 0.0
        self._offset_s = 0.0
        self._at_s = 0.0
        self._held = 0
        self._open: SummarySpan | None = None
        self._special: dict[str, Callable[[Moment], None]] = {
            RowKind.START: self._start,
            RowKind.RESUME: self._start,
            RowKind.WATCH: self._watch,
            RowKind.VERDICT: self._verdict,
            RowKind.LOST: self._lost,
        }

    def take(self, row: Row) -> None:
        summary, kind = self._story, row.kind
        known = kind in summary.counts or len(summary.counts) < MOST_NAMES
        counted = kind if known else "others"
        summary.counts[counted] = summary.counts.get(counted, 0) + 1
        if row.t_s is not None:
            self._at_s = max(self._at_s, row.t_s - self._t0_s + self._offset_s)
        if kind == RowKind.READING:
            if row.role == Role.FLUID_TEMPERATURE and row.value is not None:
                self._fluid(row.value)
            return
        if kind == RowKind.LOOKS:
            return
        self._keep(row)

    def _fluid(self, temp_c: float) -> None:
        self._story.trace.add(self._at_s, temp_c)
        span = self._open
        if span is not None:
            span.low_c = temp_c if span.low_c is None else min(span.low_c, temp_c)
            span.high_c = temp_c if span.high_c is None else max(span.high_c, temp_c)

    def _keep(self, row: Row) -> None:
        moment = Moment(
            seq=row.seq,
            kind=row.kind,
            at_s=self._at_s,
            utc_s=row.utc_s,
            content=from_body(row.body),
        )
        self._story.ended_utc_s = row.utc_s
        if row.kind in self._special:
            self._special[row.kind](moment)
        if row.kind == RowKind.FAULT:
            self._fault(row, moment.content)
            return
        self._held += len(row.body)
        if self._held > MOST_HELD:
            self._story.left_out += 1
            return
        kept = self._story.kept.setdefault(row.kind, [])
        kept.append(moment)
        if len(kept) > MOST_KEPT and row.kind != RowKind.SERVICE:
            del kept[MOST_KEPT // 2]  # the beginning and the end say most

    def _start(self, moment: Moment) -> None:
        if moment.kind == RowKind.START or not self._story.start:
            self._story.start = moment.content

    def _watch(self, moment: Moment) -> None:
        summary = self._story
        self._close_span()
        summary.watches += 1
        if summary.began_utc_s is None:
            summary.began_utc_s = moment.utc_s
            self._offset_s = self._at_s = 0.0
        else:
            self._offset_s = max(self._at_s, moment.utc_s - summary.began_utc_s)
        self._t0_s = number(moment.content.get("t0_s")) or 0.0
        interval_s = number(moment.content.get("interval_s")) or 0.0
        summary.trace.gap_s = max(2.0, 3.0 * interval_s)

    def _verdict(self, moment: Moment) -> None:
        if moment.content.get("verdict") == "GO":
            self._open = self._open or SummarySpan(from_s=moment.at_s, to_s=moment.at_s)
        else:
            self._close_span()

    def _close_span(self) -> None:
        if self._open is not None:
            self._open.to_s = self._at_s
            if len(self._story.go) < MOST_SPANS:
                self._story.go.append(self._open)
            else:
                self._story.left_out += 1
            self._open = None

    def _lost(self, moment: Moment) -> None:
        self._story.lost += int(number(moment.content.get("count")) or 0)

    def _fault(self, row: Row, content: dict[str, Any]) -> None:
        name = f"{row.role or 'link'}: {text(content.get('kind'))[:80]}"
        faults = self._story.faults
        if name not in faults and len(faults) >= MOST_NAMES:
            name = "others"
        faults[name] = faults.get(name, 0) + 1

    def end(self) -> None:
        """Close what is open at the end of the file."""
        self._close_span()
        self._story.length_s = self._at_s
