"""A whole service by typed lines alone: without a car, and on the simulated one."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from bridge.jobfile.service_log import service_in
from bridge.service.log import of
from bridge.sheets import load
from bridge.values.service_events import ServiceKind
from tui.inputs.service_lines import words_of

SHEET = "scar-eight-speed"
Row = dict[str, Any]


class Typist:
    """A program in another process, its rows and its typed lines."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self._process = process
        self.rows: list[Row] = []

    def type(self, line: str) -> None:
        assert self._process.stdin is not None
        self._process.stdin.write(f"{line}\n")
        self._process.stdin.flush()

    def next(self) -> Row:
        assert self._process.stdout is not None
        line = self._process.stdout.readline()
        assert line, f"the program has ended: {self.rows[-1:]}"
        self.rows.append(json.loads(line))
        return self.rows[-1]

    def row(self, line: str) -> Row:
        """Type a line and return the row that follows it, where each line has one."""
        self.type(line)
        return self.next()

    def until(self, wanted: Any, most: int = 60_000) -> Row:
        """Return the first row that is as wanted."""
        for _ in range(most):
            if wanted(row := self.next()):
                return row
        raise AssertionError("it never came to pass")

    def error_line(self) -> str:
        """Return the next line of standard error."""
        assert self._process.stderr is not None
        return self._process.stderr.readline()

    def ended(self) -> tuple[int, str]:
        _, said = self._process.communicate(timeout=30)
        return self._process.returncode, said


@contextmanager
def typing(folder: Path, *args: str) -> Iterator[Typist]:
    home = {"HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME"}
    with subprocess.Popen(
        [sys.executable, "-m", "tui", *args],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, **dict.fromkeys(home, str(folder))},
    ) as process:
        try:
            yield Typist(process)
        finally:
            process.kill()


def words(kind: str) -> list[str]:
    return [word for is_kind, word in words_of(load(SHEET)) if is_kind == kind]


def work_lines() -> list[str]:
    """Return all the work but the level, in the words the sheet lists."""
    steps = [s for s in words("STEP") if s not in ("cautions", "exercise", "level")]
    return [
        f"variant {words('NAME')[0]}",
        "odometer 123,456 km",
        "saw old-fluid dark",
        f"out {words('PLACE')[0]} 5.5 L at 20 C",
        "in 5.5 L at 20 °C",
        *(f"tick {item}" for item in words("ITEM") if item != "severe use"),
        "torque drain plug 28 N*m",
        *(f"done {step}" for step in steps),
    ]


def test_a_whole_service_without_a_car(tmp_path: Path) -> None:
    job = tmp_path / "a.job"
    args = ("service", "--profile", SHEET, "--json", "--record", str(job))
    with typing(tmp_path, *args) as typist:
        for line in ("confirm cautions", "confirm selector-exercised", *work_lines()):
            row = typist.row(line)
        service = row["service"]
        assert service["steps"].pop("level") == "open"
        assert set(service["steps"].values()) == {"done"}
        assert service["open"] == ["level", "step:level"]  # no car told a temperature
        assert not service["complete"]
        before = service["net_ml"]
        service = typist.row("added 0.5 L")["service"]
        assert service["added_ml"] == pytest.approx(500.0)
        assert service["net_ml"] - before == pytest.approx(500.0, abs=15.0)
        service = typist.row("undo")["service"]
        assert (service["added_ml"], service["net_ml"]) == (0.0, before)
        typist.row("close")
        code, said = typist.ended()
    assert (code, said) == (0, "")
    kept = service_in(job)
    assert [e.ml for e in of(kept, ServiceKind.OUT)] == [5500.0]
    assert [e.torque_nm for e in of(kept, ServiceKind.TORQUE)] == [28.0]
    assert "No level was judged" in of(kept, ServiceKind.COMPLETE)[0].text


WRONG = {
    "out 4800": "has no unit",
    "out pan 1,000 mL": "can be 1 or 1000",
    "in 39 L": "is that right",
    "tick nothing at all": "names no item",
    "done everything": "names no step",
    "skip recheck": "Say why",
    "saw old-fluid blue": "names no thing",
    "variant nine speed": "names no gearbox",
    "torque drain plug 120 N*m": "is that right",
    "odometer 123456": "has no unit",
    "untick drain plug renewed": "is not ticked off",
    "drip": "means nothing while",
    "undo": "Nothing to undo",
    "note": "is empty",
    "level": "begins with none of the words",
}


