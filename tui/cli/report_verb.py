"""`sumpgate report`: a recorded job as a page to keep, and as PDF."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from bridge.jobfile.job_folder import find_job
from bridge.jobfile.report.compose import compose
from bridge.jobfile.report.document import Document
from bridge.jobfile.report.field_words import here
from bridge.jobfile.report.report_html import as_html
from bridge.jobfile.report.summary import tell
from bridge.values.errors import UsageError
from tui.cli.files_made import name_of, need_free, put
from tui.cli.hand_on import hand_on, stem_of
from tui.extras import need
from tui.settings import units_of


def run(args: Namespace) -> int:
    """Write the report; say where it is, and whether the record is intact."""
    if args.pdf:
        need("pdf")
    path = find_job(args.job)
    summary = tell(path, photos=args.photos)
    units = units_of(args.units)
    document = compose(summary, units, local=here, anonymous=args.anonymous)
    if args.to is not None:
        page = hand_on(args, path, summary, document)
    else:
        stem = stem_of(path, summary, anonymous=args.anonymous)
        page = _alone(args, stem, document)
    print(f"the record is {summary.intact.sentence}")
    if args.open:
        import webbrowser

        if not webbrowser.open(page.resolve().as_uri()):
            raise UsageError(f"no browser could be started: open {page} yourself")
    return 0


def _alone(args: Namespace, stem: str, document: Document) -> Path:
    """Write the page, and the PDF beside it where that is wanted."""
    page = Path(args.out) if args.out else Path(f"{stem}.html")
    if page.suffix.lower() not in (".html", ".htm"):
        raise UsageError(f"--out {page} must end in .html: the PDF goes beside it")
    beside = page.with_suffix(".pdf")
    need_free(*([page, beside] if args.pdf else [page]), force=args.force)
    put(page, as_html(document).encode("utf-8"))
    print(name_of(page))
    if args.pdf:
        # Not at the top: it loads the PDF library, which only this needs.
        from bridge.jobfile.report.report_pdf import as_pdf

        put(beside, as_pdf(document, args.paper))
        print(name_of(beside))
    return page
