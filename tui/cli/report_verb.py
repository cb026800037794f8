"""`sumpgate report`: a recorded job as a page to keep, and as PDF."""

from __future__ import annotations

import os
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
    story = tell(path, photos=args.photos)
    document = compose(story, units_of(args.units))
    page = Path(args.out) if args.out else Path(f"{path.stem}.html")
    if page.suffix.lower() not in (".html", ".htm"):
        raise UsageError(f"--out {page} must end in .html: the PDF goes beside it")
    beside = page.with_suffix(".pdf")
    need_free(*([page, beside] if args.pdf else [page]), force=args.force)
    put(page, as_html(document).encode("utf-8"))
    print(page)
    if args.pdf:
        # Not at the top: it loads the PDF library, which only this needs.
        from bridge.jobfile.report.report_pdf import as_pdf

        put(beside, as_pdf(document, args.paper))
        print(beside)
    print(f"the record is {story.intact.sentence}")
    return 0


def need_free(*paths: Path, force: bool) -> None:
    """Refuse to write over what is there; raises UsageError naming the first."""
    for path in paths:
        if not force and os.path.lexists(path):
            raise UsageError(
                f"{path} is there already: name another with --out, or say --force "
                "to write over it"
            )


def put(path: Path, content: bytes) -> None:
    """Write a file whole or not at all, for its owner alone; never over a job file.

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
        made.replace(path)
    except OSError as problem:
        if made is not None:
            made.unlink(missing_ok=True)
        why = problem.strerror or problem
        raise UsageError(
            f"{path} cannot be written ({why}): name a file in a folder you may "
            "write to with --out"
        ) from None
