"""The verdict, as large as the screen allows, told by word, sign and frame."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.values.conditions import Verdict
from tui.widgets.bigtext import BANNER, RESULT, set_text, solid, taller
from tui.widgets.painted import BoardPart, Row
from tui.words.result_words import Came

if TYPE_CHECKING:
    from textual.geometry import Size

    from tui.live.screen_state import ScreenState
    from tui.widgets.glyphs import Glyphs

_WORDINGS = {
    Verdict.GO: ("✔ GO", "GO"),
    Verdict.NO_GO: ("✘ NO-GO", "NO-GO"),
}
"""With its sign, and without where the letters would get too small."""


class Banner(BoardPart):
    """GO in a closed double frame with a tick; NO-GO in stripes with a cross.

    Once the plug is in and the level judged, the result stands there instead, between
    two rows of a sign of its own.
    """

    def part(self, state: ScreenState) -> object:
        """Return the verdict and the result."""
        return state.verdict, state.result and state.result.came

    def paint_state(self, state: ScreenState, size: Size) -> list[Row]:
        """Frame the letters."""
        width, height = size
        if state.result is not None:
            return result_rows(state.result.came, width, height, self.glyphs)
        letters = big_verdict(state.verdict, width - 4, height - 2, self.glyphs)
        return frame(letters, state.verdict, width, height, self.glyphs)


def big_verdict(verdict: Verdict, width: int, height: int, glyphs: Glyphs) -> list[str]:
    """Draw the verdict with the largest letters that fit."""
    signed, bare = _WORDINGS[verdict]
    for columns, text in ((4, signed), (3, signed), (2, signed), (2, bare), (1, bare)):
        bitmap = set_text(text, BANNER)
        if len(bitmap[0]) * columns <= width and len(bitmap) <= height:
            bitmap = taller(bitmap) if height >= 7 else bitmap
            return solid(bitmap, columns, glyphs)
    return [verdict.value]


def frame(
    letters: list[str], verdict: Verdict, width: int, height: int, glyphs: Glyphs
) -> list[Row]:
    """Put the letters in the middle of the verdict's own frame."""
    inner = max(0, width - 4)
    above = max(0, (height - 2 - len(letters)) // 2)
    lines = [""] * above + letters
    lines += [""] * (height - 2 - len(lines))
    if verdict is Verdict.GO:
        corners, flat, side = glyphs.frame[:4], glyphs.frame[4], glyphs.frame[5]
        top = corners[0] + flat * (width - 2) + corners[1]
        bottom = corners[3] + flat * (width - 2) + corners[2]
        left, right = f"{side} ", f" {side}"
        sign = glyphs.met
    else:
        top = bottom = glyphs.stripe * width
        left = right = glyphs.stripe * 2
        sign = glyphs.not_met
    lines = [line.center(inner) for line in lines]
    half = len(lines) // 2
    if lines and lines[half].startswith("   "):
        lines[half] = f" {sign}{lines[half][2:-2]}{sign} "
    else:
        top = f"{top[:2]} {sign} {top[5:-5]} {sign} {top[-2:]}"[:width]
    middle = [f"{left}{line}{right}" for line in lines]
    return [[(text, "strong")] for text in (top, *middle, bottom)][:height]


def result_sign(came: Came, glyphs: Glyphs) -> str:
    """Return the sign that belongs to a result."""
    return {
        Came.GOOD: glyphs.met,
        Came.NOT_OBSERVED: glyphs.unknown,
        Came.TOO_LOW: glyphs.low,
        Came.TOO_HIGH: glyphs.high,
        Came.AGAIN: glyphs.again,
    }[came]


def result_rows(came: Came, width: int, height: int, glyphs: Glyphs) -> list[Row]:
    """Draw the result between two rows of its sign."""
    letters = [came.value]
    for columns in (3, 2, 1):
        bitmap = set_text(came.value, RESULT)
        if len(bitmap[0]) * columns <= width - 4:
            bitmap = taller(bitmap) if height >= 9 else bitmap
            letters = solid(bitmap, columns, glyphs)
            break
    edge = (f"{result_sign(came, glyphs)}  " * width)[:width]
    above = max(0, (height - 2 - len(letters)) // 2)
    lines = [""] * above + [line.center(width) for line in letters]
    lines += [""] * (height - 2 - len(lines))
    return [[(text, "strong")] for text in (edge, *lines, edge)][:height]
