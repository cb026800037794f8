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

    sheet = load("marl-dual-clutch")
    shown = " ".join(said(capsys, "show", "marl-dual-clutch").split())
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
        # NIST SP 811, B.8: 30 N m = 22.127 lbf ft; 4.6 L = 4.861 qt; 60000 km =
        # 37282.3 mi; 35 °C = 95 °F. ISO 261: 3 turns of 1.5 mm are 4.5 mm; over
        # 500 cm2 that is 225 mL, 0.238 qt; 0.177 in.
        (
            "metric",
            (
                "30.0 ± 3.0 N·m (22.1 ± 2.2 lbf·ft)",
                "4.60 L",
                "60000 km",
                "35 to 45 °C",
                "4.5 mm",
                "225 mL",
            ),
        ),
        (
            "us",
            (
                "22.1 ± 2.2 lbf·ft",
                "4.86 qt",
                "37282 mi",
                "95 to 113 °F",
                "0.177 in",
                "0.24 qt",
            ),
        ),
    ],
)
def test_figures(capsys, units, figures):
    shown = " ".join(said(capsys, "show", "marl-dual-clutch", "--units", units).split())
    for figure in figures:
        assert figure in shown


def test_without_the_flag_the_units_are_those_of_the_screen(
    capsys, tmp_path, monkeypatch
):
    from tui import settings

    path = tmp_path / "settings.toml"
    path.write_text('temperature_unit = "F"\n')
    monkeypatch.setattr(settings, "settings_path", lambda: path)
    assert "95 to 113 °F" in said(capsys, "show", "marl-dual-clutch")
    path.write_text('temperature_unit = "C"\n')
    assert "35 to 45 °C" in said(capsys, "list")


def test_the_file_itself(capsys):
    told = said(capsys, "show", "fell-belt-variator", "--toml")
    assert told == find_sheet("fell-belt-variator").read_text("utf-8")


def test_the_schema(capsys):
    assert json.loads(said(capsys, "schema")) == sheet_schema()


def test_check_says_that_a_sheet_can_be_used(capsys):
    told = said(capsys, "check", "marl-dual-clutch", "--units", "metric")
    assert told == (
        "Marl seven-speed dual clutch, wet: can be used "
        "(35 to 45 °C, 1 signal, 16 steps)\n"
    )


def test_check_names_the_line_of_each_doubt(capsys, tmp_path):
    text = find_sheet("marl-dual-clutch").read_text("utf-8")
    path = tmp_path / "doubtful.toml"
    path.write_text(text.replace("months = 48", "months = 480"))
    told = said(capsys, "check", str(path))
    line = text[: text.index("months = 48")].count("\n") + 1
    assert f'\ndoubt, line {line}: "months" in [interval] is 480' in told


def test_check_tells_all_mistakes(capsys, tmp_path):
    text = find_sheet("marl-dual-clutch").read_text("utf-8")
    path = tmp_path / "wrong.toml"
    text = text.replace("months = 48", "months = 0").replace('"3 s"', '"3"')
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
