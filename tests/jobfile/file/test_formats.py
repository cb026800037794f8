"""Job files as older versions wrote them are read whole: golden files, kept for ever.

`tests/data/jobs/format-1-*.job` were recorded by the last version that wrote format 1:
one service with a level step to its end, and one that was killed with the plug out and
continued. What the tests expect was written down when they were recorded.
"""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from bridge.jobfile.differences import Change, by_other_rules, differences
from bridge.jobfile.file.check import FileState, check
from bridge.jobfile.file.reader import reading, rows
from bridge.jobfile.recorder import add_to
from bridge.jobfile.report.summary import tell
from bridge.jobfile.rerun import rerun
from bridge.jobfile.rows import draft_of, event_of
from bridge.jobfile.service_log import service_in
from bridge.service.log import last, of
from bridge.service.sums import balance_of
from bridge.session.rules import RULES
from bridge.sheets import parse_sheet
from bridge.values.events import Mark, Marked, Tilted
from bridge.values.service_events import CarFacts, ServiceEvent, ServiceKind
from bridge.values.service_sheet import StepKind, Tick
from bridge.values.sheet import Sheet, Window

JOBS = Path(__file__).parents[2] / "data" / "jobs"
WHOLE, CUT = JOBS / "format-1-whole.job", JOBS / "format-1-cut.job"


def events_in(path: Path) -> list[object]:
    with reading(path) as db:
        found = [event_of(row) for row in rows(db)]
    return [e for e in found if e is not None]


def marks_in(path: Path) -> list[Marked]:
    return [e for e in events_in(path) if isinstance(e, Marked)]


def test_a_closed_job_of_format_1_is_intact_and_whole() -> None:
    assert check(WHOLE).state is FileState.INTACT
    told = service_in(WHOLE)
    assert len(told) == 18
    assert [e.kind for e in told if e.back is not None] == [ServiceKind.TAKEN_BACK] * 2
    out = of(told, ServiceKind.OUT)
    assert [(e.name, e.ml, e.temp_c, e.who) for e in out] == [
        ("pan", 4800.0, 35.0, "Kim")
    ]
    assert last(told, ServiceKind.CAR, StepKind.AFTER) is not None
    after = last(told, ServiceKind.CAR, StepKind.AFTER)
    assert after is not None
    assert after.car == CarFacts(
        stored=("P0711",), lamp=True, voltage_v=13.9, engine_rpm=750.0
    )
    ticks = of(told, ServiceKind.TICKED)
    assert [(e.name, e.tick) for e in ticks] == [("filler plug", Tick.RENEWED)]
    assert last(told, ServiceKind.COMPLETE) is not None


def test_its_marks_and_readings_are_read() -> None:
    events, marks = events_in(WHOLE), marks_in(WHOLE)
    assert len(events) == 831 + len(service_in(WHOLE))
    assert [m.confirms.value for m in marks if m.confirms] == [
        "cautions",
        "car-level",
        "selector-exercised",
        "selector-position",
        "engine",
        "standing",
    ]
    assert [m.ml for m in marks if m.mark is Mark.ADDED] == [500.0, 250.0, 999.0]
    assert [m.mark for m in marks].count(Mark.DRIP) == 5
    tilts = [e for e in events if isinstance(e, Tilted)]
    assert [(t.lengthways_deg, t.across_deg) for t in tilts] == [(0.1, -0.1)]


def test_what_the_level_step_added_is_in_its_balance_now() -> None:
    summary = tell(WHOLE)
    sheet = parse_sheet(summary.sheet["text"], "golden")
    done, before = balance_of(sheet, summary.log), balance_of(sheet, summary.told)
    assert not isinstance(done, str)
    assert not isinstance(before, str)
    # 0.5 and 0.25 L added, 999 mL taken back: a sum by hand; they swell a little
    assert done.put_in.ml - before.put_in.ml == pytest.approx(750.0, rel=0.01)


