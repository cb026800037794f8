"""The papers in the report, in lists and searches; left out where it is anonymous."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

from bridge.jobfile.recorder import add_to
from bridge.jobfile.report.compose import compose
from bridge.jobfile.report.report_pdf import as_pdf
from bridge.jobfile.report.report_text import as_text
from bridge.jobfile.report.summary import tell
from bridge.jobfile.service_log import service_in
from bridge.sheets import load
from bridge.units import Units
from bridge.values.errors import UsageError
from bridge.values.service_events import ServiceEvent, ServiceKind
from tests.inputs.test_line_reader import NOTHING
from tests.jobfile.job_help import SHEET, record
from tests.jobfile.test_begin import home
from tui.cli.flags.shop_file import shop_of
from tui.cli.main import main
from tui.inputs.line_reader import LineReader

__all__ = ["home"]
VIN = "1M8GDM9AXKP042788"
"""The worked example of a right check digit in 49 CFR 565.15(c), from memory."""
LINES = (
    "car AB-CD 12",
    "model blue estate of 2014",
    f"vin {VIN}",
    "customer Ann Mortlake-Voss, 0123 987654",
    "shop Corner garage",
    "mechanic B. Hand",
    "place bay 2",
    "note Mrs Mortlake-Voss called; abcd12 is ready",
    "instrument wrench W-3, calibrated 2026-01-15",
    "torque drain plug 28 N*m",
    "out pan 5.1 L at 20 C",
    "in 5.5 L at 20 C",
    "fluid Clear 8, leaf 21, batch 77-1, 5.5 L",
    "part sealing washer for the drain plug, number 9-9, 1 x",
    "waste 5.1 L, used fluid, collecting point",
    "leak drain plug dry",
    "road-test 20 min, 85 C",
    "rechecked right",
    "handed-on look again in 1000 km",
)


def events(*lines: str) -> list[ServiceEvent]:
    reader = LineReader(load(SHEET))
    found = [reader.read(line, NOTHING) for line in lines]
    assert all(isinstance(e, ServiceEvent) for e in found), found
    return found  # type: ignore[return-value]


def job(path: Path, *lines: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    record(path, seconds=3)
    assert add_to(path, events(*lines))
    return path


@pytest.fixture
def whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return job(Path("a.job"), *LINES)


def test_every_event_reads_back_as_it_was_told(whole: Path) -> None:
    kept = tuple(replace(e, at_utc_s=0.0) for e in service_in(whole))
    assert kept == tuple(events(*LINES))


@pytest.mark.parametrize("units", [Units.METRIC, Units.US])
def test_they_stand_on_page_one(whole: Path, units: Units) -> None:
    told = as_text(compose(tell(whole), units))
    first = " ".join(told.split("THE LEVEL")[0].split())
    litres = "5.50 L" if units is Units.METRIC else "5.81 qt"
    for words in (
        *("AB-CD 12", "blue estate of 2014", "check digit right", "Ann Mortlake-Voss"),
        *("Corner garage", "B. Hand", "bay 2", "Clear 8, leaf 21, batch 77-1"),
        *(litres, "names the sheet's fluid", "number 9-9", "collecting point"),
        *("drain plug, dry", "20 min", "look again in 1000 km"),
    ):
        assert words in first, words
    assert "W-3, calibrated 2026-01-15" in " ".join(told.split())


def test_an_anonymous_report_tells_neither_plate_nor_customer(
    whole: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    verb = ["report", "a.job", "--to", "out", "--anonymous"]
    assert main(verb) == 0
    (html,), (pdf,) = Path("out").glob("*.html"), Path("out").glob("*.pdf")
    page = html.read_text("utf-8")
    pages = PdfReader(io.BytesIO(pdf.read_bytes())).pages
    printed = "".join(p.extract_text() for p in pages)
    for told in (page, printed):
        bare = "".join(c for c in told.casefold() if c.isalnum())
        assert "abcd12" not in bare
        assert VIN.casefold() not in bare
        assert "mortlake" not in bare
        assert "987654" not in bare
        assert "Corner garage" in " ".join(told.split())
        assert "bay 2" in told
    for path in Path("out").iterdir():
        assert b"Mortlake" not in path.read_bytes()


def test_what_was_taken_back_is_left_out_too(tmp_path: Path) -> None:
    path = job(tmp_path / "b.job", "customer Zed Quill", "note Quill paid")
    back = ServiceEvent(kind=ServiceKind.TAKEN_BACK, back=0)
    assert add_to(path, [back])
    told = as_text(compose(tell(path), Units.METRIC, anonymous=True))
    assert "Quill" not in told
    assert "paid" in told


def test_a_car_without_letter_or_digit_blanks_nothing(tmp_path: Path) -> None:
    path = job(tmp_path / "c.job", "car --", "customer Q", "out pan 5 L at 20 C")
    told = as_text(compose(tell(path), Units.METRIC, anonymous=True))
    assert "IN SHORT" in told.upper()
    assert told.count("[left out]") < 5


def test_two_cars_of_an_afternoon_are_found_again(home: Path, capsys) -> None:
    job(home / "one.job", "car AB-CD 12", "customer Ann Voss")
    job(home / "two.job", "car XY 9", "model red van", "car XZ 9")
    capsys.readouterr()
    assert main(["job", "list"]) == 0
    listed = capsys.readouterr().out
    assert "AB-CD 12 Ann Voss" in listed
    assert "XZ 9" in listed
    assert "XY 9" not in listed
    for wanted in ("abcd12", "AB-CD 12", "ann voss", "AB CD-12"):
        assert main(["job", "find", wanted]) == 0
        out = capsys.readouterr().out
        assert "one" in out
        assert "two" not in out
    assert main(["job", "find", "abcd1"]) == 2
    capsys.readouterr()
    assert main(["job", "history", "xz9"]) == 0
    assert "XZ 9" in capsys.readouterr().out
    assert main(["job", "history", "--csv", str(home / "y.csv")]) == 0
    with (home / "y.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert [(r["plate"], r["customer"]) for r in rows] == [
        ("AB-CD 12", "Ann Voss"),
        ("XZ 9", ""),
    ]


def _service(home: Path, *lines: str) -> None:
    import os
    import subprocess
    import sys

    subprocess.run(
        [sys.executable, "-m", "tui", "service", "--profile", SHEET, "--json"]
        + ["--record", str(home / "s.job")],
        input="".join(f"{line}\n" for line in lines),
        text=True,
        capture_output=True,
        check=True,
        env={**os.environ, "XDG_CONFIG_HOME": str(home), "HOME": str(home)},
    )


@pytest.mark.slow
def test_a_shops_own_file_tells_every_job_once(tmp_path: Path) -> None:
    (tmp_path / "sumpgate").mkdir()
    shop = tmp_path / "shop.toml"
    shop.write_text('shop = "Corner garage"\nplace = "bay 2"\n', "utf-8")
    settings = tmp_path / "sumpgate" / "settings.toml"
    settings.write_text(f'shop = "{shop.as_posix()}"\n', "utf-8")
    _service(tmp_path, "place bay 7", "mechanic B. Hand")
    _service(tmp_path, "car AB-CD 12")
    kept = [(e.name, e.text) for e in service_in(tmp_path / "s.job")]
    assert kept == [
        ("shop", "Corner garage"),
        ("place", "bay 2"),
        ("place", "bay 7"),
        ("mechanic", "B. Hand"),
        ("plate", "AB-CD 12"),
    ]


@pytest.mark.parametrize(
    "text", ["shop = 3", "shop", 'colour = "red"', "shop = " + "[" * 5000]
)
def test_a_shops_file_that_is_none_is_one_sentence(tmp_path: Path, text: str) -> None:
    path = tmp_path / "shop.toml"
    path.write_text(text, "utf-8")
    with pytest.raises(UsageError, match=r"shop\.toml"):
        shop_of(str(path))
    with pytest.raises(UsageError, match="nowhere"):
        shop_of(str(tmp_path / "nowhere"))


@pytest.mark.parametrize("units", [Units.METRIC, Units.US])
@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.few(1)
def test_many_parts_leave_page_one_one_page(
    tmp_path: Path, paper: str, units: Units
) -> None:
    parts = tuple(
        f"part a part of long name {n}, number {n}-77, 2 x" for n in range(30)
    )
    path = job(tmp_path / "m.job", *LINES, *parts)
    document = compose(tell(path), units)
    told = " ".join(as_text(document).split())
    assert "more, under The papers" in told.split("THE LEVEL")[0]
    assert "a part of long name 29, number 29-77" in told
    pages = PdfReader(io.BytesIO(as_pdf(document, paper))).pages
    assert "Handed over to" in pages[0].extract_text()
