"""A job made ready to hand on: one folder with all of it, a README and checksums."""

from __future__ import annotations

import datetime as dt
import hashlib
from argparse import Namespace
from pathlib import Path

from bridge.jobfile.file.check import FileState
from bridge.jobfile.report.compose import ANONYMOUS
from bridge.jobfile.report.document import Document
from bridge.jobfile.report.report_html import as_html
from bridge.jobfile.report.summary import Summary
from bridge.plain_file import JOB_BYTES, need_plain
from bridge.service.calendar_file import Reminder, calendar_file, uid_of
from bridge.service.log import last
from bridge.values.errors import UsageError
from bridge.values.service_events import ServiceKind
from tui.cli.export_verb import csv_into, csv_names
from tui.cli.files_made import name_of, need_free, put
from tui.extras import need

SUMS = "SHA256SUMS"
_WHAT = {
    ".html": "the report, for a browser; it needs no network",
    ".pdf": "the same for printing",
    "-readings.csv": "every reading (RFC 4180)",
    "-events.csv": "everything else that was recorded",
    "-csv-metadata.json": "what each column of the tables is, and its unit",
    ".ics": "when the next service is due, for a calendar",
    ".job": "the record itself: 'sumpgate job check' says whether it is whole",
}


def hand_on(args: Namespace, path: Path, summary: Summary, document: Document) -> Path:
    """Write the folder; return the page in it.

    An anonymous one has only page, PDF and calendar file: the tables and the job hold
    the vehicle's number. Raises UsageError.
    """
    need("pdf")
    from bridge.jobfile.report.report_pdf import as_pdf

    if not args.anonymous and summary.intact.state is FileState.OPEN:
        raise UsageError(
            f"{path} is not closed, so it is not handed on: say 'sumpgate job close' "
            "or end the recording"
        )
    due = _calendar(summary)
    stem = stem_of(path, summary, anonymous=args.anonymous)
    where = _folder(args.to)
    page, printed, calendar = (where / f"{stem}{e}" for e in (".html", ".pdf", ".ics"))
    readme, sums = where / "README.txt", where / SUMS
    whole = [] if args.anonymous else [*csv_names(where, path), where / path.name]
    made = [page, printed, *([calendar] if due else []), *whole]
    there = [p for p in made if not _is(p, path)]
    need_free(*there, readme, sums, force=args.force, flag="--to")
    put(page, as_html(document).encode("utf-8"), flag="--to")
    put(printed, as_pdf(document, args.paper), flag="--to")
    if due:
        put(calendar, due, flag="--to")
    if whole:
        _whole(where, path)
    text = _readme(made, summary, anonymous=args.anonymous)
    put(readme, text.encode("utf-8"), flag="--to")
    listed = "".join(_sum(p) for p in (readme, *made))
    put(sums, listed.encode("utf-8"), flag="--to")
    for file in (readme, *made, sums):
        print(name_of(file))
    return page


def stem_of(path: Path, summary: Summary, *, anonymous: bool) -> str:
    """Return what a job's files are called: its own name may be the car's plate."""
    return f"job-{summary.intact.head[:12]}" if anonymous else path.stem


def _folder(name: str) -> Path:
    where = Path(name)
    if not name.strip():
        raise UsageError("--to names no folder: say where, such as --to handed-on")
    try:
        where.mkdir(mode=0o700, exist_ok=True)
    except OSError as problem:
        why = problem.strerror or problem
        raise UsageError(
            f"--to {where} is no folder that can be made ({why}): name another"
        ) from None
    return where


def _whole(where: Path, path: Path) -> None:
    """Put the tables and the job itself there."""
    try:
        csv_into(where, path)
    except OSError as problem:
        why = problem.strerror or problem
        raise UsageError(f"{where} cannot be written to ({why}): check it") from None
    need_plain(path, "a job file", most_bytes=JOB_BYTES)
    if not _is(where / path.name, path):
        put(where / path.name, path, job=True, flag="--to")


def _is(place: Path, path: Path) -> bool:
    """Whether the job itself lies at a place."""
    return place.exists() and place.samefile(path)


def _calendar(summary: Summary) -> bytes:
    """Return the next due date as a calendar file; b'': none was told."""
    kept = last(summary.log, ServiceKind.DUE)
    typed = summary.last("next-due")
    day = kept.name if kept else (typed.content.get("date") if typed else "")
    try:
        on = dt.date.fromisoformat(day if isinstance(day, str) else "")
    except ValueError:
        return b""
    reminder = Reminder(
        uid=uid_of(summary.intact.head),
        on=on,
        summary="Gearbox service due",
        stamped=dt.datetime.fromtimestamp(summary.ended_utc_s or 0.0, dt.UTC),
    )
    return calendar_file(reminder)


def _readme(made: list[Path], summary: Summary, *, anonymous: bool) -> str:
    lines = [f"{name_of(p.name)}: {_what(p.name)}." for p in made]
    left = (
        f"{ANONYMOUS} It may still stand in what somebody wrote in other words, or in "
        "a picture: look before you pass it on. The tables and the record are left "
        "out, for they hold it."
    )
    return "\n".join(
        [
            "A gearbox fluid service, as it was recorded.",
            "",
            *lines,
            "",
            *([left, ""] if anonymous else []),
            f"The record is {summary.intact.sentence}.",
            f"Hash of its last event: {summary.intact.head}",
            "Keep that hash elsewhere: whoever makes the record anew gets another.",
            (
                f"{SUMS} holds the SHA-256 of each file; 'sha256sum -c {SUMS}' checks "
                "them."
            ),
            "",
        ]
    )


def _what(name: str) -> str:
    return next(what for end, what in _WHAT.items() if name.endswith(end))


def _sum(path: Path) -> str:
    """Return a line as sha256sum writes it, which escapes what would end a line."""
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    name = path.name.replace("\\", "\\\\").replace("\n", "\\n").replace("\r", "\\r")
    return f"{'' if name == path.name else chr(92)}{digest}  {name}\n"
