"""The service page as rows of cells: wrapped, with a cursor, scrolled. Pure."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, NamedTuple

from tui.service.pages.page_model import Item

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tui.service.pages.page_model import Row as PageRow
    from tui.widgets.glyphs import Glyphs
    from tui.widgets.painted import Row


class Laid(NamedTuple):
    """One row of cells and the number of the item it belongs to, or None."""

    cells: Row
    item: int | None


def lay_out(
    rows: Sequence[PageRow], width: int, cursor: int, glyphs: Glyphs
) -> list[Laid]:
    """Return the page as rows; ``cursor`` is the number of the item acted on."""
    laid: list[Laid] = []
    number = -1
    for row in rows:
        if isinstance(row, Item):
            number += 1
            laid += _item(row, width, number, glyphs, here=number == cursor)
        else:
            look = row.look
            laid += [Laid([(text, look)], None) for text in _wrap(row.text, width)]
    return laid


def _item(
    item: Item,
    width: int,
    number: int,
    glyphs: Glyphs,
    *,
    here: bool,
) -> list[Laid]:
    box = f"[{glyphs.met}] " if item.done else "[ ] "
    hand = f"{glyphs.onward} " if here else "  "
    lines = _wrap(item.text, width - 6)
    look = "key" if here else ("good" if item.done else "")
    first: Row = [
        (hand, "strong"),
        (box, "good" if item.done else ""),
        (lines[0], look),
    ]
    rest = [Laid([("      ", ""), (text, look)], number) for text in lines[1:]]
    return [Laid(first, number), *rest]


def _wrap(text: str, width: int) -> list[str]:
    lines: list[str] = []
    for paragraph in text.split("\n"):
        indent = " " * (len(paragraph) - len(paragraph.lstrip(" ")))
        hang = indent + ("  " if paragraph.lstrip().startswith("- ") else "")
        lines += textwrap.wrap(
            paragraph, max(10, width), subsequent_indent=hang, drop_whitespace=True
        ) or [""]
    return lines


def top_for(laid: Sequence[Laid], cursor: int, top: int, height: int) -> int:
    """Return the first row to show so that the cursor's item is in view."""
    mine = [n for n, row in enumerate(laid) if row.item == cursor]
    most = max(0, len(laid) - height)
    if not mine:
        return min(top, most)
    if mine[0] < top:
        return mine[0]
    if mine[-1] >= top + height:
        return min(most, mine[-1] - height + 1)
    return min(top, most)
