"""The recorder: what goes in comes out, also after a disk that was full."""

from __future__ import annotations

import math
import shutil
import sqlite3
import threading
import time
from concurrent.futures import CancelledError
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.jobfile.file import writer
from bridge.jobfile.file.chain import Row, from_body
from bridge.jobfile.file.check import FileState, Finding, check
from bridge.jobfile.file.reader import reading, rows
from bridge.jobfile.file.store import JobError, Store
from bridge.jobfile.recorder import add_to, start
from bridge.jobfile.report import car_section
from bridge.jobfile.report.document import ReportTable
from bridge.jobfile.report.summary import Summary
from bridge.jobfile.rerun import rerun
from bridge.jobfile.rows import draft_of, event_of
from bridge.sheets import parse_sheet
from bridge.units import Units
from bridge.values.events import ClockJump, Dropout, LinkChange, Mark, Marked, Tilted
from bridge.values.found import FigureSource, Status
from bridge.values.readings import (
    CheckDigit,
    Fault,
    FaultKind,
    LinkState,
    Reading,
    TroubleCodes,
    VehicleNumber,
)
from bridge.values.sheet import Confirmation, Role
from tests.jobfile.job_help import complain, job, new_session, record

times = st.floats(-1e9, 1e9).map(lambda x: x + 0.0)
events = st.one_of(
    st.builds(
        Reading,
        role=st.sampled_from(Role),
        value=st.floats(allow_nan=False).map(lambda x: x + 0.0),
        t_s=times,
        raw=st.binary(max_size=20),
        label=st.text(max_size=5),
    ),
    st.builds(
        Fault,
        kind=st.sampled_from(FaultKind),
        t_s=times,
        detail=st.text(max_size=20),
        role=st.none() | st.sampled_from(Role),
    ),
    st.builds(
        LinkChange, state=st.sampled_from(LinkState), t_s=times, detail=st.text()
    ),
    st.builds(Dropout, t_s=times),
    st.builds(ClockJump, t_s=times, gap_s=times),
    st.builds(
        TroubleCodes,
        t_s=times,
        stored=st.none() | st.just(("P0711", "P0712")),
        pending=st.none() | st.just(()),
        permanent=st.none(),
        mil=st.none() | st.booleans(),
    ),
    st.builds(
        VehicleNumber,
        t_s=times,
        text=st.text(),
        check_digit=st.sampled_from(CheckDigit),
    ),
    st.builds(
        Marked,
        mark=st.sampled_from(Mark),
        t_s=times,
        ml=st.none() | st.floats(0, 1e4),
        confirms=st.none() | st.sampled_from(Confirmation),
    ),
    st.builds(Tilted, t_s=times, lengthways_deg=times, across_deg=times),
)


@given(st.lists(events, max_size=6))
def test_every_event_comes_back_as_it_was(told: list) -> None:
    db = sqlite3.connect(":memory:")
    db.execute(
        "CREATE TABLE event (seq INTEGER PRIMARY KEY, kind TEXT, t_s REAL, utc_s REAL,"
        " role TEXT, value REAL, raw BLOB, body TEXT, hash BLOB)"
    )
    for seq, event in enumerate(told):
        row = (seq, *draft_of(event, 1.0), b"")
        db.execute("INSERT INTO event VALUES (?,?,?,?,?,?,?,?,?)", row)
    found = db.execute("SELECT * FROM event ORDER BY seq").fetchall()
    assert [event_of(Row._make(row)) for row in found] == told
    db.close()


def test_a_reading_that_is_no_number_stays_none() -> None:
    draft = draft_of(Reading(role=Role.SELECTOR, value=math.nan, t_s=1.0), 0.0)
    back = event_of(Row(1, *draft, b""))
    assert isinstance(back, Reading)
    assert math.isnan(back.value)


def test_a_job_replays_to_the_same_decisions(tmp_path: Path) -> None:
    path = tmp_path / "a.job"
    record(path, seconds=90)
    again = rerun(path, parse_sheet)
    assert again.differences == []
    assert again.looks == 360
    verdicts = [c.content["verdict"] for c in again.changes if c.kind == "verdict"]
    assert "GO" in verdicts


@pytest.mark.slow
def test_a_replay_tells_a_decision_that_was_another(tmp_path: Path) -> None:
    """A file made anew with a false verdict: the chain fits, the replay does not."""
    path, other = tmp_path / "a.job", tmp_path / "b.job"
    record(path, seconds=90)
    with reading(path) as db:
        found = list(rows(db))
    store = Store.create(other, _draft(found[0]))
    first_go = next(r for r in found if '"verdict":"GO"' in r.body)
    store.append(
        [
            _draft(r)._replace(body=r.body.replace('"GO"', '"NO-GO"'))
            if r is first_go
            else _draft(r)
            for r in found[1:-1]
        ]
    )
    assert store.finish(_draft(found[-1]))
    assert check(other).state is FileState.INTACT
    differences = rerun(other, parse_sheet).differences
    assert len(differences) == 1
    assert f"(event {first_go.seq})" in differences[0]
    assert "recorded NO-GO" in differences[0]
    assert "now GO" in differences[0]


