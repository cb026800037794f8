"""The report's page judged by html5lib, a parser that follows the HTML standard."""

from __future__ import annotations

from pathlib import Path

import html5lib
import pytest
from html5lib.html5parser import ParseError

from bridge.jobfile.report.compose import compose
from bridge.jobfile.report.document import Document
from bridge.jobfile.report.report_html import as_html
from bridge.jobfile.report.summary import tell
from bridge.sheets import load
from bridge.units import Units
from tests.jobfile.job_help import record
from tests.jobfile.report.test_job_report import nasty

X = "{http://www.w3.org/1999/xhtml}"


def parse(page: str):
    return html5lib.HTMLParser(strict=True).parse(page)


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Document:
    path = tmp_path_factory.mktemp("html") / "a.job"
    record(path, seconds=90)
    return compose(tell(path), Units.METRIC)


@pytest.mark.parametrize(
    "wrong",
    [
        "<p>one</div>",
        "<table><p>x</p></table>",
        "<b><i>x</b></i>",
        "<p title=a title=b>x</p>",
        "&nosuch;",
    ],
)
def test_the_judge_does_object(wrong: str) -> None:
    with pytest.raises(ParseError):
        parse(f"<!DOCTYPE html><title>t</title><body>{wrong}</body>")


@pytest.mark.slow
def test_the_standards_parser_has_no_objection(told: Document) -> None:
    for page in (as_html(told), as_html(nasty())):
        tree = parse(page)
        assert tree.find(f".//{X}main") is not None


@pytest.mark.slow
def test_tables_figures_and_headings_mean_what_they_show(told: Document) -> None:
    """HTML Living Standard, 4.9 (tables); WCAG 2.2, 1.1.1, 1.3.1, 2.4.2, 3.1.1."""
    tree = parse(as_html(told))
    assert tree.get("lang") == "en"
    assert tree.find(f".//{X}title").text
    tables = tree.findall(f".//{X}table")
    assert len(tables) >= 5
    for table in tables:
        assert table.find(f"{X}caption").text
        heads = table.findall(f"{X}thead/{X}tr/{X}th")
        assert all(h.get("scope") == "col" and h.text for h in heads)
        for row in table.findall(f"{X}tbody/{X}tr"):
            assert len(row) == len(heads)
            assert row[0].tag == f"{X}th"
            assert row[0].get("scope") == "row"
    plots = tree.findall(".//{http://www.w3.org/2000/svg}svg")
    assert len(plots) == 1
    assert plots[0].get("role") == "img"
    assert "readings" in plots[0].get("aria-label")
    assert len(tree.findall(f".//{X}h1")) == 1
    ids = [e.get("id") for e in tree.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    for section in tree.findall(f".//{X}section"):
        assert section.get("aria-labelledby") in ids


def test_the_page_in_the_documents_is_sound() -> None:
    root = Path(__file__).resolve().parents[3]
    page = (root / "docs" / "report" / "demo.html").read_text("utf-8")
    parse(page)
    assert "SIMULATED" in page


@pytest.mark.slow
def test_the_demo_report_does_not_change_from_run_to_run() -> None:
    """The job is recorded twice on the bench; page and PDF are the same bytes."""
    from tests.show.evidence_docs import made

    assert made() == made()


def test_the_demo_report_is_of_its_own_sheet() -> None:
    """Complete, nothing unticked, each torque beside the one its sheet asks for."""
    root = Path(__file__).resolve().parents[3]
    page = (root / "docs" / "report" / "demo.html").read_text("utf-8")
    told = " ".join("".join(parse(page).itertext()).split())
    assert "The service was closed as complete" in told
    assert "Nothing is missing from the record." in told
    assert "not ticked off" not in told
    assert "Plugs and covers, as typed" not in told
    for fastener in load("scar-eight-speed").service.fasteners:
        assert fastener.name in told
        assert f"{fastener.torque_nm:.1f} N·m" in told
