"""The verbs about recorded jobs, as the command line knows them."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import argparse
    from typing import Any

_JOB = "name of a job ('sumpgate job list'), the beginning of one, 'last', or a file"


def add_job_verbs(verbs: Any) -> None:
    """Add ``report``, ``export`` and ``job`` to the command line's verbs."""
    _add_report(verbs)
    _add_export(verbs)
    _add_job(verbs)


def _job(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("job", metavar="JOB", help=_JOB)


def _units(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--units",
        choices=("metric", "us"),
        help="default: us where the screen was set to °F, else metric",
    )


def _force(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--force", action="store_true", help="write over files that are there"
    )


def _photos(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--photos",
        action="store_true",
        help="look whether the pictures the job names are still the same",
    )


def _add_report(verbs: Any) -> None:
    report = verbs.add_parser("report", help="a recorded job as a page to keep")
    _job(report)
    report.add_argument(
        "--out", metavar="FILE", help="default JOB.html in the folder you are in"
    )
    report.add_argument(
        "--pdf", action="store_true", help="the same as PDF, beside the page"
    )
    report.add_argument("--paper", choices=("a4", "letter"), default="a4")
    report.add_argument(
        "--to",
        metavar="FOLDER",
        help="hand it on: page, PDF, tables, calendar file and the job, with checksums",
    )
    report.add_argument(
        "--anonymous",
        action="store_true",
        help="leave the vehicle number out, and with --to the job itself",
    )
    report.add_argument("--open", action="store_true", help="show it in the browser")
    _photos(report)
    _force(report)
    _units(report)


def _add_export(verbs: Any) -> None:
    export = verbs.add_parser("export", help="a recorded job as CSV or JSON")
    _job(export)
    export.add_argument("--format", choices=("csv", "json"), default="csv")
    export.add_argument(
        "--out", metavar="FOLDER", default=".", help="default: the one you are in"
    )
    _force(export)


def _add_job(verbs: Any) -> None:
    job = verbs.add_parser("job", help="list, show, check, compare, add to, delete")
    actions = job.add_subparsers(dest="action", required=True, metavar="ACTION")
    actions.add_parser("list", help="the jobs in the usual folder")
    find = actions.add_parser("find", help="those of them a word occurs in")
    find.add_argument(
        "text", help="part of a vehicle number, sheet, date, result, note or name"
    )
    _add_history(actions)
    for name, what in (
        ("show", "what is in a job, in short"),
        ("check", "intact, changed or cut off?"),
        ("close", "seal a job that was cut off"),
    ):
        _job(actions.add_parser(name, help=what))
    _units(actions.choices["show"])
    _photos(actions.choices["show"])
    actions.choices["show"].add_argument(
        "--full", action="store_true", help="all of it, not its first page alone"
    )
    compare = actions.add_parser("compare", help="jobs on one car, side by side")
    compare.add_argument("jobs", nargs="+", metavar="JOB", help=_JOB)
    _units(compare)
    delete = actions.add_parser("delete", help="remove a job for good")
    _job(delete)
    delete.add_argument("--yes", action="store_true", help="do not ask")
    _add_add(actions)


def _add_history(actions: Any) -> None:
    history = actions.add_parser("history", help="all jobs of a car in one table")
    history.add_argument(
        "text", nargs="?", default="", help="as for find; none: every job"
    )
    history.add_argument("--year", metavar="YYYY", help="only those begun in it (UTC)")
    history.add_argument("--csv", metavar="FILE", help="write them there, in SI units")
    _units(history)
    _force(history)


def _add_add(actions: Any) -> None:
    add = actions.add_parser("add", help="write something more into a job")
    _job(add)
    add.add_argument("--note", metavar="TEXT", action="append", default=[])
    add.add_argument(
        "--photo",
        metavar="FILE",
        action="append",
        default=[],
        help="by its path and SHA-256; the picture stays where it is",
    )
    add.add_argument("--odometer", metavar="DISTANCE", help='such as "61200 km"')
    add.add_argument("--drained", metavar="VOLUME", help='such as "4.2 L"')
    add.add_argument("--filled", metavar="VOLUME", help='such as "4.4 qt"')