def _draft(row: Row):
    from bridge.jobfile.file.chain import RowDraft

    return RowDraft._make(row[1:8])


def test_what_a_person_did_is_on_the_disk_when_it_says_so(tmp_path: Path) -> None:
    recorder = record(tmp_path / "a.job", seconds=2, close=False)
    seq = recorder.note_event("note", {"text": "bolt was loose"}).result(30)
    copy = tmp_path / "copy"
    copy.mkdir()
    for file in tmp_path.glob("a.job*"):  # as a power cut would leave it
        shutil.copy(file, copy)
    found: list[Row] = []
    assert check(copy / "a.job", found.append).state is FileState.OPEN
    told = from_body(found[seq - 1].body)
    assert told["text"] == "bolt was loose"
    assert told["seen"]["verdict"] == "NO-GO"
    assert recorder.close()


def test_a_cut_off_job_goes_on_with_the_same_chain(tmp_path: Path) -> None:
    path = tmp_path / "a.job"
    first = record(path, seconds=3, close=False)
    first.note_event("note", {"text": "last word"}).result(30)
    copy = tmp_path / "copy"
    copy.mkdir()
    for file in tmp_path.glob("a.job*"):
        shutil.copy(file, copy)
    first.close()
    path = copy / "a.job"
    before = check(path)
    record(path, seconds=3)
    after = check(path)
    assert before.state is FileState.OPEN
    assert after.state is FileState.GAPS
    assert after.events > before.events
    assert rerun(path, parse_sheet).watches == 2
    assert rerun(path, parse_sheet).differences == []


def test_a_closed_job_takes_more_and_is_sealed_again(tmp_path: Path) -> None:
    path = tmp_path / "a.job"
    record(path, seconds=2)
    for count in range(3):
        assert add_to(path, [("note", {"text": f"note {count}"})])
        assert check(path).state is FileState.INTACT


