"""Write the demo job's report into docs/report, as HTML and PDF."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parent))

from evidence_job import whole_job

from bridge.job.compose import compose
from bridge.job.report_html import as_html
from bridge.job.report_pdf import as_pdf
from bridge.job.story import tell
from bridge.units import Units

ROOT = Path(__file__).resolve().parents[2]


def main() -> None:
    """Record the job on the bench, and report on it."""
    folder = ROOT / "docs" / "report"
    folder.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "demo.job"
        whole_job(path)
        document = compose(tell(path), Units.METRIC)
    (folder / "demo.html").write_text(as_html(document), "utf-8", newline="\n")
    (folder / "demo.pdf").write_bytes(as_pdf(document))
    print(f"{folder / 'demo.html'} and demo.pdf written")


if __name__ == "__main__":
    main()
