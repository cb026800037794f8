"""What is said before a job is begun: no terminal, an odometer that is none."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from bridge.jobfile.file.check import FileState, check
from bridge.jobfile.job_folder import job_files
from bridge.jobfile.report.summary import tell
from tui.cli.main import main


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in ("XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    return tmp_path / "home" / "sumpgate" / "jobs"


LIVE = ["live", "--port", "socket://127.0.0.1:9", "--profile", "scar-eight-speed"]


@pytest.mark.parametrize("flags", [["demo", "--record"], ["demo"], LIVE])
def test_without_a_terminal_one_sentence_and_no_job(
    home: Path, tmp_path: Path, capsys, flags: list[str]
) -> None:
    assert main(flags) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err == (
        "sumpgate: no terminal to draw on: run it in one, or add --plain or --json\n"
    )
    assert not home.exists()


def test_the_sheet_is_looked_at_before_the_terminal(home: Path, capsys) -> None:
    assert main(["demo", "--profile", "no-such-sheet"]) == 2
    assert "no-such-sheet" in capsys.readouterr().err


def demo(*flags: str) -> int:
    return main(["demo", "--json", "--speed", "1000", "--for", "3", *flags])


@pytest.mark.parametrize(
    ("written", "km"),
    [
        ("123456 km", 123456.0),
        # NIST SP 811 (2008), appendix B.8: a mile is 1.609344 km.
        ("76711 mi", 76711 * 1.609344),
    ],
)
def test_the_odometer_is_kept_in_km_with_the_persons_words(
    home: Path, capsys, written: str, km: float
) -> None:
    assert demo("--record", "a.job", "--odometer", written) == 0
    (event,) = tell(Path("a.job")).of("odometer")
    assert event.content["km"] == pytest.approx(km, abs=1e-6)
    assert event.content["text"] == written
    assert main(["job", "add", "a.job", "--odometer", written]) == 0
    assert [m.content["text"] for m in tell(Path("a.job")).of("odometer")] == [
        written
    ] * 2
    assert check(Path("a.job")).state is FileState.INTACT
    capsys.readouterr()
    assert main(["job", "show", "--full", "a.job", "--units", "metric"]) == 0
    shown = capsys.readouterr().out
    assert f"{km:.0f} km" in shown
    assert (f'written as "{written}"' in shown) == written.endswith("mi")


@pytest.mark.parametrize(
    "written", ["far", "-3 km", "0 km", "12", "9e9 km", "nan km", "", "5 kg"]
)
def test_what_is_no_odometer_is_said_before_the_job_begins(
    home: Path, capsys, written: str
) -> None:
    assert demo("--record", f"--odometer={written}") == 2
    told = capsys.readouterr()
    assert told.err.startswith("sumpgate: --odometer ")
    assert told.err.count("\n") == 1
    assert job_files(home) == []


def test_an_odometer_for_no_job_is_refused(home: Path, capsys) -> None:
    assert demo("--odometer", "5 km") == 2
    assert "--record" in capsys.readouterr().err


@pytest.mark.slow
def test_the_screens_fahrenheit_is_the_reports(home: Path, tmp_path: Path, capsys):
    """And no metric figure stands anywhere in page or PDF then."""
    import io
    import re

    from pypdf import PdfReader

    from tests.jobfile.job_help import record
    from tui.settings import Settings, save_settings

    record(tmp_path / "a.job", seconds=90)
    flags = ["--odometer", "61200 mi", "--drained", "4.2 qt"]
    assert main(["job", "add", "a.job", *flags]) == 0
    assert main(["report", "a.job", "--out", "c.html"]) == 0
    assert "°C" in Path("c.html").read_text("utf-8")
    save_settings(Settings(temperature_unit="F"))
    assert main(["report", "a.job", "--pdf"]) == 0
    page = re.sub(r"(?s)<style>.*?</style>", "", Path("a.html").read_text("utf-8"))
    reader = PdfReader(io.BytesIO(Path("a.pdf").read_bytes()))
    printed = "".join(p.extract_text() for p in reader.pages)
    for text in (page, printed):
        assert "°F" in text
        assert "4.20 qt" in text
        assert "61200 mi" in text
        assert not re.search(r"°C|\d (mL|L|km|mm|N·m)\b", text)
    assert main(["report", "a.job", "--units", "metric", "--out", "m.html"]) == 0
    assert "°F" not in Path("m.html").read_text("utf-8")
    capsys.readouterr()


def test_the_export_is_si_whatever_the_screen_shows(home, tmp_path, capsys) -> None:
    import json

    from tests.jobfile.job_help import record
    from tui.settings import Settings, save_settings

    record(tmp_path / "a.job", seconds=30)
    save_settings(Settings(temperature_unit="F"))
    assert main(["export", "a.job"]) == 0
    described = json.loads(Path("a-csv-metadata.json").read_text("utf-8"))
    assert "units of the SI" in described["dc:description"]
    units = {
        c["name"]: c.get("schema:unitCode")
        for c in described["tables"][0]["tableSchema"]["columns"]
    }
    assert units["fluid_c"] == "Cel"  # UCUM's code of the degree Celsius
    db = sqlite3.connect(tmp_path / "a.job")
    (highest,) = db.execute(
        "SELECT max(value) FROM event WHERE role = 'fluid-temperature'"
    ).fetchone()
    db.close()
    assert f",{highest!r}," in Path("a-readings.csv").read_text("utf-8")
    capsys.readouterr()


def test_whose_car_it_is_is_asked_once_a_job_and_the_shop_tells_itself(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = tmp_path / "shop.toml"
    shop.write_text('mechanic = "B. Hand"\n', "utf-8")
    settings = tmp_path / "home" / "sumpgate" / "settings.toml"
    settings.parent.mkdir(parents=True)
    settings.write_text(f'shop = "{shop.as_posix()}"\n', "utf-8")
    plain = ["demo", "--plain", "--speed", "1000", "--for", "3", "--record", "a.job"]
    assert main(plain) == 0
    assert capsys.readouterr().err.count("Whose car is it?") == 1
    assert [e.text for e in tell(Path("a.job")).told] == ["B. Hand"]
    assert main(plain) == 0
    assert "Whose car" not in capsys.readouterr().err
    shop.write_text("mechanic = 3\n", "utf-8")
    assert main([*plain[:-1], "b.job"]) == 2
    assert not Path("b.job").exists()
