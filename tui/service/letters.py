"""Large letters for the lever's position, to be read from the driver's seat."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tui.widgets.bigtext import set_text, solid, taller

if TYPE_CHECKING:
    from tui.widgets.bigtext import Bitmap
    from tui.widgets.glyphs import Glyphs


def _bitmap(text: str) -> Bitmap:
    return tuple(text.split())


LETTERS: dict[str, Bitmap] = {
    "B": _bitmap("####. #...# ####. #...# ####."),
    "D": _bitmap("####. #...# #...# #...# ####."),
    "E": _bitmap("##### #.... ####. #.... #####"),
    "L": _bitmap("#.... #.... #.... #.... #####"),
    "M": _bitmap("#...# ##.## #.#.# #...# #...#"),
    "N": _bitmap("#...# ##..# #.#.# #..## #...#"),
    "P": _bitmap("####. #...# ####. #.... #...."),
    "R": _bitmap("####. #...# ####. #..#. #...#"),
    "S": _bitmap(".#### #.... .###. ....# ####."),
    "W": _bitmap("#...# #...# #.#.# ##.## #...#"),
    "1": _bitmap("..#.. .##.. ..#.. ..#.. .###."),
    "2": _bitmap("####. ....# .###. #.... #####"),
    "3": _bitmap("####. ....# .###. ....# ####."),
    "4": _bitmap("#..#. #..#. ##### ...#. ...#."),
    "5": _bitmap("##### #.... ####. ....# ####."),
    "6": _bitmap(".###. #.... ####. #...# .###."),
    "7": _bitmap("##### ....# ...#. ..#.. ..#.."),
    "8": _bitmap(".###. #...# .###. #...# .###."),
    "9": _bitmap(".###. #...# .#### ....# .###."),
    "+": _bitmap("..... ..#.. .###. ..#.. ....."),
    "-": _bitmap("..... ..... .###. ..... ....."),
    " ": _bitmap("... ... ... ... ..."),
}
"""Five rows high, five wide; the names levers usually carry."""


def big_position(position: str, width: int, height: int, glyphs: Glyphs) -> list[str]:
    """Draw a position as large as fits; as plain text if a letter is missing."""
    if not position or any(c not in LETTERS for c in position):
        return [position]
    bitmap = set_text(position, LETTERS)
    if height >= 7:
        bitmap = taller(bitmap)
    columns = min(6, width // len(bitmap[0]))
    if columns < 1 or height < 5:
        return [position]
    return solid(bitmap, columns, glyphs)