@pytest.mark.slow
def test_a_wrong_line_changes_nothing_and_says_why(tmp_path: Path) -> None:
    job = tmp_path / "a.job"
    args = ("service", "--profile", SHEET, "--json", "--record", str(job))
    with typing(tmp_path, *args) as typist:
        first = typist.row("nonsense")["service"]
        for line in WRONG:
            assert typist.row(line)["service"] == first, line
        code, said = typist.ended()
    assert code == 0
    sentences = said.splitlines()[1:]
    assert len(sentences) == len(WRONG)
    for sentence, words_in_it in zip(sentences, WRONG.values(), strict=True):
        assert words_in_it in sentence
    assert service_in(job) == ()


@pytest.mark.slow
def test_an_amount_out_of_proportion_is_taken_when_it_is_typed_again(
    tmp_path: Path,
) -> None:
    with typing(
        tmp_path, "service", "--profile", SHEET, "--json", "--no-record"
    ) as typist:
        assert typist.row("in 39 L at 20 C")["service"]["in_ml"] == 0.0
        service = typist.row("in 39 L at 20 C")["service"]
    assert service["in_ml"] == pytest.approx(39_000.0)
    assert "balance-high" in service["against"]
    assert "balance-over-total" in service["against"]


@pytest.mark.slow
def test_bytes_that_are_no_text_are_one_wrong_line(tmp_path: Path) -> None:
    told = subprocess.run(
        [sys.executable, "-m", "tui", "service", "--profile", SHEET]
        + ["--json", "--no-record"],
        input=b"note \xff\xfe\n\x00\x1b[2J\n" + b"x" * 100_000 + b"\nin 3 L\n",
        capture_output=True,
        check=True,
        env={**os.environ, "HOME": str(tmp_path)},
    )
    rows = [json.loads(line) for line in told.stdout.splitlines()]
    assert rows[-1]["service"]["in_ml"] > 0.0
    assert b"\x1b" not in told.stderr
    assert len(told.stderr) < 2000


def test_lines_lists_the_words_of_the_sheet(tmp_path: Path) -> None:
    told = subprocess.run(
        [sys.executable, "-m", "tui", "service", "--profile", SHEET, "--lines"],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "HOME": str(tmp_path)},
    )
    listed = [tuple(line.split(maxsplit=1)) for line in told.stdout.splitlines()]
    assert listed == [(kind, " ".join(w.split())) for kind, w in words_of(load(SHEET))]


@pytest.mark.slow
def test_a_whole_service_on_the_simulated_car(tmp_path: Path) -> None:
    job = tmp_path / "b.job"
    args = ("--profile", SHEET, "--json", "--speed", "60", "--for", "1500")
    with typing(tmp_path, "demo", *args, "--record", str(job)) as typist:
        for what in {"cautions", *load(SHEET).confirm}:
            typist.type(f"confirm {what}")
        for line in work_lines():
            typist.type(line)
        typist.until(lambda row: row["verdict"] == "GO")
        typist.type("opened")
        typist.until(lambda row: row["step"]["phase"] == "running-down")
        row = typist.row("drip")
        while row["step"]["phase"] not in ("settled", "close"):
            # drops come slower and slower, as they do from an opening that empties
            gap_s = 2.0 + 1.5 * row["step"]["marks"]
            due_s = row["t_s"] + gap_s
            typist.until(lambda row, due_s=due_s: row["t_s"] >= due_s)
            row = typist.row("drip")
        typist.type("closed")
        judged = typist.until(lambda row: row["step"]["judgement"])
        assert judged["step"]["judgement"]["outcome"] == "good"
        assert judged["service"]["steps"]["level"] == "done"
        typist.type("confirm selector-exercised")
        service = typist.until(lambda row: not row["service"]["open"])["service"]
        # This bench's engine idles all the while: where a row falls between draining
        # and filling, it rightly says that the gearbox ran dry.
        assert set(service["against"]) <= {"ran-dry"}
        assert service["complete"] == (not service["against"])
        assert service["net_ml"] == pytest.approx(0.0, abs=service["net_u_ml"])
        typist.type("close")
        typist.type("close")
        typist.until(lambda row: row["t_s"] > judged["t_s"] + 60.0)
    assert len(of(service_in(job), ServiceKind.COMPLETE)) == 1


def test_the_simulated_engine_is_stopped_and_started_by_lines(tmp_path: Path) -> None:
    """A static fill wants it off; without a screen nothing else switches it."""
    sheet = "tests/data/sheets/ways/tor-static-then-warm.toml"
    args = ("demo", "--json", "--profile", sheet, "--speed", "50")
    with typing(tmp_path, *args) as typist:
        typist.until(lambda row: (row["engine_rpm"] or 0.0) > 0.0)
        for line in ("confirm cautions", "confirm car-level", "engine off"):
            typist.type(line)
        row = typist.until(lambda row: row["verdict"] == "GO")
        assert row["engine_rpm"] == 0.0
        typist.type("engine on")
        row = typist.until(lambda row: row["verdict"] == "NO-GO")
        assert row["reasons"] == ["engine-running"]
