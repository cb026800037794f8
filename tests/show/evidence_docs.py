"""Write the demo job's report into docs/report, as HTML and PDF; the same each time.

With pdftoppm there also pictures of its first page: metric on A4, US on Letter, each
in color and in grey.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from bridge.jobfile.file.chain import Row, RowDraft, from_body, to_body
from bridge.jobfile.file.format import RowKind
from bridge.jobfile.file.reader import reading, rows
from bridge.jobfile.file.store import LOOK, Store
from bridge.jobfile.report.compose import compose
from bridge.jobfile.report.report_html import as_html
from bridge.jobfile.report.report_pdf import as_pdf
from bridge.jobfile.report.summary import tell
from bridge.units import Units
from tests.show.parts.evidence.job import whole_job

ROOT = Path(__file__).resolve().parents[2]


def retold(path: Path, made: Path) -> None:
    """Write a job's events anew, in one go, with an id that is no chance.

    The recorder's thread puts together what comes within half a real second, so that
    the numbers and hashes of two runs differ where nothing else does.
    """
    with reading(path) as db:
        found = list(rows(db))
    waiting = [
        (at, t_s) for r in found if r.kind == RowKind.LOOKS for at, t_s in _at(r)
    ]
    first, *rest = [r for r in found if r.kind != RowKind.LOOKS]
    told = from_body(first.body)
    store = Store.create(
        made, _draft(first)._replace(body=to_body({**told, "job": "demo"}))
    )
    drafts: list[RowDraft] = []
    for row in rest[:-1]:
        while waiting and waiting[0][0] < row.seq:
            drafts.append(RowDraft(LOOK, waiting.pop(0)[1], row.utc_s))
        drafts.append(_draft(row))
    store.append(drafts + [RowDraft(LOOK, t_s, rest[-1].utc_s) for _, t_s in waiting])
    assert store.finish(_draft(rest[-1]))


def _at(row: Row) -> list[tuple[int, float]]:
    return [(seq, t_s) for seq, t_s in from_body(row.body)["at"]]


def _draft(row: Row) -> RowDraft:
    return RowDraft._make(row[1:8])


def made() -> tuple[str, dict[str, bytes]]:
    """Record the job on the bench; return the page, and the PDF by its name."""
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "demo.job"
        whole_job(Path(name) / "first.job")
        retold(Path(name) / "first.job", path)
        summary = tell(path)
    document = compose(summary, Units.METRIC)
    us = as_pdf(compose(summary, Units.US), "letter")
    return as_html(document), {"metric": as_pdf(document), "us": us}


def first_pages(printed: dict[str, bytes], folder: Path) -> None:
    """Draw page one of each PDF, in color and in grey."""
    with tempfile.TemporaryDirectory() as name:
        for units, content in printed.items():
            path = Path(name) / "a.pdf"
            path.write_bytes(content)
            for grey in ((), ("-gray",)):
                made = folder / f"page-one-{units}{'-grey' if grey else ''}"
                tool = ["pdftoppm", "-png", "-r", "75", "-l", "1", "-singlefile"]
                subprocess.run([*tool, *grey, str(path), str(made)], check=True)


def main() -> None:
    """Write both forms, and the pictures where they can be made."""
    folder = ROOT / "docs" / "report"
    folder.mkdir(exist_ok=True)
    page, printed = made()
    (folder / "demo.html").write_text(page, "utf-8", newline="\n")
    (folder / "demo.pdf").write_bytes(printed["metric"])
    if shutil.which("pdftoppm"):
        first_pages(printed, folder)
    print(f"{folder / 'demo.html'} and demo.pdf written")


if __name__ == "__main__":
    main()
