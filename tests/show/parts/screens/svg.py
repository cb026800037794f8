"""Textual's SVG of a screen, made to look the same in every viewer.

Textual's own export leans on a web font and on fonts joining block characters
without a seam. Here blocks, shades and braille become plain shapes, words stand
at their exact places, and nothing is fetched from anywhere.
"""

from __future__ import annotations

import io
import re
from html import escape, unescape

from rich.console import Console
from textual.app import App

FORMAT = """\
<svg viewBox="0 0 VIEW" \
xmlns="http://www.w3.org/2000/svg">
<style>
.{unique_id}-matrix {{ font-family: "DejaVu Sans Mono", Menlo, Consolas, monospace; \
font-size: {char_height}px; }}
{styles}
</style>
<rect width="100%" height="100%" rx="6" fill="GROUND"/>
<g transform="translate(8, 6)">
{backgrounds}
<g class="{unique_id}-matrix">
{matrix}
</g>
</g>
</svg>
"""
CELL, LINE, SIZE = 12.2, 24.4, 20.0
"""Width and height of a cell and the font's size, as the export sets them."""
_TEXT = re.compile(
    r'<text class="([^"]+)" x="([\d.e+-]+)" y="([\d.e+-]+)"[^>]*>(.*?)</text>'
)
_PIECE = re.compile(
    r"█+|▀+|▄+|░+|▞+|═+|[⠀-⣿╔╗╚╝║]|[^ █▀▄░▞⠀-⣿╔╗╚╝║═]+(?: [^ █▀▄░▞⠀-⣿╔╗╚╝║═]+)*"
)
_BLOCKS = {"█": (0.0, 1.0), "▀": (0.0, 0.5), "▄": (0.5, 0.5)}
_DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))


def export(app: App[int], ground: str) -> str:
    """Return the app's present screen as SVG."""
    width, height = app.size
    console = Console(
        width=width,
        height=height,
        file=io.StringIO(),
        force_terminal=True,
        color_system="truecolor",
        record=True,
        legacy_windows=False,
    )
    console.print(app.screen._compositor.render_update(full=True, simplify=True))
    view = f"{width * CELL + 16:.0f} {height * LINE + 12:.0f}"
    svg = console.export_svg(
        title="", code_format=FORMAT.replace("VIEW", view).replace("GROUND", ground)
    )
    return _TEXT.sub(_shapes, svg)


def _shapes(tag: re.Match[str]) -> str:
    look, text = tag[1], unescape(tag[4]).replace("\xa0", " ")
    left, base = float(tag[2]), float(tag[3])
    top = base - SIZE + 1.5
    parts = []
    for found in _PIECE.finditer(text):
        piece, x = found[0], left + found.start() * CELL
        parts.append(_piece(piece, look, x, top, base))
    return "".join(parts)


def _piece(piece: str, look: str, x: float, top: float, base: float) -> str:
    sign, wide = piece[0], len(piece) * CELL
    if sign in _BLOCKS:
        down, high = _BLOCKS[sign]
        return _rect(look, x, top + down * LINE, wide, high * LINE)
    if sign == "░":
        return _rect(look, x, top, wide, LINE, ' opacity="0.25"')
    if sign == "▞":
        halves = [(CELL / 2, 0.0), (0.0, LINE / 2)]
        return "".join(
            _rect(look, x + n * CELL + dx, top + dy, CELL / 2, LINE / 2)
            for n in range(len(piece))
            for dx, dy in halves
        )
    if sign == "═":
        return "".join(
            _rect(look, x, top + LINE * down, wide, 1.2) for down in (0.45, 0.57)
        )
    if "⠀" <= sign <= "⣿":
        return _braille(sign, look, x, top)
    return (
        f'<text class="{look}" x="{x:.1f}" y="{base:.1f}" '
        f'textLength="{wide:.1f}">{escape(piece)}</text>'
    )


def _rect(look: str, x: float, y: float, w: float, h: float, more: str = "") -> str:
    return (
        f'<rect class="{look}" x="{x:.1f}" y="{y:.1f}" width="{w + 0.15:.2f}" '
        f'height="{h + 0.15:.2f}"{more} shape-rendering="crispEdges"/>'
    )


def _braille(sign: str, look: str, x: float, top: float) -> str:
    bits = ord(sign) - 0x2800
    return "".join(
        f'<circle class="{look}" cx="{x + CELL * (0.25 + 0.5 * dx):.1f}" '
        f'cy="{top + LINE * (0.125 + 0.25 * dy):.1f}" r="1.8"/>'
        for dy, row in enumerate(_DOTS)
        for dx, bit in enumerate(row)
        if bits & bit
    )
