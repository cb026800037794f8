"""`sumpgate report`: a recorded job as a page to keep, and as PDF."""

from __future__ import annotations

import tempfile
from argparse import Namespace
from pathlib import Path

from bridge.jobfile.job_folder import SUFFIX, find_job
from bridge.jobfile.report.compose import compose
from bridge.jobfile.report.report_html import as_html
from bridge.jobfile.report.summary import tell
from bridge.values.errors import UsageError
from tui.cli.flags.units_flag import units_of


def run(args: Namespace) -> int:
    """Write the report; say where it is, and whether the record is intact."""
    path = find_job(args.job)
    story = tell(path)
    document = compose(story, units_of(args.units))
    page = Path(args.out) if args.out else Path(f"{path.stem}.html")
    if page.suffix.lower() not in (".html", ".htm"):
        raise UsageError(f"--out {page} must end in .html: the PDF goes beside it")
    put(page, as_html(document).encode("utf-8"))
    print(page)
    if args.pdf:
        # Not at the top: it loads the PDF library, which only this needs.
        from bridge.jobfile.report.report_pdf import as_pdf

        beside = page.with_suffix(".pdf")
        put(beside, as_pdf(document, args.paper))
        print(beside)
    print(f"the record is {story.intact.sentence}")
    return 0


def put(path: Path, content: bytes) -> None:
    """Write a file whole or not at all; never over a job file.

    Raises UsageError where it cannot be written.
    """
    if path.suffix == SUFFIX:
        raise UsageError(f"{path} would be a job file: name another")
    made: Path | None = None
    try:
        with tempfile.NamedTemporaryFile(
            dir=path.parent, prefix=".report-", delete=False
        ) as file:
            made = Path(file.name)
            file.write(content)
        made.chmod(0o644)
        made.replace(path)
    except OSError as problem:
        if made is not None:
            made.unlink(missing_ok=True)
        why = problem.strerror or problem
        raise UsageError(
            f"{path} cannot be written ({why}): name a file in a folder you may "
            "write to with --out"
        ) from None
