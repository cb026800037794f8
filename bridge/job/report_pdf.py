"""A report as PDF: the same blocks as the page, laid out on A4 or Letter."""

from __future__ import annotations

from bridge.job import pdf
from bridge.job.document import Document, Figure, Items, Para, Section, Table, Tone
from bridge.job.helvetica import width
from bridge.job.plot import HEIGHT, WIDTH, Box, Line, Plot, Word

MARGIN = 48.0
SIZE, LEAD = 9.5, 12.5
CELL = 4.0
_TONES = {
    Tone.GOOD: (0.91, 0.96, 0.92),
    Tone.DOUBT: (0.99, 0.95, 0.86),
    Tone.BAD: (0.99, 0.92, 0.92),
}
_BARS = {Tone.GOOD: (0.1, 0.42, 0.2), Tone.DOUBT: (0.6, 0.4, 0), Tone.BAD: (0.6, 0, 0)}
_FILLS = {"window": (0.81, 0.91, 0.84), "gap": (0.8, 0.8, 0.8)}
_STROKES: dict[str, tuple[pdf.Colour, float, str]] = {
    "trace": ((0.04, 0.24, 0.57), 1.0, ""),
    "grid": ((0.87, 0.87, 0.87), 0.4, ""),
    "edge": ((0.12, 0.42, 0.23), 0.7, "5 3"),
    "mark": ((0.42, 0.06, 0.06), 0.8, "1.5 1.5"),
}
RULE: pdf.Colour = (0.75, 0.75, 0.75)
_MISSING = "Characters this form cannot show stand as '?': the HTML report has them."


def as_pdf(document: Document, paper: str = "a4") -> bytes:
    """Return the report as PDF; ``paper`` is 'a4' or 'letter'."""
    sheet = _Layout(*pdf.PAPERS[paper])
    sheet.words(document.title, size=17, bold=True)
    sheet.words(document.subtitle)
    for section in document.sections:
        _section(sheet, section)
    sheet.space(8)
    sheet.words(document.footer, size=8.5)
    if sheet.lacking:
        sheet.words(_MISSING, size=8.5)
    sheet.number_pages(document.title)
    return pdf.write(sheet.pages, f"{document.title}: {document.subtitle}")


class _Layout:
    """Fills pages from top to bottom."""

    def __init__(self, page_width: float, page_height: float) -> None:
        self._size = (page_width, page_height)
        self.inner = page_width - 2 * MARGIN
        self.pages: list[pdf.Page] = []
        self.lacking = False
        self.new_page()

    def new_page(self) -> None:
        """Begin a page."""
        self.page = pdf.Page(*self._size)
        self.pages.append(self.page)
        self.y = MARGIN

    def need(self, height: float) -> None:
        """Begin a page unless so much is left on this one."""
        if self.y + height > self._size[1] - MARGIN and self.y > MARGIN:
            self.new_page()

    def space(self, height: float) -> None:
        """Leave some room."""
        self.y += height

    def broken(
        self, text: str, room: float, size: float, *, bold: bool = False
    ) -> list[bytes]:
        """Return a text as lines that fit; a word that is too long is cut."""
        self.lacking = self.lacking or pdf.lacks(text)
        lines: list[bytes] = [b""]
        for word in pdf.encode(text).split():
            longer = lines[-1] + b" " * bool(lines[-1]) + word
            if width(longer, size, bold=bold) <= room:
                lines[-1] = longer
                continue
            pieces = _cut(word, room, size, bold=bold)
            lines += pieces if lines[-1] else pieces[1:]
            if not lines[0]:
                lines[0] = pieces[0]
        return lines

    def words(
        self,
        text: str,
        *,
        size: float = SIZE,
        bold: bool = False,
        indent: float = 0.0,
        sign: bytes = b"",
    ) -> None:
        """Write a paragraph."""
        lead = size * LEAD / SIZE
        for line in self.broken(text, self.inner - indent, size, bold=bold):
            self.need(lead)
            self.y += lead
            left = MARGIN + indent
            self.page.text(left, self.y - 3, line, size, bold=bold)
            if sign:
                self.page.text(left - 9, self.y - 3, sign, size, bold=bold)
                sign = b""

    def number_pages(self, title: str) -> None:
        """Put title and number at the foot of every page."""
        for number, page in enumerate(self.pages, 1):
            said = pdf.encode(f"{title}, page {number} of {len(self.pages)}")
            page.text(MARGIN, self._size[1] - 24, said, 8, bold=False)


def _cut(word: bytes, room: float, size: float, *, bold: bool) -> list[bytes]:
    pieces = [b""]
    for code in word:
        longer = pieces[-1] + bytes((code,))
        if width(longer, size, bold=bold) > room and pieces[-1]:
            pieces.append(bytes((code,)))
        else:
            pieces[-1] = longer
    return pieces


