"""Jobs made to do harm, with hashes and seal in order: refused, in one sentence."""

from __future__ import annotations

import csv
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from bridge.jobfile.export import to_csv
from bridge.jobfile.file.chain import NO_HASH, RowDraft, link, loaded, to_body
from bridge.jobfile.file.check import FileState, check
from bridge.jobfile.file.digest import PLACEHOLDER, seal
from bridge.jobfile.file.reader import reading, rows
from bridge.jobfile.file.store import JobError, Store
from bridge.jobfile.report.compose import compose
from bridge.jobfile.report.report_text import as_text
from bridge.jobfile.report.summary import tell
from bridge.jobfile.several.glance import glance, in_columns
from bridge.units import Units
from tests.jobfile.job_help import change, record
from tui.cli.main import main


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    record(Path("a.job"), seconds=5)
    return Path("a.job")


def forge(path: Path, seq: int, **columns: Any) -> None:
    """Change an event, and make every hash and the seal anew."""
    with reading(path) as db:
        found = list(rows(db))
    change(path, "DELETE FROM event", "DELETE FROM seal")
    db = sqlite3.connect(path)
    before = NO_HASH
    for row in found:
        draft = RowDraft._make(row[1:8])
        draft = draft._replace(**columns) if row.seq == seq else draft
        before = link(before, row.seq, draft)
        put = "INSERT INTO event VALUES (?,?,?,?,?,?,?,?,?)"
        db.execute(put, (row.seq, *draft, before))
    db.execute("INSERT INTO seal VALUES (?)", (PLACEHOLDER,))
    db.commit()
    db.close()
    change(path, "VACUUM")  # the placeholder must be there once
    assert seal(path)


ODD = [
    {"t_s": 1e308},
    {"t_s": float("inf")},
    {"utc_s": 1e308},
    {"utc_s": -1.0},
    {"value": float("inf")},
    {"value": -1e300},
    {"kind": "=1+1"},
    {"kind": "<script>"},
    {"kind": ""},
    {"role": "@SUM(1)"},
    {"raw": bytes(100_000)},
    {"body": '{"ml":' + "9" * 400 + "}"},
    {"body": '{"ml":' + "9" * 6_000 + "}"},
    {"body": '{"a":' + "[" * 100_000 + "]" * 100_000 + "}"},
    {"body": '{"a":' * 40 + "1" + "}" * 40},
    {"body": '{"ml":NaN}'},
    {"body": '{"ml":1e999}'},
    {"body": '{"text":"\xe4"}'},
    {"body": "[1]"},
    {"body": "no JSON"},
]


@pytest.mark.parametrize("columns", ODD, ids=lambda c: str(c)[:40])
@pytest.mark.few(4)
def test_what_this_tool_never_writes_ends_the_record_there(
    job: Path, columns: dict[str, Any], capsys: pytest.CaptureFixture[str]
) -> None:
    forge(job, 9, **columns)
    found = check(job)
    assert found.state is FileState.CHANGED
    assert found.events == 8
    for verb in ("job show", "report --pdf --force", "export --force"):
        assert main([*verb.split(), "a.job"]) == 0  # they say so, in the report
    assert "changed at event 9" in capsys.readouterr().out
    assert main(["replay", "a.job"]) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "not replayed" in said


def test_the_forging_itself_is_sound(job: Path) -> None:
    forge(job, 9, kind="note", body=to_body({"text": "x"}), t_s=12.5, role="")
    assert check(job).state is FileState.INTACT


@pytest.mark.parametrize(
    "body",
    [
        {"outcome": ["good"], "opened": [], "added_ml": {}},
        {"outcome": {"a": 1}},
        {"verdict": ["GO"], "reasons": "GO", "conditions": []},
        {"phase": [1], "at": 5, "what": ["drained"], "ml": [1], "text": {"a": 1}},
    ],
    ids=str,
)
@pytest.mark.parametrize(
    "kind", ["judgement", "verdict", "step", "volume", "watch", "lost", "looks"]
)
@pytest.mark.few(4)
def test_lists_for_words_are_one_sentence_everywhere(
    job: Path, kind: str, body: dict[str, Any], capsys: pytest.CaptureFixture[str]
) -> None:
    forge(job, 9, kind=kind, body=to_body(body), t_s=12.5, role="", value=None)
    assert check(job).state in (FileState.INTACT, FileState.GAPS)  # by its hashes it is
    for verb in ("job show", "report --pdf --force", "export --force"):
        assert main([*verb.split(), "a.job"]) == 0
    assert main(["replay", "a.job"]) in (0, 2)
    assert capsys.readouterr().err.count("\n") <= 1