def test_every_torn_write_ahead_log_opens(tmp_path: Path) -> None:
    """Whatever the disk kept of the log, the file opens and the chain holds."""
    path = tmp_path / "a.job"
    recorder = record(path, seconds=4, close=False)
    recorder.note_event("note", {"text": "x"}).result(30)
    main, log = path.read_bytes(), (tmp_path / "a.job-wal").read_bytes()
    recorder.close()
    counts = set()
    for length in range(0, len(log), max(1, len(log) // 40)):
        torn = tmp_path / "torn.job"
        torn.write_bytes(main)
        (tmp_path / "torn.job-shm").unlink(missing_ok=True)
        (tmp_path / "torn.job-wal").write_bytes(log[:length])
        found = check(torn)
        assert found.state is FileState.OPEN
        counts.add(found.events)
    assert len(counts) > 1


class Full(Store):
    """A store on a disk that is full for as long as wanted."""

    full = False

    def append(self, drafts) -> list[int]:
        if self.full:
            raise sqlite3.OperationalError("database or disk is full")
        return super().append(drafts)


def full_recorder(path: Path, notes: list[str], **kwargs):
    from bridge.jobfile.recorder import Recorder

    start(path, job(), complain).close()
    store = Full(path)
    return Recorder(store, notes.append, **kwargs), store


def wait_for(what, seconds: float = 30.0) -> None:
    for _ in range(int(seconds * 100)):
        if what():
            return
        time.sleep(0.01)
    raise AssertionError("it never happened")


def test_a_full_disk_is_told_once_and_nothing_is_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(writer, "RETRY_S", 0.02)
    notes: list[str] = []
    recorder, store = full_recorder(tmp_path / "a.job", notes, batch_s=0.01)
    recorder.began(now_s=0.0, interval_s=0.2, session=new_session())
    store.full = True
    done = recorder.note_event("note", {"text": "while full"})
    wait_for(lambda: notes)
    for i in range(50):
        recorder.took(Dropout(t_s=float(i)))
    assert not done.done()
    store.full = False
    assert done.result(30)
    assert recorder.close()
    assert "cannot be written (database or disk is full)" in notes[0]
    assert "written again" in notes[1]
    assert len(notes) == 2
    found: list[Row] = []
    assert check(tmp_path / "a.job", found.append).state is FileState.INTACT
    assert sum(r.kind == "dropout" for r in found) == 50


def test_what_no_longer_fits_is_counted_where_it_was_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(writer, "RETRY_S", 0.02)
    monkeypatch.setattr(writer, "MOST_WAITING", 10)
    monkeypatch.setattr(writer, "RESERVE", 1)
    notes: list[str] = []
    recorder, store = full_recorder(tmp_path / "a.job", notes, batch_s=0.01)
    store.full = True
    recorder.began(now_s=0.0, interval_s=0.2, session=new_session())
    wait_for(lambda: notes)
    for i in range(25):
        recorder.took(Dropout(t_s=float(i)))
    assert recorder.note_event("note", {"text": "kept"}) is not None
    with pytest.raises(CancelledError):
        recorder.note_event("note", {"text": "no room even for that"}).result(5)
    store.full = False
    wait_for(lambda: len(notes) == 2)
    recorder.took(Dropout(t_s=99.0))
    assert recorder.close()
    found: list[Row] = []
    assert check(tmp_path / "a.job", found.append).state is FileState.GAPS
    lost = [from_body(r.body)["count"] for r in found if r.kind == "lost"]
    kept = sum(r.kind == "dropout" for r in found)
    assert sum(lost) + kept == 25 + 1 + 1  # the second note is lost as well


def test_a_disk_that_stays_full_is_said_at_the_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(writer, "RETRY_S", 0.02)
    notes: list[str] = []
    recorder, store = full_recorder(tmp_path / "a.job", notes)
    store.full = True
    recorder.began(now_s=0.0, interval_s=0.2, session=new_session())
    wait_for(lambda: notes)
    assert recorder.close() is False
    assert "unsealed" in notes[-1]
    assert check(tmp_path / "a.job").state is FileState.OPEN


def test_putting_never_waits_for_the_disk(tmp_path: Path) -> None:
    """The store hangs; everything goes on being taken meanwhile."""
    held = threading.Event()

    class Hung(Store):
        def append(self, drafts) -> list[int]:
            held.wait(60)
            return super().append(drafts)

    from bridge.jobfile.recorder import Recorder

    start(tmp_path / "a.job", job(), complain).close()
    recorder = Recorder(Hung(tmp_path / "a.job"), complain)
    recorder.began(now_s=0.0, interval_s=0.2, session=new_session())
    for i in range(1000):
        recorder.took(Dropout(t_s=float(i)))
    held.set()  # reached only because nothing above waited
    assert recorder.close()


def test_a_job_that_another_program_reads_is_left_unsealed(tmp_path: Path) -> None:
    path = tmp_path / "a.job"
    notes: list[str] = []
    recorder = record(path, seconds=1, close=False, note=notes.append)
    reader = sqlite3.connect(path, isolation_level=None)
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM event").fetchone()
    assert recorder.close() is False
    assert "another program is reading it" in notes[0]
    reader.close()
    assert check(path).state is FileState.OPEN
    assert add_to(path, [])
    assert check(path).state is FileState.INTACT


def test_foreign_files_are_not_written_to(tmp_path: Path) -> None:
    foreign = tmp_path / "letter.txt"
    foreign.write_text("dear reader\n" * 50)
    other = tmp_path / "other.db"
    db = sqlite3.connect(other)
    db.execute("CREATE TABLE t (x)")
    db.close()
    for path in (foreign, other):
        before = path.read_bytes()
        with pytest.raises(JobError, match="is not a job file"):
            start(path, job(), complain)
        assert path.read_bytes() == before


def test_only_one_writes_at_a_time(tmp_path: Path) -> None:
    pytest.importorskip("fcntl")
    path = tmp_path / "a.job"
    first = start(path, job(), complain)
    for _ in range(2):
        with pytest.raises(JobError, match="being recorded by another program"):
            start(path, job(), complain)
    assert first.close()
    assert start(path, job(), complain).close()
    assert check(path).state is FileState.INTACT


def test_own_kinds_and_odd_content_are_refused(tmp_path: Path) -> None:
    recorder = start(tmp_path / "a.job", job(), complain)
    for kind in ("verdict", "end", "mark", "Not A Kind", ""):
        with pytest.raises(ValueError):
            recorder.note_event(kind, {})
    with pytest.raises(ValueError):
        recorder.note_event("volume", {"ml": math.inf})
    recorder.close()


def test_the_marks_in_the_file_are_as_documented(tmp_path: Path) -> None:
    # SQLite's file format (sqlite.org/fileformat2.html): offsets 60 and 68.
    path = tmp_path / "a.job"
    record(path, seconds=1)
    header = path.read_bytes()[:100]
    assert header[60:64] == (2).to_bytes(4, "big")
    assert header[68:72] == b"Sump"


FINDING = Finding(state=FileState.INTACT, events=0, head="")


def test_where_the_figures_come_from_reaches_the_report() -> None:
    """Of the whole sheet, and of each figure that comes from elsewhere."""
    letter = FigureSource(
        of=("level.window", "fluid.service_fill"),
        document="service letter 7",
        page="page 3",
        checked_by="M. L.",
        status=Status.CHECKED,
    )
    sheet = replace(job().sheet, edition="third edition", figures=(letter,))
    content = replace(job(), sheet=sheet).content()
    summary = Summary(path=Path("x"), start=content, finding=FINDING)
    (table,) = car_section.about(summary, Units.METRIC).blocks
    assert isinstance(table, ReportTable)
    rows = dict(table.rows)
    assert rows["Its source"] == f"{sheet.source}, third edition"
    came = "service letter 7, page 3, checked by M. L., checked"
    assert rows["Figure level.window"] == came
    assert rows["Figure fluid.service_fill"] == came
