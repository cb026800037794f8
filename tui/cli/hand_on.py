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
from bridge.jobfile.report.summary import Story
from bridge.plain_file import JOB_BYTES, need_plain
from bridge.service.calendar_file import Reminder, calendar_file, uid_of
from bridge.service.log import last
from bridge.values.errors import UsageError
from bridge.values.service_events import ServiceKind
from tui.cli.export_verb import csv_into
from tui.cli.files_made import need_free, put
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


def hand_on(args: Namespace, path: Path, story: Story, document: Document) -> Path:
    """Write the folder; return the page in it.

    An anonymous one has only page, PDF and calendar file: the tables and the job hold
    the vehicle's number. Raises UsageError.
    """
    need("pdf")
    from bridge.jobfile.report.report_pdf import as_pdf

    where = _folder(args.to)
    if not args.anonymous and story.intact.state is FileState.OPEN:
        raise UsageError(
            f"{path} is not closed, so it is not handed on: say 'sumpgate job close' "
            "or end the recording"
        )
    page = where / f"{path.stem}.html"
    need_free(page, where / SUMS, where / "README.txt", force=args.force)
    made = [page, page.with_suffix(".pdf")]
    put(page, as_html(document).encode("utf-8"))
    put(made[1], as_pdf(document, args.paper))
    made += _calendar(where, path.stem, story)
    if not args.anonymous:
        made += _whole(where, path)
    readme = where / "README.txt"
    put(readme, _readme(made, story, anonymous=args.anonymous).encode("utf-8"))
    put(where / SUMS, "".join(_sum(p) for p in (readme, *made)).encode("utf-8"))
    for file in (readme, *made, where / SUMS):
        print(file)
    return page


def _folder(name: str) -> Path:
    where = Path(name)
    try:
        where.mkdir(mode=0o700, exist_ok=True)
    except OSError as problem:
        why = problem.strerror or problem
        raise UsageError(
            f"--to {where} is no folder that can be made ({why}): name another"
        ) from None
    return where


def _whole(where: Path, path: Path) -> list[Path]:
    """Put the tables and the job itself there."""
    try:
        tables, _ = csv_into(where, path)
    except OSError as problem:
        why = problem.strerror or problem
        raise UsageError(f"{where} cannot be written to ({why}): check it") from None
    copy = where / path.name
    need_plain(path, "a job file", most_bytes=JOB_BYTES)
    put(copy, path.read_bytes(), job=True)
    return [*tables, copy]


def _calendar(where: Path, stem: str, story: Story) -> list[Path]:
    """Write the date the next service is due, where one was told."""
    kept = last(story.log, ServiceKind.DUE)
    typed = story.last("next-due")
    told = kept.name if kept else (typed.told.get("date") if typed else "")
    try:
        on = dt.date.fromisoformat(told if isinstance(told, str) else "")
    except ValueError:
        return []
    reminder = Reminder(
        uid=uid_of(story.intact.head),
        on=on,
        summary="Gearbox service due",
        stamped=dt.datetime.fromtimestamp(story.ended_utc_s or 0.0, dt.UTC),
    )
    path = where / f"{stem}.ics"
    put(path, calendar_file(reminder))
    return [path]


def _readme(made: list[Path], story: Story, *, anonymous: bool) -> str:
    lines = [f"{p.name}: {_what(p.name)}." for p in made]
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
            f"The record is {story.intact.sentence}.",
            f"Hash of its last event: {story.intact.head}",
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
    return f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {path.name}\n"
