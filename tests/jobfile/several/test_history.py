"""All jobs of a car in one table, and a shop's year as CSV."""

from __future__ import annotations

import csv
import itertools
import os
import sys
import time
from pathlib import Path

import pytest

from bridge.jobfile.file.chain import RowDraft, to_body
from bridge.jobfile.recorder import add_to
from bridge.jobfile.several.glance import HEAD
from bridge.values.service_events import ServiceEvent, ServiceKind
from tests.jobfile.job_help import record
from tests.jobfile.test_begin import home
from tui.cli.main import main

__all__ = ["home"]
ONE, OTHER = "11111111111111111", "1M8GDM9AXKP042788"


def visit(home: Path, name: str, vin: str, ml: float, km: float) -> None:
    home.mkdir(parents=True, exist_ok=True)
    path = home / f"{name}.job"
    recorder = record(path, seconds=3, close=False)
    body = to_body({"text": vin, "check": "right"})
    recorder._writer.put(RowDraft("vin", 13.0, 1.7e9, body=body))
    assert recorder.close()
    events = [
        ("volume", {"what": "drained", "ml": ml}),
        ("volume", {"what": "drained", "ml": 100.0}),
        ("volume", {"what": "filled", "ml": 3900.0}),
        ("volume", {"what": "added", "ml": 150.0}),
        ("odometer", {"km": km, "text": ""}),
        ("next-due", {"km": km + 60_000.0, "date": "2030-01-31", "text": ""}),
    ]
    assert add_to(path, events)


def test_a_cars_jobs_stand_in_one_table_the_oldest_first(home: Path, capsys) -> None:
    visit(home, "b-first", ONE, 4000.0, 60_000.0)
    visit(home, "a-second", ONE, 4300.0, 120_000.0)
    visit(home, "c-other", OTHER, 3000.0, 5_000.0)
    capsys.readouterr()
    assert main(["job", "history", ONE, "--units", "metric"]) == 0
    out = capsys.readouterr().out
    assert "2 jobs" in out
    assert OTHER not in out
    assert out.index("4.10 L") < out.index("4.40 L")
    assert "2030-01-31 or 120000 km" in out
    assert main(["job", "history"]) == 0
    assert "jobs on 2 different cars" in capsys.readouterr().out
    assert main(["job", "history", "nobody"]) == 2


def test_a_years_jobs_as_csv(home: Path, tmp_path: Path, capsys) -> None:
    visit(home, "a", "=1+1", 4000.0, 60_000.0)
    year = time.strftime("%Y", time.gmtime())
    verb = ["job", "history", "--csv", "year.csv", "--year"]
    assert main([*verb, "1999"]) == 2
    assert not Path("year.csv").exists()
    assert main([*verb, year]) == 0
    with Path("year.csv").open(newline="") as file:
        (row,) = csv.DictReader(file)
    assert (row["vehicle"], row["due_km"]) == ("'=1+1", "120000.0")
    assert (row["out_ml"], row["in_ml"]) == ("4100.0", "4050.0")
    assert row["record"] == "intact"
    assert main([*verb, year]) == 2
    assert "--force" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        ("kx204", 0),
        ("KX-2 04", 0),
        ("a. person", 0),
        ("cloudy", 0),
        ("60100", 0),
        ("scar eight", 0),
        (time.strftime("%Y-%m", time.gmtime()), 0),
        (ONE, 0),
        ("kx20", 2),
        ("nowhere", 2),
    ],
)
@pytest.mark.few(4)
def test_a_job_is_found_by_what_was_told_in_it(home, capsys, wanted, found) -> None:
    visit(home, "a", ONE, 4000.0, 60_100.0)
    told = [
        ServiceEvent(kind=ServiceKind.PARTICULAR, name="plate", text="KX-204"),
        ServiceEvent(kind=ServiceKind.PARTICULAR, name="customer", text="A. Person"),
        ServiceEvent(kind=ServiceKind.NOTE, text="cloudy at the filler"),
    ]
    assert add_to(home / "a.job", told)
    capsys.readouterr()
    assert main(["job", "find", wanted]) == found


def test_what_cannot_be_looked_through_is_said_and_the_rest_is_found(
    home: Path, capsys
) -> None:
    visit(home, "a", ONE, 4000.0, 60_000.0)
    (home / "b.job").write_bytes(b"no job")
    os.mkfifo(home / "c.job")
    for verb in ("find", "history"):
        capsys.readouterr()
        assert main(["job", verb, ONE]) == 0
        out, err = capsys.readouterr()
        assert "4.10 L" in out or "  a\n" in out
        assert len(err.splitlines()) == 2


def test_the_list_has_car_odometer_level_and_sheet_in_columns(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    visit(home, "a-first", ONE, 4000.0, 60_000.0)
    record(home / "b-second.job", seconds=3)
    told = ServiceEvent(kind=ServiceKind.PARTICULAR, name="plate", text="AB 123")
    gone = ServiceEvent(kind=ServiceKind.ODOMETER, km=61_000.0)
    judged = ("judgement", {"outcome": "good"})
    assert add_to(home / "b-second.job", [told, gone, judged])
    (home / "c-none.job").write_text("no job")
    capsys.readouterr()
    assert main(["job", "list"]) == 0
    head, first, second, none = capsys.readouterr().out.splitlines()
    starts = [head.index(name) for name in HEAD]
    cells = [
        [line[a:b].strip() for a, b in itertools.pairwise([*starts, None])]
        for line in (first, second)
    ]
    assert [row[1] for row in cells] == ["--", "AB 123"]
    assert [row[2] for row in cells] == ["60000 km", "61000 km"]
    assert cells[0][3].startswith("not judged")
    assert cells[1][3].startswith("good")
    assert [row[5] for row in cells] == ["a-first", "b-second"]
    assert "c-none: " in none


def test_a_job_is_shown_in_short_and_a_long_text_by_the_page(
    home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    visit(home, "a-first", ONE, 4000.0, 60_000.0)
    capsys.readouterr()
    assert main(["job", "show", "a-first"]) == 0
    short = capsys.readouterr().out
    assert main(["job", "show", "--full", "a-first"]) == 0
    full = capsys.readouterr().out
    assert "VERDICTS" in full
    assert "VERDICTS" not in short
    assert len(short.splitlines()) < 40 < len(full.splitlines())
    paged: list[str] = []
    monkeypatch.setattr("pydoc.pager", paged.append)
    for stream in (sys.stdin, sys.stdout):
        monkeypatch.setattr(stream, "isatty", lambda: True, raising=False)
    assert main(["job", "show", "--full", "a-first"]) == 0
    assert paged == [full]