def test_a_part_that_makes_no_sense_says_so(job: Path, monkeypatch) -> None:
    def broken(*_: object) -> None:
        raise TypeError("unhashable type: 'list'")

    monkeypatch.setattr("bridge.jobfile.report.level_section.level", broken)
    told = as_text(compose(tell(job), Units.METRIC))
    assert "holds something there that sumpgate does not write" in told
    assert "The record is intact" in told


@pytest.mark.parametrize(
    "statement",
    [
        (
            "CREATE TRIGGER t AFTER INSERT ON event BEGIN DELETE FROM event WHERE "
            "kind = 'note'; END"
        ),
        "CREATE VIEW v AS SELECT * FROM event",
        "CREATE INDEX i ON event (kind)",
        "ALTER TABLE event ADD COLUMN more TEXT",
        "ANALYZE",
        (
            "DROP TABLE seal; CREATE VIEW seal AS WITH RECURSIVE c(x) AS (SELECT 1 "
            "UNION ALL SELECT x + 1 FROM c) SELECT zeroblob(1000000) AS digest FROM c"
        ),
    ],
    ids=lambda s: s[:30],
)
@pytest.mark.few(2)
def test_the_tables_are_exactly_ours(
    job: Path, statement: str, capsys: pytest.CaptureFixture[str]
) -> None:
    db = sqlite3.connect(job)
    db.executescript(statement)
    db.close()
    for verb in ("job check", "job show", "job add --note x", "report", "replay"):
        assert main([*verb.split(), "a.job"]) == 2
        assert "not made like one" in capsys.readouterr().err


def test_what_was_written_is_counted(job: Path) -> None:
    store = Store(job)
    store._db.execute(
        "CREATE TEMP TRIGGER t AFTER INSERT ON event WHEN new.kind = 'note' BEGIN "
        "DELETE FROM event WHERE seq = new.seq; END"
    )
    with pytest.raises(sqlite3.DatabaseError, match="of 1 events written 0 are in"):
        store.append([RowDraft("note", None, 1.0, body=to_body({"text": "x"}))])
    store.close()


def test_a_value_beyond_all_size_is_not_brought_into_memory(job: Path) -> None:
    change(job, "UPDATE event SET body = zeroblob(30000000) WHERE seq = 9")
    found = check(job)
    assert found.state is FileState.CHANGED
    assert found.events in (7, 8)  # the sqlite3 module reads one event ahead
    with pytest.raises(ValueError, match="too much for one event"):
        to_body({"text": "x" * 3_000_000})


def test_no_cell_is_taken_for_a_formula(job: Path) -> None:
    """OWASP, "CSV Injection": cells that begin with = + - @, tab or return."""
    forge(job, 9, kind="link", body=to_body({"state": "=1+1", "detail": ""}))
    forge(job, 10, kind="verdict", body=to_body({"verdict": "@SUM(1)"}))
    with Path("r.csv").open("w", newline="") as one, Path("e.csv").open("w") as two:
        to_csv(job, one, two)
    with Path("r.csv").open(newline="") as file:
        cells = {cell for line in csv.reader(file) for cell in line}
    assert {"'=1+1", "'@SUM(1)"} <= cells
    assert not any(cell.startswith(("=", "@", "+")) for cell in cells)


def listed(job: Path) -> list[str]:
    return in_columns([glance(job)], Units.METRIC)


def test_the_list_shows_no_order_to_the_terminal(job: Path) -> None:
    told = {"sheet": {"name": "\x1b[2Jname\n"}, "simulated": []}
    forge(job, 1, body=to_body(told), utc_s=1e308)
    assert all(line.isprintable() for line in listed(job))
    forge(job, 1, body=to_body({"sheet": []}))
    assert "--" in listed(job)[1]


def test_many_large_events_are_told_of_by_their_number(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bridge.jobfile.report.summary.MOST_HELD", 100)
    summary = tell(job)
    assert summary.left_out > 0
    assert "too many or too large" in as_text(compose(summary, Units.METRIC))


def test_content_reads_back_and_nothing_else_does() -> None:
    for content in ({}, {"a": [1, 2.5, None, True, "ä\ud800"]}, {"n": 10**17}):
        assert loaded(to_body(content)) == content
    for content in ({"n": 10**18}, {"n": 10**400}):
        assert loaded(to_body(content)) is None


def test_check_says_what_it_does_not_show(job: Path, capsys) -> None:
    assert main(["job", "check", "a.job"]) == 0
    out = capsys.readouterr().out
    assert check(job).head in out
    assert "does not show that nobody wrote the whole file anew" in out


def test_an_unknown_schema_is_an_error_of_its_own(job: Path) -> None:
    change(job, "CREATE TABLE more (x)")
    with pytest.raises(JobError, match="put beside them"):
        tell(job)
