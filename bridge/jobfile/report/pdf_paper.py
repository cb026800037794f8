"""What a report in PDF is written with: the typeface, the paper, the page's frame.

Everything of reportlab (BSD) is in this module and `report_pdf`; importing them costs
a third of a second, so that only making a PDF does it. The typeface is Bitstream Vera,
which comes with reportlab and may be embedded and passed on; it has the letters of
Western and part of Central Europe. A character it lacks is spelled as its number in
Unicode, such as ``[U+0416]``, never as a '?' that could have been anything.
"""

from __future__ import annotations

import datetime as dt
import io
import unicodedata
from collections.abc import Callable
from functools import cache
from typing import Any

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate

from bridge.values.frozen import frozen

PLAIN, BOLD = "Vera", "VeraBd"
PAPERS: dict[str, tuple[float, float]] = {"a4": A4, "letter": LETTER}
MARGIN = 48.0
_RESPELL = str.maketrans({"\u202f": "\u00a0", "\t": " "})


@cache
def _letters() -> frozenset[int]:
    """Load the typeface; return the characters that both of its weights have."""
    faces = []
    for name in (PLAIN, BOLD):
        font = TTFont(name, f"{name}.ttf")
        pdfmetrics.registerFont(font)
        faces.append(frozenset(font.face.charToGlyph))
    return faces[0] & faces[1]


def spelled(text: str) -> tuple[str, bool]:
    """Return a text in characters the typeface has, and whether any was spelled."""
    letters = _letters()
    parts: list[str] = []
    lacking: list[str] = []
    for char in unicodedata.normalize("NFC", text.translate(_RESPELL)):
        if ord(char) in letters:
            parts += [_codes(lacking), char]
            lacking = []
        else:
            lacking.append(char)
    made = "".join([*parts, _codes(lacking)])
    return made, any(ord(c) not in letters for c in unicodedata.normalize("NFC", text))


def _codes(chars: list[str]) -> str:
    return f"[{' '.join(f'U+{ord(c):04X}' for c in chars)}]" if chars else ""


def width(text: str, size: float, *, bold: bool = False) -> float:
    """Return how wide a text is, in points; its characters are the typeface's."""
    _letters()
    return float(pdfmetrics.stringWidth(text, BOLD if bold else PLAIN, size))


@frozen
class Imprint:
    """What a PDF file says of itself."""

    title: str
    foot: str
    """Stands at the foot of every page, before its number."""
    date_utc_s: float | None
    """The file's date: that of the record, so that it is no other tomorrow."""


class PageHeading(Flowable):  # type: ignore[misc]  # reportlab brings no types
    """Takes no room: puts a bookmark where it stands."""

    def __init__(self, text: str, key: str) -> None:
        super().__init__()
        self._text, self._key = text, key

    def wrap(self, *_: float) -> tuple[float, float]:
        """Return its size: none."""
        return 0.0, 0.0

    def draw(self) -> None:
        """Put the bookmark."""
        self.canv.bookmarkHorizontal(self._key, 0, 14)
        self.canv.addOutlineEntry(self._text, self._key, level=0)


def write(
    flowables: Callable[[float, float], list[Any]], imprint: Imprint, paper: str = "a4"
) -> bytes:
    """Return the whole file; ``flowables`` is given the width and the height of a
    page's room, in points.

    It is laid out twice: only then is it known how many pages there are.
    """
    _letters()
    pages, _ = _lay_out(flowables, imprint, paper, None)
    _, content = _lay_out(flowables, imprint, paper, pages)
    return content


def _lay_out(
    flowables: Callable[[float, float], list[Any]],
    imprint: Imprint,
    paper: str,
    pages: int | None,
) -> tuple[int, bytes]:
    size = PAPERS[paper]
    out = io.BytesIO()
    inner, high = (side - 2 * MARGIN for side in size)
    frame = Frame(
        MARGIN,
        MARGIN,
        inner,
        high,
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
    )

    def furnish(canvas: Canvas, _: BaseDocTemplate) -> None:
        if canvas.getPageNumber() == 1:
            _describe(canvas, imprint)
        of = f" of {pages}" if pages else ""
        canvas.setFont(PLAIN, 7)
        canvas.drawString(
            MARGIN, 24, f"{imprint.foot}, page {canvas.getPageNumber()}{of}"
        )

    document = BaseDocTemplate(
        out,
        pagesize=size,
        title=imprint.title,
        author="",
        subject="",
        creator="sumpgate",
        producer="sumpgate, reportlab",
        lang="en",
        invariant=1,
        displayDocTitle=True,
        pageTemplates=[PageTemplate(id="page", frames=[frame], onPage=furnish)],
    )
    document.build(flowables(inner, high))
    return document.page, out.getvalue()


def _describe(canvas: Canvas, imprint: Imprint) -> None:
    canvas.showOutline()
    canvas.setViewerPreference("DisplayDocTitle", "true")
    when = _moment(imprint.date_utc_s)
    # reportlab's own fixed date would be the year 2000, as if that had been told.
    canvas._doc._timeStamp.YMDhms = when.timetuple()[:6]  # noqa: SLF001


def _moment(utc_s: float | None) -> dt.datetime:
    try:
        return dt.datetime.fromtimestamp(utc_s or 0.0, dt.UTC)
    except (OverflowError, OSError, ValueError):
        return dt.datetime.fromtimestamp(0.0, dt.UTC)
