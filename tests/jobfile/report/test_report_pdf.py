"""The report as PDF, read back by pypdf, a reader that is none of ours."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from bridge.jobfile.recorder import add_to
from bridge.jobfile.report import pdf_paper
from bridge.jobfile.report.compose import compose
from bridge.jobfile.report.document import Document, Items, Para, ReportTable, Section
from bridge.jobfile.report.report_html import as_html
from bridge.jobfile.report.report_pdf import SPELLED, as_pdf
from bridge.jobfile.report.summary import tell
from bridge.units import Units
from tests.everyday import examples
from tests.jobfile.job_help import record

# ISO 216: A4 is 210 mm by 297 mm; ANSI/ASME Y14.1: size A, "Letter", 8.5 in by 11 in.
POINTS = {
    "a4": (210 / 25.4 * 72, 297 / 25.4 * 72),
    "letter": (8.5 * 72, 11.0 * 72),
}


def read(content: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(content), strict=True)


def words(text: str) -> str:
    """Return a text without any blank: how a line was broken does not matter."""
    return re.sub(r"\s+", "", text)


def all_text(reader: PdfReader) -> str:
    return words("".join(page.extract_text() for page in reader.pages))


def document(*blocks: Para | Items | ReportTable, title: str = "T") -> Document:
    section = Section(heading="Blocks", blocks=blocks)
    return Document(title=title, subtitle="s", sections=(section,), footer="the end")


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Document:
    """A job of 90 s with a volume, a note and an odometer."""
    path = tmp_path_factory.mktemp("pdf") / "a.job"
    record(path, seconds=90)
    add_to(
        path,
        [
            ("volume", {"what": "drained", "ml": 4150.0, "temp_c": 22.0}),
            ("note", {"text": "Öl ±, Ω, −3 °C, naïve"}),
            ("odometer", {"km": 61200.0}),
        ],
    )
    return compose(tell(path), Units.METRIC)


class _Figures(HTMLParser):
    """Every text of the page outside style and plot."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self._in: list[str] = []

    def handle_starttag(self, tag, attrs) -> None:
        if tag in ("svg", "style", "title"):
            self._in.append(tag)

    def handle_endtag(self, tag) -> None:
        if self._in and self._in[-1] == tag:
            self._in.pop()

    def handle_data(self, data) -> None:
        if not self._in and data.strip():
            self.texts.append(data)


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.few(1)
def test_the_pdf_says_what_the_page_says_in_its_order(told: Document, paper) -> None:
    page = _Figures()
    page.feed(as_html(told))
    assert len(page.texts) > 120
    rest = all_text(read(as_pdf(told, paper)))
    foot = re.compile(words(told.title) + r",page\d+of\d+")
    rest = foot.sub("", rest)
    wanted = [words(text).lstrip("✓✗?") for text in page.texts]
    at = skipped = 0
    for text in wanted:
        found = rest.find(text, at)
        assert found >= 0, f"{text!r} is not where it should be"
        skipped += found - at
        at = found + len(text)
    # What is over: heads that come again on the next page, and the plot's words.
    assert skipped < 600
    figures = {f for text in page.texts for f in re.findall(r"\d+\.\d+", text)}
    assert len(figures) >= 10


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.few(1)
def test_pages_have_the_papers_size_and_numbers(told: Document, paper: str) -> None:
    reader = read(as_pdf(told, paper))
    count = len(reader.pages)
    assert count > 1
    for number, page in enumerate(reader.pages, 1):
        size = (float(page.mediabox.width), float(page.mediabox.height))
        assert size == pytest.approx(POINTS[paper], abs=0.02)
        assert f"page {number} of {count}" in page.extract_text()


def test_title_language_date_and_bookmarks(told: Document) -> None:
    reader = read(as_pdf(told))
    about = reader.metadata
    assert about is not None
    assert about.title == f"{told.title}: {told.subtitle}"
    assert reader.root_object["/Lang"] == "en"
    wishes = reader.root_object["/ViewerPreferences"]
    assert wishes["/DisplayDocTitle"] == True  # type: ignore[index]  # noqa: E712
    assert about.creation_date is not None
    assert told.date_utc_s is not None
    # A PDF date has whole seconds (ISO 32000-1, 7.9.4).
    assert about.creation_date.timestamp() == int(told.date_utc_s)
    marks = [m for m in reader.outline if not isinstance(m, list)]
    assert [m.title for m in marks] == [s.heading for s in told.sections]
    for mark in marks:
        page = reader.get_destination_page_number(mark)
        assert page is not None
        assert str(mark.title) in reader.pages[page].extract_text()


@pytest.mark.slow
def test_one_document_gives_the_same_bytes(told: Document) -> None:
    assert as_pdf(told) == as_pdf(told)
    assert as_pdf(told) != as_pdf(told, "letter")


