"""Jobs from the command line: recorded, checked, reported, exported, replayed."""

from __future__ import annotations

import csv
import json
import re
import shutil
import sqlite3
from html.parser import HTMLParser
from pathlib import Path

import pytest

from bridge.jobfile.file.check import FileState, check
from bridge.jobfile.job_folder import job_files
from tests.jobfile.job_help import change, record
from tests.show.parts.evidence.job import whole_job
from tests.simulators.served import Served
from tui.cli.main import main


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A whole service on the bench, level step and all."""
    path = tmp_path_factory.mktemp("whole") / "whole.job"
    whole_job(path, for_s=840.0)
    return path


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in ("XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    return tmp_path / "home" / "sumpgate" / "jobs"


def demo(*flags: str) -> int:
    return main(["demo", "--json", "--speed", "1000", "--for", "25", *flags])


def test_a_demo_records_only_when_asked(home: Path, capfd) -> None:
    assert demo("--for", "3") == 0
    assert not home.exists()
    assert demo("--record", "--for", "9") == 0
    (path,) = job_files(home)
    assert check(path).state is FileState.INTACT
    assert main(["job", "show", "--full", "last"]) == 0
    shown = capfd.readouterr().out
    assert re.search(r"Adapter +ELM327", shown)
    assert re.search(r"Protocol +A?6", shown)
    assert main(["job", "list"]) == 0
    listed = capfd.readouterr().out
    assert "not judged, simulated  " in listed  # and closed


@pytest.mark.slow
def test_a_recorded_demo_replays_to_the_same_lines(
    home: Path, tmp_path: Path, capsys
) -> None:
    """Every line of --json comes out of the job file again, to the digit."""
    long_enough = ("--scene", "warm-day", "--for", "75")  # to know if it stays, for GO
    assert demo("--record", "a.job", *long_enough) == 0
    lived = [json.loads(s) for s in capsys.readouterr().out.splitlines()]
    assert all(row["utc"] is not None for row in lived)
    lived = [{**row, "utc": None} for row in lived]  # of a replay nobody asks
    assert main(["replay", "a.job", "--json"]) == 0
    printed = capsys.readouterr()
    replayed = [json.loads(s) for s in printed.out.splitlines()]
    assert replayed == lived
    assert any(x["verdict"] == "GO" for x in lived)
    assert "decisions changed at the same times" in printed.err


def test_faults_are_recorded_and_replayed(home: Path, tmp_path: Path, capsys) -> None:
    faults = tmp_path / "faults.toml"
    faults.write_text(
        '[[fault]]\nat = "6 s"\nname = "silent"\nfor = "4 s"\n'
        '[[fault]]\nat = "14 s"\nname = "unplugged"\nfor = "3 s"\n'
    )
    flags = ["--record", "a.job", "--faults", str(faults), "--scene", "warm-day"]
    assert demo(*flags) == 0
    capsys.readouterr()
    assert main(["replay", "a.job"]) == 0
    out = capsys.readouterr().out
    assert "link-lost" in out
    assert "difference" not in out
    assert main(["job", "show", "--full", "a.job"]) == 0
    assert "gaps without a reading" in capsys.readouterr().out


@pytest.mark.slow
def test_live_records_unless_told_not_to(home: Path, capsys) -> None:
    with Served(tcp="127.0.0.1:0") as bench:
        port = f"socket://{bench.where('tcp').removeprefix('socket://')}"
        flags = ["live", "--port", port, "--profile", "scar-eight-speed", "--json"]
        assert main([*flags, "--for", "2", "--no-record"]) == 0
        assert job_files(home) == []
        assert main([*flags, "--for", "2"]) == 0
    (path,) = job_files(home)
    assert check(path).state is FileState.INTACT
    told = capsys.readouterr()
    assert told.err == ""


def test_a_job_goes_on_in_the_same_file(home: Path, capsys) -> None:
    assert demo("--record", "a.job", "--for", "6") == 0
    first = check(Path("a.job")).events
    assert demo("--record", "a.job", "--for", "6") == 0
    found = check(Path("a.job"))
    assert found.state is FileState.INTACT
    assert found.events > first
    capsys.readouterr()
    assert main(["replay", "a.job"]) == 0
    assert "2 watches" in capsys.readouterr().out


@pytest.mark.parametrize(
    "arguments",
    [
        ["demo", "--json", "--for", "1", "--record", "no/such/folder/a.job"],
        ["demo", "--json", "--for", "1", "--record", "letter.txt"],
        ["report", "nothing-like-it"],
        ["report", "letter.txt"],
        ["report", "whole.job", "--out", "x.pdf"],
        ["report", "whole.job", "--out", "no/folder/x.html"],
        ["export", "whole.job", "--out", "no-folder"],
        ["job", "check", "letter.txt"],
        ["job", "show", ""],
        ["job", "delete", "whole.job"],
        ["job", "compare", "whole.job", "whole.job"],
        ["job", "add", "whole.job"],
        ["job", "add", "whole.job", "--odometer", "far"],
        ["job", "add", "whole.job", "--drained", "0 L"],
        ["job", "add", "whole.job", "--photo", "absent.jpg"],
        ["replay", "whole.job", "--profile", "scar-eight-speed"],
        ["replay", "letter.txt"],
    ],
)
@pytest.mark.few(6)
def test_bad_input_gets_one_sentence(
    home: Path, tmp_path: Path, capsys, arguments: list[str]
) -> None:
    (tmp_path / "letter.txt").write_text("dear reader\n" * 20)
    record(tmp_path / "whole.job", seconds=3.0)
    assert main(arguments) == 2
    told = capsys.readouterr()
    assert told.err.startswith("sumpgate: ")
    assert told.err.count("\n") == 1
    assert len(told.err) > 40
    assert check(tmp_path / "whole.job").state is FileState.INTACT


class _Page(HTMLParser):
    """Gathers what a page is made of, and complains of a tag closed wrongly."""

    VOID = ("meta", "rect", "polyline")

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self._open: list[str] = []

    def handle_starttag(self, tag, attrs) -> None:
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in self.VOID:
            self._open.append(tag)

    def handle_endtag(self, tag) -> None:
        if tag not in self.VOID:
            assert self._open.pop() == tag

    def close(self) -> None:
        super().close()
        assert self._open == []


@pytest.mark.slow
def test_the_report_is_one_page_with_nothing_active(
    home: Path, whole: Path, capsys
) -> None:
    assert main(["report", str(whole), "--pdf", "--paper", "letter"]) == 0
    out = capsys.readouterr().out
    assert "the record is intact" in out
    text = Path("whole.html").read_text("utf-8")
    page = _Page()
    page.feed(text)
    page.close()
    assert not {"script", "link", "img", "iframe", "object"} & set(page.tags)
    names = {name for name, _ in page.attributes}
    assert not {"src", "href", "onclick", "onload"} & names
    assert "url(" not in text
    assert "@import" not in text
    assert dict(page.attributes)["lang"] == "en"
    assert page.tags.count("table") == page.tags.count("caption")
    assert text.index("Set inside the window") < text.index("<svg")
    for word in ("opened", "settled", "closed", "SIMULATED", "5.15 L", "28.0 N·m"):
        assert word in text
    pdf = Path("whole.pdf").read_bytes()
    assert pdf.startswith(b"%PDF-1.")


@pytest.mark.slow
def test_us_units_leave_no_metric_ones(home: Path, whole: Path, capsys) -> None:
    assert main(["job", "show", "--full", str(whole), "--units", "us"]) == 0
    out = capsys.readouterr().out
    for unit in ("°F", "qt", "lbf·ft", " mi"):
        assert unit in out
    for unit in ("°C", " mL", " km\n", "N·m"):
        assert unit not in out
    assert "22.0" not in out  # drained at 22.0 °C = 71.6 °F
    assert "71.6 °F" in out


@pytest.mark.slow
def test_every_temperature_in_the_report_is_in_the_file(
    home: Path, whole: Path, capsys
) -> None:
    """Lowest and highest reading are looked up by SQL, beside our own reader."""
    assert main(["job", "show", "--full", str(whole)]) == 0
    out = capsys.readouterr().out
    db = sqlite3.connect(whole)
    low, high, count = db.execute(
        "SELECT min(value), max(value), count(*) FROM event "
        "WHERE kind = 'reading' AND role = 'fluid-temperature'"
    ).fetchone()
    db.close()
    assert f"{count} readings" in out
    assert f"lowest {low:.1f} °C" in out
    assert f"highest {high:.1f} °C" in out


@pytest.mark.slow
def test_a_changed_job_is_said_in_report_and_check(
    home: Path, whole: Path, tmp_path: Path, capsys
) -> None:
    copy = Path(shutil.copyfile(whole, tmp_path / "copy.job"))
    change(copy, "UPDATE event SET value = 40 WHERE seq = 100")
    assert main(["job", "check", "copy.job"]) == 2
    assert main(["report", "copy.job"]) == 0
    assert capsys.readouterr().out.count("changed at event 100") == 2
    text = Path("copy.html").read_text("utf-8")
    assert "Do not rely on this report as proof" in text
    assert "Not judged" in text  # the judgement comes after the change


@pytest.mark.slow
def test_the_csv_is_what_its_description_says(
    home: Path, whole: Path, tmp_path: Path, capsys
) -> None:
    assert main(["export", str(whole)]) == 0
    described = json.loads(Path("whole-csv-metadata.json").read_text("utf-8"))
    assert described["@context"][0] == "http://www.w3.org/ns/csvw"
    for table in described["tables"]:
        raw = Path(table["url"]).read_bytes()
        assert raw.count(b"\n") == raw.count(b"\r\n")  # RFC 4180, 2.1
        lines = list(csv.reader(raw.decode("utf-8").splitlines()))
        columns = [c["name"] for c in table["tableSchema"]["columns"]]
        assert lines[0] == columns
        assert {len(line) for line in lines} == {len(columns)}
        for line in lines[1:]:
            for cell, column in zip(line, table["tableSchema"]["columns"], strict=True):
                _is_a(cell, column["datatype"])
    db = sqlite3.connect(whole)
    (count,) = db.execute("SELECT count(*) FROM event WHERE kind='reading'").fetchone()
    db.close()
    with Path("whole-readings.csv").open(newline="") as file:
        assert sum(1 for _ in csv.DictReader(file)) == count


def _is_a(cell: str, datatype: str) -> None:
    if not cell:
        return
    if datatype in ("integer", "number"):
        float(cell)
    elif datatype == "hexBinary":
        bytes.fromhex(cell)
    elif datatype == "json":
        json.loads(cell)
    elif datatype == "dateTimeStamp":
        assert cell.endswith("Z")


@pytest.mark.slow
def test_the_json_holds_every_event(home: Path, whole: Path, capsys) -> None:
    assert main(["export", str(whole), "--format", "json"]) == 0
    told = json.loads(Path("whole.json").read_text("utf-8"))
    assert len(told["events"]) == check(whole).events
    assert told["record"]["state"] == "intact"


@pytest.mark.slow
def test_things_are_added_and_two_jobs_compared(
    home: Path, tmp_path: Path, capsys
) -> None:
    record(tmp_path / "one.job", seconds=60, from_c=20.0, per_s=0.03)
    record(tmp_path / "two.job", seconds=60, from_c=20.0, per_s=0.04)
    picture = tmp_path / "plug.jpg"
    picture.write_bytes(b"not really a picture")
    flags = ["--drained", "4.2 L", "--odometer", "61200 km", "--note", "dripped"]
    assert main(["job", "add", "one.job", *flags, "--photo", str(picture)]) == 0
    assert main(["job", "add", "two.job", "--drained", "4 qt"]) == 0
    capsys.readouterr()
    assert main(["job", "show", "one.job", "--photos"]) == 0
    assert "as it was attached" in capsys.readouterr().out
    picture.write_bytes(b"another")
    assert main(["job", "show", "one.job", "--photos"]) == 0
    assert "CHANGED since it was attached" in capsys.readouterr().out
    assert main(["job", "compare", "one.job", "two.job"]) == 0
    out = capsys.readouterr().out
    assert "4.20 L" in out
    assert "3.79 L" in out  # 4 US quarts = 3.785 L (NIST SP 811, B.8)
    assert "+1.8 °C/min" in out  # 0.03 °C/s
    assert "+2.4 °C/min" in out
    assert "a VIN is missing" in out


def test_a_job_is_deleted_only_when_confirmed(home: Path, capsys) -> None:
    home.mkdir(parents=True)
    record(home / "20250101-first.job", seconds=1)
    record(home / "20250102-second.job", seconds=1)
    assert main(["job", "delete", "2025"]) == 2  # which?
    assert main(["job", "delete", "20250101"]) == 2  # no terminal to ask on
    assert len(job_files(home)) == 2
    assert main(["job", "delete", "last", "--yes"]) == 0
    assert [p.stem for p in job_files(home)] == ["20250101-first"]


def test_a_cut_off_job_is_closed_by_hand(home: Path, tmp_path: Path, capsys) -> None:
    recorder = record(tmp_path / "a.job", seconds=2, close=False)
    recorder.note_event("note", {"text": "x"}).result(30)
    folder = tmp_path / "cut"
    folder.mkdir()
    for file in tmp_path.glob("a.job*"):
        shutil.copy(file, folder)
    recorder.close()
    assert main(["job", "check", "cut/a.job"]) == 2
    assert "cut off after event" in capsys.readouterr().out
    assert main(["job", "close", "cut/a.job"]) == 0
    assert main(["job", "check", "cut/a.job"]) == 2
    assert "closed, with a gap" in capsys.readouterr().out
    change(folder / "a.job", "UPDATE event SET body = '{}' WHERE seq = 3")
    assert main(["job", "close", "cut/a.job"]) == 2