def _section(sheet: _Layout, section: Section) -> None:
    first_is_figure = bool(section.blocks) and isinstance(section.blocks[0], Figure)
    sheet.need(70 + (HEIGHT if first_is_figure else 0.0))
    sheet.space(10)
    sheet.words(section.heading, size=12, bold=True)
    ends = ((MARGIN, sheet.y), (MARGIN + sheet.inner, sheet.y))
    sheet.page.line(ends, (0.45, 0.45, 0.45), 0.6)
    sheet.space(3)
    for block in section.blocks:
        _block(sheet, block)


def _block(sheet: _Layout, block: Para | Items | Table | Figure) -> None:
    if isinstance(block, Para):
        _para(sheet, block)
    elif isinstance(block, Items):
        for line in block.lines:
            sheet.words(line, indent=12, sign=b"\x95")
    elif isinstance(block, Table):
        _table(sheet, block)
    else:
        _figure(sheet, block)


def _para(sheet: _Layout, para: Para) -> None:
    if para.tone is Tone.PLAIN:
        sheet.words(para.text)
        sheet.space(2)
        return
    lines = sheet.broken(para.text, sheet.inner - 16, SIZE, bold=True)
    height = len(lines) * LEAD + 6
    sheet.need(height)
    sheet.page.box(MARGIN, sheet.y, sheet.inner, height, _TONES[para.tone])
    sheet.page.box(MARGIN, sheet.y, 4, height, _BARS[para.tone])
    sheet.space(3)
    sheet.words(para.text, bold=True, indent=10)
    sheet.space(5)


def _columns(sheet: _Layout, table: Table) -> list[float]:
    """Return the columns' widths: what they need, or a fair share of what there is."""
    rows = (table.head, *table.rows)
    wanted = [
        max(width(pdf.encode(row[i]), SIZE, bold=True) for row in rows) + 2 * CELL
        for i in range(len(table.head))
    ]
    room, left = sheet.inner, len(wanted)
    given = [0.0] * left
    for index in sorted(range(left), key=lambda i: wanted[i]):
        given[index] = min(wanted[index], room / left)
        room, left = room - given[index], left - 1
    return given


def _table(sheet: _Layout, table: Table) -> None:
    widths = _columns(sheet, table)
    sheet.need(4 * LEAD)
    sheet.space(3)
    sheet.words(table.caption, bold=True)
    _row(sheet, table.head, widths, bold=True)
    for row in table.rows:
        if _row_height(sheet, row, widths) + sheet.y > sheet.page.height - MARGIN:
            sheet.new_page()
            _row(sheet, table.head, widths, bold=True)
        _row(sheet, row, widths, bold=False)
    sheet.space(4)


def _cells(
    sheet: _Layout, row: tuple[str, ...], widths: list[float], *, bold: bool
) -> list[list[bytes]]:
    return [
        sheet.broken(cell, room - CELL, SIZE, bold=bold)
        for cell, room in zip(row, widths, strict=True)
    ]


def _row_height(sheet: _Layout, row: tuple[str, ...], widths: list[float]) -> float:
    most = max(len(lines) for lines in _cells(sheet, row, widths, bold=False))
    return most * LEAD + 2


def _row(
    sheet: _Layout, row: tuple[str, ...], widths: list[float], *, bold: bool
) -> None:
    x, top = MARGIN, sheet.y
    cells = _cells(sheet, row, widths, bold=bold)
    for lines, room in zip(cells, widths, strict=True):
        for index, line in enumerate(lines, 1):
            sheet.page.text(x, top + index * LEAD - 3, line, SIZE, bold=bold)
        x += room
    sheet.y = top + max(map(len, cells)) * LEAD + 2
    ends = ((MARGIN, sheet.y - 1), (MARGIN + sheet.inner, sheet.y - 1))
    sheet.page.line(ends, RULE, 0.4)


def _figure(sheet: _Layout, figure: Figure) -> None:
    scale = sheet.inner / WIDTH
    sheet.need(HEIGHT * scale + 2 * LEAD)
    _plot(sheet.page, figure.plot, MARGIN, sheet.y, scale)
    sheet.space(HEIGHT * scale + 2)
    sheet.words(figure.caption, size=8.5)
    sheet.space(3)


def _plot(page: pdf.Page, plot: Plot, left: float, top: float, scale: float) -> None:
    for shape in plot.shapes:
        if isinstance(shape, Box):
            page.box(
                left + shape.x * scale,
                top + shape.y * scale,
                shape.width * scale,
                shape.height * scale,
                _FILLS[shape.style],
            )
        elif isinstance(shape, Line):
            points = [(left + x * scale, top + y * scale) for x, y in shape.points]
            page.line(points, *_STROKES[shape.style])
        else:
            _word(page, shape, left, top, scale)


def _word(page: pdf.Page, word: Word, left: float, top: float, scale: float) -> None:
    data, size = pdf.encode(word.text), 7.5 * scale
    share = {"start": 0.0, "middle": 0.5, "end": 1.0}[word.anchor]
    x = left + word.x * scale - share * width(data, size)
    page.text(x, top + word.y * scale, data, size, bold=False)
