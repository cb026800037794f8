"""The signs drawn on screen, in a rich set and in one any terminal can show."""

from __future__ import annotations

from typing import Literal

from bridge.values.frozen import frozen

SymbolChoice = Literal["auto", "unicode", "ascii"]


@frozen
class Glyphs:
    """One character for each thing drawn; all are one cell wide."""

    ascii_only: bool = False
    shaded: bool = True
    """Whether there is color to tell a ground from what is drawn on it."""
    met: str = "✔"
    not_met: str = "✘"
    unknown: str = "?"
    full: str = "█"
    upper: str = "▀"
    lower: str = "▄"
    stripe: str = "▞"
    """Fills the NO-GO frame."""
    frame: str = "╔╗╝╚═║"
    """The GO frame: corners clockwise from top left, then horizontal, vertical."""
    hatch: str = "░"
    """Fills the window's band where no curve runs."""
    now: str = "┊"
    axis: str = "│"
    track: str = "·"
    range_bar: str = "━"
    middle: str = "◆"
    onward: str = "▶"
    """A range that runs on past the end of the bar."""
    ellipsis: str = "…"
    low: str = "▼"
    high: str = "▲"
    again: str = "↻"


RICH = Glyphs()

ASCII = Glyphs(
    ascii_only=True,
    shaded=False,
    met="+",
    not_met="x",
    full="#",
    upper="'",
    lower=".",
    stripe="/",
    frame="++++=|",
    hatch=":",
    now="|",
    axis="|",
    track=".",
    range_bar="=",
    middle="O",
    onward=">",
    ellipsis="~",
    low="v",
    high="^",
    again="x",
)

_PLAIN = str.maketrans(
    {
        "°": "",
        "±": "+/-",
        "–": "-",
        "−": "-",
        "·": "-",
        "×": "x",
        "✔": "+",
        "✘": "x",
        "…": "...",
        "’": "'",
        "↑": "up",
        "↓": "down",
        "▶": ">",
    }
)
_BARE_TERMINALS = ("dumb", "linux", "vt")


def choose_glyphs(choice: SymbolChoice, *, encoding: str, term: str) -> Glyphs:
    """Pick the set: as chosen, or by what the terminal is known to show.

    ``encoding`` is the output's, ``term`` the TERM variable. The Linux console
    and the old video terminals carry no braille, whatever the encoding.
    """
    if choice != "auto":
        return ASCII if choice == "ascii" else RICH
    unicode_out = encoding.lower().replace("-", "").startswith("utf")
    bare = term.startswith(_BARE_TERMINALS)
    return RICH if unicode_out and not bare else ASCII


def to_ascii(text: str) -> str:
    """Spell the text in ASCII: degree signs go, dashes become hyphens."""
    return text.translate(_PLAIN).encode("ascii", "replace").decode("ascii")
