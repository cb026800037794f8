"""Consoles and redirected files that are not UTF-8: nothing ends in a traceback.

The code pages are those Windows uses for consoles (437) and files (1252); Python's
library reference, "Standard Encodings", lists them. JSON is UTF-8 between programs by
RFC 8259, 8.1; TOML always by its specification, v1.0.0, "Spec".
"""

from __future__ import annotations

import json
import sys
import tomllib
from pathlib import Path

import pytest

from tests.packaging import tryout
from tui.console import plain

ROOT = Path(__file__).parents[2]
pages = pytest.mark.parametrize(
    "page", ["cp437", pytest.param("cp1252", marks=pytest.mark.slow)]
)


def program(folder: Path, page: str) -> tryout.Program:
    return tryout.Program(
        [sys.executable, "-m", "tui"],
        folder,
        PYTHONPATH=str(ROOT),
        PYTHONIOENCODING=page,
        PYTHONUTF8="0",
        LANG="C",
    )


@pages
@pytest.mark.slow
def test_what_a_person_reads_degrades(tmp_path: Path, page: str) -> None:
    tried = program(tmp_path, page)
    for args in (("list",), ("show", tryout.SHEET), ("check", tryout.SHEET)):
        said = tried.run("sheet", *args).stdout.decode(page)
        assert "50" in said
        assert "?" not in said  # every sign had a plain one


@pages
@pytest.mark.slow
def test_what_a_program_reads_is_utf_8(tmp_path: Path, page: str) -> None:
    tried = program(tmp_path, page)
    json.loads(tried.run("sheet", "schema").stdout.decode("utf-8"))
    shown = tried.run("sheet", "show", tryout.SHEET, "--toml").stdout
    assert tomllib.loads(shown.decode("utf-8"))
    (tmp_path / "mine.toml").write_bytes(shown)
    tried.run("sheet", "check", "mine.toml")
    rows = tried.run("demo", "--json", "--speed", "1000", "--for", "3").stdout
    assert [json.loads(row) for row in rows.decode("utf-8").splitlines()]


@pages
@pytest.mark.slow
def test_a_report_and_a_mistake(tmp_path: Path, page: str) -> None:
    tried = program(tmp_path, page)
    tryout.demo(tried)
    tryout.report(tried)
    tried.run("job", "show", "tried.job")
    (tmp_path / "bad.toml").write_text("name = 'µ → Ω'\n", "utf-8")
    said = tried.run("sheet", "check", "bad.toml", code=2).stderr.decode(page)
    assert "bad.toml" in said


def test_an_out_file_is_not_written_over_unasked(tmp_path: Path) -> None:
    tried = program(tmp_path, "cp1252")
    (tmp_path / "mine.toml").write_text("mine", "utf-8")
    flags = ("sheet", "show", tryout.SHEET, "--toml", "--out", "mine.toml")
    assert b"there already" in tried.run(*flags, code=2).stderr
    assert (tmp_path / "mine.toml").read_text("utf-8") == "mine"
    tried.run(*flags, "--force")
    assert "°" in (tmp_path / "mine.toml").read_text("utf-8")


@pytest.mark.parametrize(
    ("text", "wanted"),
    [("−5 °C ± 1", "-5 deg C +/- 1"), ("CO₂ …", "CO2 ..."), ("é → Ω", "e -> ?")],
)
def test_the_nearest_plain_signs(text: str, wanted: str) -> None:
    assert plain(text) == wanted
