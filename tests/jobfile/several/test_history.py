"""All jobs of a car in one table, and a shop's year as CSV."""

from __future__ import annotations

import csv
import time
from pathlib import Path

from bridge.jobfile.file.chain import RowDraft, to_body
from bridge.jobfile.recorder import add_to
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
    assert (row["vehicle"], row["out_ml"], row["due_km"]) == (
        "'=1+1",
        "4100.0",
        "120000.0",
    )
    assert row["record"] == "intact"
    assert main([*verb, year]) == 2
    assert "--force" in capsys.readouterr().err
