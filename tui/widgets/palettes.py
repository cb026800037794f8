"""The colors, by theme: variables of the style sheets. Pure.

Blue for GO and orange for NO-GO keep apart for every kind of color sight; each state
is also told by word, sign and frame. The high contrast is made of colors a terminal
with sixteen of them has, and is what such a terminal gets.
"""

from __future__ import annotations

from typing import Literal, get_args

Theme = Literal["dark", "light", "contrast"]
THEMES: tuple[Theme, ...] = get_args(Theme)
PALETTES: dict[Theme, dict[str, str]] = {
    "dark": {
        "ground": "#10151c",
        "ink": "#e8edf2",
        "faint": "#9aa7b4",
        "go": "#6cb8ff",
        "go-ground": "#0a3a6b",
        "on-go": "#ffffff",
        "stop": "#ffa940",
        "stop-ground": "#33200a",
        "doubt": "#f2d479",
        "band-ground": "#17375a",
        "band": "#3f6f9e",
        "curve": "#ffffff",
        "fan": "#a3925a",
    },
    "light": {
        "ground": "#f6f7f9",
        "ink": "#10151c",
        "faint": "#434c57",
        "go": "#0a3f7a",
        "go-ground": "#0a3a6b",
        "on-go": "#ffffff",
        "stop": "#742c00",
        "stop-ground": "#ffe8d0",
        "doubt": "#5a3f00",
        "band-ground": "#cfe0f2",
        "band": "#5d86b0",
        "curve": "#10151c",
        "fan": "#8a7636",
    },
    "contrast": {
        "ground": "#000000",
        "ink": "#ffffff",
        "faint": "#aaaaaa",
        "go": "#55ffff",
        "go-ground": "#0000aa",
        "on-go": "#ffffff",
        "stop": "#ffff55",
        "stop-ground": "#000000",
        "doubt": "#ffff55",
        "band-ground": "#0000aa",
        "band": "#aaaaaa",
        "curve": "#ffffff",
        "fan": "#aaaaaa",
    },
}
FEW_COLORS = (None, "standard", "windows")
"""Color systems of a console that has sixteen colors or fewer."""


def palette(theme: Theme, color_system: str | None) -> dict[str, str]:
    """Return the variables for a theme on a console with this color system."""
    return PALETTES["contrast" if color_system in FEW_COLORS else theme]


def after(theme: Theme) -> Theme:
    """Return the theme the key turns to."""
    return THEMES[(THEMES.index(theme) + 1) % len(THEMES)]


def base(theme: Theme) -> str:
    """Return Textual's own theme for what its widgets draw by themselves."""
    return "textual-light" if theme == "light" else "textual-dark"
