"""A report as PDF: the same blocks as the page, laid out on A4 or Letter."""

from __future__ import annotations

import io
from dataclasses import replace
from functools import cache
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import (
    CondPageBreak,
    Flowable,
    Image,
    KeepTogether,
    PageBreak,
    Paragraph,
    Spacer,
)
from reportlab.platypus import Table as Grid

from bridge.jobfile.report import pdf_paper
from bridge.jobfile.report.document import (
    Block,
    Document,
    Figure,
    Items,
    Para,
    Picture,
    ReportTable,
    Section,
    Tone,
)
from bridge.jobfile.report.pdf_paper import BOLD, PLAIN, Imprint, PageHeading
from bridge.jobfile.report.report_plot import WIDTH, Box, Plot, PlotLine, Word
from bridge.values.frozen import frozen

SIZE, LEAD = 8.5, 11.5
SIGN = 14.0
"""Room to sign in, in points."""
PICTURE = 170.0
"""The longer side of a photo, in points."""
TIGHTER = (
    (10_000, 100, 1.0),
    (400, 8, 1.0),
    (250, 6, 0.94),
    (160, 5, 0.94),
    (110, 4, 0.88),
    (70, 3, 0.88),
    (40, 2, 0.82),
    (24, 1, 0.82),
)
"""What fits the first page on one: characters of a cell, lines of a list, letters' size
as a share of the usual one."""
LEAST_PARA, LEAST_ITEM = 150, 90
"""A paragraph, a list's line of the first page is never cut to fewer characters."""
FURTHER = " ... (whole further back)"
CELL = 5.0
PLOT_SIZE = 7.0
Rgb = tuple[float, float, float]
INK: Rgb = (0.1, 0.1, 0.1)
RULE: Rgb = (0.75, 0.75, 0.75)
_TONES: dict[Tone, tuple[Rgb, Rgb, float, tuple[float, ...]]] = {
    Tone.GOOD: ((0.91, 0.96, 0.92), (0.1, 0.42, 0.2), 0.0, ()),
    Tone.DOUBT: ((0.99, 0.95, 0.86), (0.6, 0.4, 0), 0.0, (3, 2)),
    Tone.BAD: ((0.99, 0.92, 0.92), (0.6, 0, 0), 1.2, ()),
}
"""Ground, bar, and what tells without color: the frame's width, the bar's dashes."""
_FILLS: dict[str, Rgb] = {"window": (0.81, 0.91, 0.84), "gap": (0.8, 0.8, 0.8)}
_STROKES: dict[str, tuple[Rgb, float, tuple[float, ...]]] = {
    "trace": ((0.04, 0.24, 0.57), 1.0, ()),
    "grid": ((0.87, 0.87, 0.87), 0.4, ()),
    "edge": ((0.12, 0.42, 0.23), 0.7, (5, 3)),
    "mark": ((0.42, 0.06, 0.06), 0.8, (1.5, 1.5)),
    "hatch": ((0.35, 0.35, 0.35), 0.4, ()),
}
SPELLED = (
    "Characters that the typeface of this form lacks are spelled by their numbers in "
    "Unicode, such as [U+0416]; the HTML report has them as they are."
)


def as_pdf(document: Document, paper: str = "a4") -> bytes:
    """Return the report as PDF; ``paper`` is 'a4' or 'letter'.

    One document gives the same bytes each time.
    """
    title = f"{document.title}: {document.subtitle}"
    imprint = Imprint(
        title=pdf_paper.spelled(title)[0],
        foot=f"job {document.digest}" if document.digest else document.title,
        date_utc_s=document.date_utc_s,
    )
    return pdf_paper.write(
        lambda *room: _Story(*room).of(document), imprint, paper=paper
    )


@frozen
class _Look:
    size: float = SIZE
    bold: bool = False
    indent: float = 0.0


@cache
def _style(look: _Look) -> ParagraphStyle:
    return ParagraphStyle(
        name=repr(look),
        fontName=BOLD if look.bold else PLAIN,
        fontSize=look.size,
        leading=look.size * LEAD / SIZE,
        textColor=Color(*INK),
        leftIndent=look.indent,
        bulletIndent=max(0.0, look.indent - 10.0),
        bulletFontName=PLAIN,
        bulletFontSize=look.size,
        allowWidows=0,
        allowOrphans=0,
        splitLongWords=1,
    )