def test_a_cut_job_of_format_1_is_read_and_replayed_through_both_watches() -> None:
    assert check(CUT).state is FileState.OPEN
    assert [m.mark for m in marks_in(CUT)].count(Mark.DRIP) == 3
    again = rerun(CUT, parse_sheet)
    assert (again.watches, again.events, again.looks) == (2, 518, 434)


@pytest.mark.parametrize("path", [WHOLE, CUT])
def test_its_events_written_anew_are_the_same_events(path: Path) -> None:
    from bridge.jobfile.file.chain import Row

    for event in events_in(path):
        again = event_of(Row(1, *draft_of(event, 0.0), b""))
        assert again == event


def test_a_job_of_format_1_goes_on_in_this_one(tmp_path: Path) -> None:
    path = tmp_path / "a.job"
    shutil.copy(WHOLE, path)
    added = ServiceEvent(kind=ServiceKind.OUT, name="later", ml=100.0)
    draft = draft_of(added, 0.0)
    from bridge.jobfile.file.chain import from_body

    assert add_to(path, [(draft.kind, from_body(draft.body))])
    assert check(path).state is FileState.INTACT
    assert path.read_bytes()[60:64] == (2).to_bytes(4, "big")
    told = service_in(path)
    assert told[:-1] == service_in(WHOLE)
    assert told[-1] == added


@pytest.mark.slow
def test_what_older_rules_decided_is_told_apart_from_differences() -> None:
    def stricter(text: str, name: str) -> Sheet:
        """Stands for rules of a later version: they say GO elsewhere."""
        sheet = parse_sheet(text, name)
        low_c = (sheet.window.low_c + sheet.window.high_c) / 2
        return replace(sheet, window=Window(low_c=low_c, high_c=sheet.window.high_c))

    again = rerun(WHOLE, stricter)
    assert again.differences == []
    assert again.by_other_rules
    assert "decided otherwise by the rules of another version" in again.sentence
    first = again.by_other_rules[0]
    assert ": decided by version 1: " in first
    assert f"; version {RULES} would have " in first


def a_change(t_s: float, phase: str, temp_c: float = 40.0) -> Change:
    return Change(t_s=t_s, kind="step", content={"phase": phase, "temp_c": temp_c})


def test_one_decision_more_does_not_make_the_rest_differ() -> None:
    then = [a_change(1.0, "wait"), a_change(5.0, "go"), a_change(9.0, "judged")]
    now = [then[0], a_change(3.0, "get-ready"), *then[1:]]
    assert len(differences(then, now)) == 1
    (told,) = by_other_rules(then, now, 1)
    assert "nothing new" in told
    assert "get-ready" in told
    figures = [*then[:2], a_change(9.0, "judged", 41.0)]
    assert len(differences(then, figures)) == 1
    assert by_other_rules(then, figures, 1) == []  # the decision is the same


NEW = JOBS / "format-2-whole.job"


def test_a_job_of_format_2_is_intact_and_whole() -> None:
    """Recorded by the first version of format 2; it must be read for ever as well."""
    assert check(NEW).state is FileState.INTACT
    told = service_in(NEW)
    assert [(e.kind.value, e.name, e.ml, e.back) for e in told] == [
        ("variant", "A", None, None),
        ("out", "pan", 4000.0, None),
        ("out", "wrong", 9000.0, None),
        ("taken-back", "", None, 2),
        ("ticked", "filler plug", None, None),
        ("torque", "filler plug", None, None),
        ("skipped", "", None, None),
        ("car", "", None, None),
        ("odometer", "", None, None),
        ("in", "", 3500.0, None),
        ("ran-off", "", 120.0, None),
        ("complete", "", None, None),
    ]
    assert told[1].who == "Kim"
    assert told[5].torque_nm == 30.0
    assert told[6].text == "none fitted"
    assert told[7].car == CarFacts(stored=("P0711",), lamp=True, voltage_v=12.4)
    added = [e.ml for e in of(tell(NEW).log, ServiceKind.ADDED)]
    assert added == [500.0]
    marks = [m.mark for m in marks_in(NEW)]
    assert marks[-4:] == [Mark.DRIP, Mark.DRIP, Mark.DRIP, Mark.CLOSED]