def test_the_plot_is_lines_and_no_picture(told: Document) -> None:
    reader = read(as_pdf(told))
    assert not any(page.images for page in reader.pages)
    drawn = b"".join(page.get_contents().get_data() for page in reader.pages)  # type: ignore[union-attr]
    assert drawn.count(b" l ") > 50


def test_the_typeface_is_inside_the_file(told: Document) -> None:
    names = set()
    for page in read(as_pdf(told)).pages:
        for font in page["/Resources"]["/Font"].values():  # type: ignore[index,union-attr]
            names.add(font["/BaseFont"])
            if font["/BaseFont"] != "/Helvetica":  # reportlab names it, unused
                assert "/FontFile2" in font["/FontDescriptor"]
    assert any(n.endswith("Vera") or "Vera" in n for n in names)
    drawn = b"".join(
        page.get_contents().get_data()  # type: ignore[union-attr]
        for page in read(as_pdf(told)).pages
    )
    # Only the faces that are inside are drawn with; F1 is the one that is not.
    used = set(re.findall(rb"/(F\d+)(?:\+\d+)? [\d.]+ Tf[^T]*?\(.+?\) Tj", drawn))
    assert b"F1" not in used


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("−3 °C ± 0.5, 25 N·m, × ½ €", "−3 °C ± 0.5, 25 N·m, × ½ €"),
        ("e\u0301", "é"),  # Unicode UAX 15: NFC composes them
        ("Ж車 x", "[U+0416 U+8ECA] x"),
        ("ő", "[U+0151]"),
        ("a?b", "a?b"),
    ],
)
def test_no_character_turns_into_a_question_mark(text: str, shown: str) -> None:
    reader = read(as_pdf(document(Para(text=text))))
    said = all_text(reader)
    assert words(shown) in said
    assert (words(SPELLED) in said) == ("U+" in shown)


@examples(60)
@given(st.text(max_size=60))
def test_spelling_loses_no_character(text: str) -> None:
    import unicodedata

    told, _ = pdf_paper.spelled(text)
    back = re.sub(
        r"\[(U\+[0-9A-F]{4,6}(?: U\+[0-9A-F]{4,6})*)\]",
        lambda m: "".join(chr(int("0x" + c[2:], 0)) for c in m[1].split()),
        told,
    )
    respelled = text.replace("\u202f", "\u00a0").replace("\t", " ")
    assert back == unicodedata.normalize("NFC", respelled)


def test_a_long_table_has_its_head_on_every_page() -> None:
    rows = tuple((f"row {i:03d}", "x") for i in range(200))
    table = ReportTable(caption="Long", head=("Which one", "What"), rows=rows)
    reader = read(as_pdf(document(table)))
    assert len(reader.pages) >= 3
    for page in reader.pages:
        text = page.extract_text()
        if "row " in text:
            assert "Which one" in text
    said = "".join(p.extract_text() for p in reader.pages)
    assert re.findall(r"row (\d{3})", said) == [f"{i:03d}" for i in range(200)]


@pytest.mark.slow
def test_long_notes_flow_over_pages_and_none_is_cut() -> None:
    long = " ".join(f"w{i}" for i in range(6000))
    table = ReportTable(caption="c", head=("a", "b"), rows=(("cell", long),))
    for block in (Para(text=long), Items(lines=(long,)), table):
        reader = read(as_pdf(document(block)))
        assert len(reader.pages) > 2
        said = " ".join(p.extract_text() for p in reader.pages)
        assert re.findall(r"w(\d+)", said) == [str(i) for i in range(6000)]


def test_a_word_without_blanks_stays_on_the_paper() -> None:
    """Where each piece stands and how wide it is, by pypdf's own account."""
    content = as_pdf(document(Para(text="W" * 700), Items(lines=("m" * 700,))))
    reader = read(content)
    assert all_text(reader).count("W") == 700
    seen: list[tuple[float, str]] = []

    def visit(text, _, matrix, __, size) -> None:
        if text.strip():
            seen.append((matrix[4], text))

    for page in reader.pages:
        page.extract_text(visitor_text=visit)
    for x, text in seen:
        for line in text.splitlines():
            assert x + pdf_paper.width(line.strip(), 8.5) < POINTS["a4"][0] - 40


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="no pdftoppm here")
def test_another_program_draws_every_page(told: Document, tmp_path: Path) -> None:
    path = tmp_path / "a.pdf"
    path.write_bytes(as_pdf(told))
    done = subprocess.run(
        ["pdftoppm", "-r", "40", "-gray", str(path), str(tmp_path / "p")],
        capture_output=True,
        text=True,
    )
    assert (done.returncode, done.stderr) == (0, "")
    drawn = sorted(tmp_path.glob("p*.pgm"))
    assert len(drawn) == len(read(path.read_bytes()).pages)
    for page in drawn:
        assert min(page.read_bytes()[20:]) < 100  # there is ink on it