class _Story:
    """Turns blocks into what reportlab lays out on pages of that room, in points."""

    def __init__(self, room: float, high: float) -> None:
        self._room, self._high = room, high
        self._spelled = False
        self._most, self._lines, self._scale = TIGHTER[0]
        self._cuts = False

    def of(self, document: Document) -> list[Any]:
        """Return the whole report."""
        summary: list[Any] = [
            self._words(document.title, _Look(size=16, bold=True)),
            self._words(document.subtitle),
        ]
        for index, section in enumerate(document.sections, 1):
            if section.ends_page:
                summary = [*self._fitted(summary, section, f"s{index}"), PageBreak()]
            else:
                summary += self._section(section, f"s{index}")
        summary += [Spacer(0, 8), self._words(document.footer, _Look(size=7.5))]
        if self._spelled:
            summary.append(self._words(SPELLED, _Look(size=7.5)))
        return summary

    def _fitted(self, before: list[Any], section: Section, key: str) -> list[Any]:
        """Return a section that ends its page so that it fits on it, if it can.

        What is long is cut, and says so; all of it stands further back. Where even
        that is too much, it goes on on the next page.
        """
        made: list[Any] = []
        self._cuts = True
        for self._most, self._lines, self._scale in TIGHTER:
            parts = [*before, *self._section(section, key)]
            made = [p for p in parts if not isinstance(p, CondPageBreak)]
            if sum(p.wrap(self._room, self._high)[1] for p in made) <= self._high:
                break
        self._cuts, self._scale = False, 1.0
        return made

    def _text(self, text: str, least: int = 0) -> str:
        words, some = pdf_paper.spelled(text)
        self._spelled = self._spelled or some
        most = max(self._most, least)
        if self._cuts and len(words) > most + len(FURTHER):
            return f"{words[:most].rstrip()}{FURTHER}"
        return words

    def _words(
        self, text: str, look: _Look | None = None, bullet: str = "", least: int = 0
    ) -> Any:
        words = escape(self._text(text, least))
        style = look or _Look()
        style = replace(style, size=style.size * self._scale)
        return Paragraph(words, _style(style), bulletText=bullet or None)

    def _section(self, section: Section, key: str) -> list[Any]:
        first = section.blocks[0] if section.blocks else None
        figure = first.plot.height if isinstance(first, Figure) else 0.0
        need = 60 + self._room / WIDTH * figure
        summary: list[Any] = [
            CondPageBreak(need),
            Spacer(0, 10),
            PageHeading(self._text(section.heading), key),
            self._words(section.heading, _Look(size=11, bold=True)),
            _Rule(self._room),
        ]
        for block in section.blocks:
            summary += self._block(block)
        return summary

    def _block(self, block: Block) -> list[Any]:
        match block:
            case Para():
                above = [Spacer(0, SIGN * self._scale)] if block.signed else []
                return [*above, self._para(block), Spacer(0, 3)]
            case Items():
                look = _Look(indent=12.0)
                lines = block.shown(self._lines if self._cuts else None)
                return [self._words(t, look, "•", least=LEAST_ITEM) for t in lines]
            case ReportTable():
                return self._table(block)
            case Figure():
                caption = self._words(block.caption, _Look(size=7.5))
                return [_Drawing(block.plot, self._room), caption, Spacer(0, 4)]
            case Picture():
                scale = PICTURE / max(block.width, block.height)
                size = (block.width * scale, block.height * scale)
                photo = Image(io.BytesIO(block.jpeg), *size, hAlign="LEFT")
                below = self._words(block.caption, _Look(size=7.5))
                return [KeepTogether([photo, below, Spacer(0, 6)])]

    def _para(self, para: Para) -> Any:
        if para.tone is Tone.PLAIN:
            return self._words(para.text, least=LEAST_PARA)
        ground, bar, frame, dash = _TONES[para.tone]
        grid = Grid(
            [[self._words(para.text, _Look(bold=True), least=LEAST_PARA)]],
            colWidths=[self._room],
            splitInRow=1,
        )
        grid.setStyle(
            [
                ("BACKGROUND", (0, 0), (-1, -1), Color(*ground)),
                ("LINEBEFORE", (0, 0), (0, -1), 5, Color(*bar), 0, dash or None),
                ("LEFTPADDING", (0, 0), (-1, -1), 10),
                ("TOPPADDING", (0, 0), (-1, -1), 2),
                *([("BOX", (0, 0), (-1, -1), frame, Color(*bar))] if frame else []),
            ]
        )
        return grid

    def _table(self, table: ReportTable) -> list[Any]:
        rows = [table.head, *table.rows]
        bold = _Look(bold=True)
        cells = [
            [self._words(cell, bold if i == 0 else None) for cell in row]
            for i, row in enumerate(rows)
        ]
        grid = Grid(
            cells,
            colWidths=self._columns(table),
            hAlign="LEFT",
            repeatRows=1,
            splitInRow=1,
        )
        grid.setStyle(
            [
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LINEBELOW", (0, 0), (-1, -1), 0.4, Color(*RULE)),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), CELL),
                ("TOPPADDING", (0, 0), (-1, -1), 1),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
            ]
        )
        caption = self._words(table.caption, bold)
        return [CondPageBreak(5 * LEAD), Spacer(0, 4), caption, grid, Spacer(0, 5)]

    def _columns(self, table: ReportTable) -> list[float]:
        """Return the columns' widths: what they need, or a fair share of the room."""
        rows, size = (table.head, *table.rows), SIZE * self._scale
        wanted = [
            max(pdf_paper.width(self._text(r[i]), size, bold=True) for r in rows)
            for i in range(len(table.head))
        ]
        room, left = self._room, len(wanted)
        given = [0.0] * left
        for index in sorted(range(left), key=lambda i: wanted[i]):
            given[index] = min(wanted[index] + 3 * CELL, room / left)
            room, left = room - given[index], left - 1
        return given


