"""The colours, against WCAG 2.1 (W3C Recommendation, 2018), from memory.

Contrast ratio = (L1 + 0.05) / (L2 + 0.05) with L the relative luminance of sRGB;
success criterion 1.4.3 asks 4.5 for text, 1.4.6 asks 7 for enhanced contrast.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import tui.live.app

SHEET = Path(tui.live.app.__file__).with_name("app.tcss").read_text(encoding="utf-8")
COLOURS = dict(re.findall(r"^\$([\w-]+): (#[0-9a-f]{6});", SHEET, re.MULTILINE))
COLOURS["white"] = "#ffffff"


def luminance(colour: str) -> float:
    channels = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    r, g, b = (
        c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in channels
    )
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(a: str, b: str) -> float:
    high, low = sorted((luminance(COLOURS[a]), luminance(COLOURS[b])), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_formula_on_the_standards_own_extremes() -> None:
    COLOURS["black"] = "#000000"
    assert contrast("black", "white") == pytest.approx(21.0)


@pytest.mark.parametrize(
    ("text", "ground"),
    [
        ("ink", "ground"),
        ("stop", "ground"),
        ("stop", "stop-ground"),
        ("white", "go-ground"),
        ("go", "ground"),
        ("doubt", "ground"),
        ("faint", "ground"),
        ("ink", "band-ground"),
    ],
)
def test_text_stands_out(text: str, ground: str) -> None:
    assert contrast(text, ground) >= 7.0
