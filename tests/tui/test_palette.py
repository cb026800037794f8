"""The colors, against WCAG 2.1 (W3C Recommendation, 2018), from memory.

Contrast ratio = (L1 + 0.05) / (L2 + 0.05) with L the relative luminance of sRGB;
success criterion 1.4.3 asks 4.5 for text, 1.4.6 asks 7 for enhanced contrast, 1.4.11
asks 3 for graphics.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from rich.color import Color, ColorSystem

import tui.live.app
from tests.tui.helpers import staged
from tui.settings import Settings, load_settings
from tui.widgets.palettes import FEW_COLORS, PALETTES, THEMES, Theme, after, palette

CSS = Path(tui.live.app.__file__).with_name("app.tcss").read_text(encoding="utf-8")
TEXTS = [
    ("ink", "ground"),
    ("stop", "ground"),
    ("stop", "stop-ground"),
    ("on-go", "go-ground"),
    ("go", "ground"),
    ("doubt", "ground"),
    ("faint", "ground"),
    ("ink", "band-ground"),
    ("curve", "band-ground"),
]
LINES = [("fan", "ground"), ("fan", "band-ground"), ("doubt", "band-ground")]


def luminance(color: str) -> float:
    channels = [int(color[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    r, g, b = (
        c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in channels
    )
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(a: str, b: str) -> float:
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_formula_on_the_standards_own_extremes() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


@pytest.mark.parametrize(("text", "ground"), TEXTS)
@pytest.mark.parametrize("theme", THEMES)
def test_text_stands_out(theme: Theme, text: str, ground: str) -> None:
    colors = PALETTES[theme]
    assert contrast(colors[text], colors[ground]) >= 7.0


@pytest.mark.parametrize(("line", "ground"), LINES)
@pytest.mark.parametrize("theme", THEMES)
def test_lines_of_the_plot_stand_out(theme: Theme, line: str, ground: str) -> None:
    colors = PALETTES[theme]
    assert contrast(colors[line], colors[ground]) >= 3.0


@pytest.mark.parametrize("theme", THEMES)
def test_every_color_of_the_style_sheet_is_in_every_theme(theme: Theme) -> None:
    assert set(re.findall(r"\$([\w-]+)", CSS)) <= set(PALETTES[theme])
    assert set(PALETTES[theme]) == set(PALETTES["dark"])


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("system", FEW_COLORS)
def test_sixteen_colors_are_shown_as_they_are_meant(
    theme: Theme, system: str | None
) -> None:
    """Rich makes of each the very color, by its number (ECMA-48, SGR 30 to 97)."""
    numbers = {
        "#000000": 0,
        "#0000aa": 4,
        "#aaaaaa": 7,
        "#ffff55": 11,
        "#55ffff": 14,
        "#ffffff": 15,
    }
    for name, color in palette(theme, system).items():
        shown = Color.parse(color).downgrade(ColorSystem.STANDARD)
        assert shown.number == numbers[color], name


async def test_the_key_turns_the_colors_and_they_are_remembered(tmp_path: Path) -> None:
    async with staged(tmp_path) as stage:
        seen = []
        for _ in THEMES:
            seen.append(stage.app.theme_variables["ground"])
            assert stage.app.screen.styles.background.hex.lower() == seen[-1]
            await stage.press("v")
        assert load_settings(tmp_path / "settings.toml") == Settings()
    assert [after(t) for t in THEMES] == [*THEMES[1:], THEMES[0]]