class _Rule(Flowable):  # type: ignore[misc]  # reportlab brings no types
    """The line under a heading."""

    def __init__(self, room: float) -> None:
        super().__init__()
        self._room = room

    def wrap(self, *_: float) -> tuple[float, float]:
        return self._room, 5.0

    def draw(self) -> None:
        self.canv.setStrokeColorRGB(0.45, 0.45, 0.45)
        self.canv.setLineWidth(0.6)
        self.canv.line(0, 3.5, self._room, 3.5)


class _Drawing(Flowable):  # type: ignore[misc]  # as above
    """A plot, drawn as lines and boxes, not as a picture."""

    def __init__(self, plot: Plot, room: float) -> None:
        super().__init__()
        self._plot, self._room = plot, room

    def wrap(self, *_: float) -> tuple[float, float]:
        return self._room, self._plot.height * self._room / WIDTH

    def draw(self) -> None:
        scale = self._room / WIDTH
        self.canv.scale(scale, scale)
        for shape in self._plot.shapes:
            if isinstance(shape, Box):
                self._box(shape)
            elif isinstance(shape, PlotLine):
                self._line(shape)
            else:
                self._word(shape)

    def _box(self, box: Box) -> None:
        self.canv.setFillColorRGB(*_FILLS[box.style])
        top = self._plot.height - box.y - box.height
        self.canv.rect(box.x, top, box.width, box.height, stroke=0, fill=1)

    def _line(self, line: PlotLine) -> None:
        colour, thick, dash = _STROKES[line.style]
        self.canv.setStrokeColorRGB(*colour)
        self.canv.setLineWidth(thick)
        self.canv.setDash(*((list(dash),) if dash else ()))
        path = self.canv.beginPath()
        for index, (x, y) in enumerate(line.points):
            (path.lineTo if index else path.moveTo)(x, self._plot.height - y)
        self.canv.drawPath(path, stroke=1, fill=0)

    def _word(self, word: Word) -> None:
        text, _ = pdf_paper.spelled(word.text)
        share = {"start": 0.0, "middle": 0.5, "end": 1.0}[word.anchor]
        x = word.x - share * pdf_paper.width(text, PLOT_SIZE)
        self.canv.setFillColorRGB(*INK)
        self.canv.setFont(PLAIN, PLOT_SIZE)
        self.canv.drawString(x, self._plot.height - word.y, text)
