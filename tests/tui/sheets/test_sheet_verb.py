"""`sumpgate sheet`: list, show, check, schema, in the person's units."""

import json
import re

import pytest

from bridge.sheets import find_sheet, shipped_sheets
from bridge.sheets.sheet_schema import sheet_schema
from tui.cli.main import main

METRIC = re.compile(r"°C|N·m|\d (mm|cm²|m?L|km)\b")
US = re.compile(r"°F|lbf·ft|\d (qt|mi|in)\b")


def said(capsys, *args: str) -> str:
    assert main(["sheet", *args]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    return captured.out


@pytest.mark.parametrize("name", shipped_sheets())
def test_with_us_units_nothing_else_is_shown(capsys, name):
    shown = said(capsys, "show", name, "--units", "us")
    # A tool's size and a thread are names, not measures to convert.
    named = re.sub(r"(hex|hex socket|square) \d+ mm", "", shown)
    assert not METRIC.search(named)
    assert US.search(shown)


@pytest.mark.parametrize("name", shipped_sheets())
def test_metric_shows_torque_in_both_units(capsys, name):
    shown = said(capsys, "show", name, "--units", "metric")
    assert not re.search(r"°F|\d (qt|mi|in)\b", shown)
    assert shown.count("N·m") == shown.count("lbf·ft")


def test_everything_a_sheet_says_is_shown(capsys):
    from bridge.sheets import load

    sheet = load("scar-eight-speed")
    shown = " ".join(said(capsys, "show", "scar-eight-speed").split())
    service = sheet.service
    lines = [line for _, step in service.lines for line in step]
    named = (*service.parts, *service.fasteners, *service.drains, *service.variants)
    texts = [sheet.name, sheet.source, service.fluid_name, *lines]
    texts += [item.name for item in named]
    texts += [item.note.rstrip(".") for item in named if getattr(item, "note", "")]
    texts += [variant.look_for for variant in service.variants]
    texts += [variant.instead for variant in service.variants]
    for text in (*texts, *(service.interval.severe if service.interval else ())):
        assert text in shown


@pytest.mark.parametrize(
    ("units", "figures"),
    [
        # NIST SP 811, B.8: 28 N m = 20.652 lbf ft; 5.6 L = 5.917 qt; 80000 km =
        # 49709.7 mi; 42 °C = 107.6 °F, 52 °C = 125.6 °F.
        (
            "metric",
            (
                "28.0 ± 3.0 N·m (20.7 ± 2.2 lbf·ft)",
                "5.60 L",
                "80000 km",
                "42 to 52 °C",
            ),
        ),
        (
            "us",
            (
                "20.7 ± 2.2 lbf·ft",
                "5.92 qt",
                "49710 mi",
                "107.6 to 125.6 °F",
            ),
        ),
    ],
)
def test_figures(capsys, units, figures):
    shown = " ".join(said(capsys, "show", "scar-eight-speed", "--units", units).split())
    for figure in figures:
        assert figure in shown


def test_without_the_flag_the_units_are_those_of_the_screen(
    capsys, tmp_path, monkeypatch
):
    from tui import settings

    path = tmp_path / "settings.toml"
    path.write_text('temperature_unit = "F"\n')
    monkeypatch.setattr(settings, "settings_path", lambda: path)
    assert "107.6 to 125.6 °F" in said(capsys, "show", "scar-eight-speed")
    path.write_text('temperature_unit = "C"\n')
    assert "42 to 52 °C" in said(capsys, "list")


def test_the_file_itself(capsys):
    told = said(capsys, "show", "fell-belt-variator", "--toml")
    assert told == find_sheet("fell-belt-variator").read_text("utf-8")


def test_the_schema(capsys):
    assert json.loads(said(capsys, "schema")) == sheet_schema()


def test_check_says_that_a_sheet_can_be_used(capsys):
    told = said(capsys, "check", "scar-eight-speed", "--units", "metric")
    assert told == (
        "Scar eight-speed automatic with standpipe: can be used "
        "(42 to 52 °C, 1 signal, 16 steps)\n"
    )


def test_check_names_the_line_of_each_doubt(capsys, tmp_path):
    text = find_sheet("scar-eight-speed").read_text("utf-8")
    path = tmp_path / "doubtful.toml"
    path.write_text(text.replace("months = 72", "months = 480"))
    told = said(capsys, "check", str(path))
    line = text[: text.index("months = 72")].count("\n") + 1
    assert f'\ndoubt, line {line}: "months" in [interval] is 480' in told


def test_check_tells_all_mistakes(capsys, tmp_path):
    text = find_sheet("scar-eight-speed").read_text("utf-8")
    path = tmp_path / "wrong.toml"
    text = text.replace("months = 72", "months = 0").replace('"4 s"', '"4"')
    path.write_text(text.replace('role = "fluid', 'role = "gluid'))
    assert main(["sheet", "check", str(path)]) == 2
    captured = capsys.readouterr()
    lines = captured.err.splitlines()
    assert captured.out == ""
    assert len(lines) == 3
    for line, key in zip(lines, ("role", "hold", "months"), strict=True):
        assert line.startswith(f"sumpgate: {path}, line ")
        assert f'"{key}" in [' in line


def test_no_such_sheet(capsys):
    for action in ("show", "check"):
        assert main(["sheet", action, "no-such"]) == 2
        assert capsys.readouterr().err.count("\n") == 1
