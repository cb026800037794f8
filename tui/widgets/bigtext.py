"""Letters and digits built from blocks, to be read across a workshop."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tui.widgets.glyphs import Glyphs

Bitmap = tuple[str, ...]
"""Rows of '#' and '.', all of one width."""


def _bitmap(text: str) -> Bitmap:
    return tuple(text.split())


BANNER: dict[str, Bitmap] = {
    "N": _bitmap("#...# ##..# #.#.# #..## #...#"),
    "O": _bitmap(".###. #...# #...# #...# .###."),
    "G": _bitmap(".#### #.... #..## #...# .####"),
    "-": _bitmap("... ... ### ... ..."),
    "✔": _bitmap("......# .....#. #...#.. .#.#... ..#...."),
    "✘": _bitmap("#...# .#.#. ..#.. .#.#. #...#"),
    " ": _bitmap(". . . . ."),
}
"""The banner's letters and its two signs, five rows high."""

RESULT: dict[str, Bitmap] = {
    "A": _bitmap(".##. #..# #### #..# #..#"),
    "B": _bitmap("###. #..# ###. #..# ###."),
    "D": _bitmap("###. #..# #..# #..# ###."),
    "E": _bitmap("#### #... ###. #... ####"),
    "G": _bitmap(".### #... #.## #..# .###"),
    "H": _bitmap("#..# #..# #### #..# #..#"),
    "I": _bitmap("# # # # #"),
    "L": _bitmap("#... #... #... #... ####"),
    "N": _bitmap("#..# ##.# #.## #..# #..#"),
    "O": _bitmap(".##. #..# #..# #..# .##."),
    "R": _bitmap("###. #..# ###. #.#. #..#"),
    "S": _bitmap(".### #... .##. ...# ###."),
    "T": _bitmap("### .#. .#. .#. .#."),
    "V": _bitmap("#..# #..# #..# .##. .##."),
    "W": _bitmap("#...# #...# #.#.# #.#.# .#.#."),
    " ": _bitmap(". . . . ."),
}
"""Narrow letters for the result of the level step, five rows high."""

DIGITS: dict[str, Bitmap] = {
    "0": _bitmap(".###. ##.## ##.## ##.## ##.## .###."),
    "1": _bitmap(".##. ###. .##. .##. .##. ####"),
    "2": _bitmap("####. ...## ..### .##.. ##... #####"),
    "3": _bitmap("####. ...## .###. ...## ...## ####."),
    "4": _bitmap("##.## ##.## ##.## ##### ...## ...##"),
    "5": _bitmap("##### ##... ####. ...## ...## ####."),
    "6": _bitmap(".###. ##... ####. ##.## ##.## .###."),
    "7": _bitmap("##### ...## ..##. ..##. .##.. .##.."),
    "8": _bitmap(".###. ##.## .###. ##.## ##.## .###."),
    "9": _bitmap(".###. ##.## ##.## .#### ...## .###."),
    "-": _bitmap("..... ..... ####. ####. ..... ....."),
    "−": _bitmap("..... ..... ####. ####. ..... ....."),
    ".": _bitmap(".. .. .. .. ## ##"),
    ":": _bitmap(".. ## .. .. ## .."),
    " ": _bitmap(".. .. .. .. .. .."),
}
"""The digits, six rows high."""

TALL = 6


def _widened(bitmap: Bitmap) -> Bitmap:
    """Repeat the middle column of a five-wide digit twice more."""
    if len(bitmap[0]) != 5:
        return bitmap
    return tuple(row[:3] + row[2] * 2 + row[3:] for row in bitmap)


WIDE_DIGITS = {sign: _widened(bitmap) for sign, bitmap in DIGITS.items()}
"""The same for wide screens."""


_SEGMENTS: dict[str, str] = {
    "0": " _ | ||_|",
    "1": "     |  |",
    "2": " _  _||_ ",
    "3": " _  _| _|",
    "4": "   |_|  |",
    "5": " _ |_  _|",
    "6": " _ |_ |_|",
    "7": " _   |  |",
    "8": " _ |_||_|",
    "9": " _ |_| _|",
    "-": "    _    ",
    "−": "    _    ",
    ".": "  .",
    ":": " ..",
    " ": "   ",
}
"""The digits of seven strokes, three rows each, where there are no half blocks."""


def segments(text: str) -> list[str]:
    """Draw digits with strokes any terminal has, three rows high."""
    glyphs = [_SEGMENTS[c] for c in text if c in _SEGMENTS]
    rows = []
    for y in range(3):
        parts = (g[y * len(g) // 3 : (y + 1) * len(g) // 3] for g in glyphs)
        rows.append(" ".join(parts))
    return rows


def set_text(text: str, font: dict[str, Bitmap]) -> Bitmap:
    """Set a text in a font; a character the font lacks is left out."""
    glyphs = [font[c] for c in text if c in font]
    height = len(font[" "])
    return tuple(".".join(g[y] for g in glyphs) for y in range(height))


def taller(bitmap: Bitmap) -> Bitmap:
    """Stretch five rows to seven by doubling the second and the fourth."""
    top, upper, middle, lower, bottom = bitmap
    return (top, upper, upper, middle, lower, lower, bottom)


def solid(bitmap: Bitmap, columns: int, glyphs: Glyphs) -> list[str]:
    """Draw each dot as ``columns`` full cells on a row of its own."""
    ink, paper = glyphs.full * columns, " " * columns
    return ["".join(ink if c == "#" else paper for c in row) for row in bitmap]


def halved(bitmap: Bitmap, glyphs: Glyphs) -> list[str]:
    """Draw two rows of dots in each row of cells, with half blocks."""
    signs = {"##": glyphs.full, "#.": glyphs.upper, ".#": glyphs.lower, "..": " "}
    return [
        "".join(signs[a + b] for a, b in zip(above, below, strict=True))
        for above, below in zip(bitmap[::2], bitmap[1::2], strict=True)
    ]
