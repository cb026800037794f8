"""`sumpgate job`: what lies in the folder of jobs, and what is in one."""

from __future__ import annotations

import io
import sys
from argparse import Namespace
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.jobfile.file.check import FileState, check
from bridge.jobfile.file.store import JobError
from bridge.jobfile.job_folder import delete_job, find_job, folder, job_files
from bridge.values.errors import UsageError
from bridge.values.service_events import ServiceEvent, ServiceKind
from tui import console
from tui.cli.files_made import name_of, need_free, put
from tui.cli.flags.record_flags import odometer_event

if TYPE_CHECKING:
    from bridge.jobfile.recorder import Added
    from bridge.units import Dimension


NOT_PROVEN = (
    "This does not show that nobody wrote the whole file anew: hold the hash against "
    "the one kept elsewhere when the job was closed. Nor does it show who wrote it."
)
IN_SHORT = "In short; --full shows all of it, 'sumpgate report' makes a page of it."


def run(args: Namespace) -> int:
    """Do one action; the exit code of ``check`` is 2 unless the job is intact."""
    return _ACTIONS[args.action](args)


def _list(_: Namespace) -> int:
    files = job_files()
    if not files:
        print(f"no jobs in {folder()}")
    else:
        _in_columns(files)
    return 0


def _find(args: Namespace) -> int:
    """List the jobs a text occurs in; exit code 2 if it is in none."""
    found = list(_holding(args.text))
    if found:
        _in_columns(found)
    return _none(found)


def _in_columns(files: Sequence[Path]) -> None:
    from bridge.jobfile.several.glance import Glance, glance, in_columns
    from tui.settings import units_of

    def looked_at(path: Path) -> Glance:
        try:
            return glance(path)
        except JobError as problem:
            return Glance(job=path.stem, problem=str(problem))

    lines = in_columns([looked_at(p) for p in files], units_of(None))
    console.page("\n".join(lines) + "\n")


def _none(found: Sequence[object]) -> int:
    if not found:
        print(f"no job in {folder()} holds that")
    return 0 if found else 2


def _holding(wanted: str) -> Iterator[Path]:
    """Yield the jobs that hold a text; '' is in all of them."""
    from bridge.jobfile.several.finding import holds

    for path in job_files():
        try:
            if holds(path, wanted):
                yield path
        except JobError as problem:
            _note(path, problem)


def _note(path: Path, problem: JobError) -> None:
    line = name_of(f"{path.stem}: {problem}")
    print(f"sumpgate: note: {line}", file=sys.stderr)


def _history(args: Namespace) -> int:
    """Show the jobs a text occurs in as one table, or write them as CSV."""
    from bridge.jobfile.report.field_words import moment_utc
    from bridge.jobfile.report.report_text import as_text
    from bridge.jobfile.report.summary import tell
    from bridge.jobfile.several.history import history, to_csv, visit_of
    from tui.settings import units_of

    visits = []
    for path in _holding(args.text):
        try:
            visits.append(visit_of(tell(path)))
        except JobError as problem:
            _note(path, problem)
    if args.year:
        visits = [v for v in visits if moment_utc(v.began_utc_s)[:4] == args.year]
    if args.csv and visits:
        table = io.StringIO(newline="")
        to_csv(visits, table)
        need_free(Path(args.csv), force=args.force)
        put(Path(args.csv), table.getvalue().encode("utf-8"))
        print(name_of(args.csv))
    elif visits:
        console.page(as_text(history(visits, units_of(args.units))))
    return _none(visits)


def _show(args: Namespace) -> int:
    """Show a job in short; all of it where that is asked for."""
    from bridge.jobfile.report.compose import compose
    from bridge.jobfile.report.report_text import as_text
    from bridge.jobfile.report.summary import tell
    from tui.settings import units_of

    summary = tell(find_job(args.job), photos=args.photos)
    document = compose(summary, units_of(args.units))
    if not (args.full or args.photos):
        document = replace(document, sections=document.sections[:1], footer=IN_SHORT)
    console.page(as_text(document))
    return 0


def _check(args: Namespace) -> int:
    finding = check(find_job(args.job))
    print(finding.sentence)
    if finding.events:
        print(f"hash of its last event: {finding.head}")
        print(NOT_PROVEN)
    return 0 if finding.state is FileState.INTACT else 2


def _close(args: Namespace) -> int:
    path = find_job(args.job)
    finding = check(path)
    if finding.state in (FileState.INTACT, FileState.GAPS):
        print(f"it is closed already: {finding.sentence}")
        return 0
    if finding.state is not FileState.OPEN:
        raise UsageError(f"{path} is not closed again: it was {finding.sentence}")
    _write(path, [])
    print(check(path).sentence)
    return 0


def _write(path: Path, events: list[Added]) -> None:
    import sqlite3

    from bridge.jobfile.recorder import add_to

    try:
        sealed = add_to(path, events)
    except (OSError, sqlite3.Error) as problem:
        raise JobError(
            f"{path} cannot be written ({problem}): is there room, and may you write?"
        ) from None
    if not sealed:
        raise JobError(
            f"{path} is not sealed, another program is reading it: close that and say "
            "'sumpgate job close'"
        )


def _compare(args: Namespace) -> int:
    from bridge.jobfile.report.report_text import as_text
    from bridge.jobfile.report.summary import tell
    from bridge.jobfile.several.compare_jobs import MOST, compare
    from tui.settings import units_of

    paths = [find_job(name) for name in args.jobs]
    if not MOST >= len(paths) > 1:
        raise UsageError(
            f"compare takes 2 to {MOST} jobs: name as many, or say 'sumpgate job "
            "history' for all of a car"
        )
    if len({p.resolve() for p in paths}) < len(paths):
        raise UsageError("compare takes different jobs: one was named twice")
    try:
        found = compare([tell(path) for path in paths], units_of(args.units))
    except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError):
        raise JobError(
            f"{', '.join(map(str, paths))} cannot be compared: one holds something "
            "that sumpgate does not write; 'sumpgate job check' says more"
        ) from None
    print(as_text(found), end="")
    return 0


def _delete(args: Namespace) -> int:
    path = find_job(args.job)
    if not args.yes and not _agreed(path):
        print("nothing was deleted")
        return 0
    delete_job(path)
    print(f"{name_of(path)} is deleted")
    return 0


def _agreed(path: Path) -> bool:
    if not sys.stdin.isatty():
        raise UsageError(
            f"{path} is not deleted without being asked for: say --yes as well"
        )
    print(f"Delete {name_of(path)} for good? Type yes: ", end="", flush=True)
    return sys.stdin.readline().strip().lower() == "yes"


def _add(args: Namespace) -> int:
    path = find_job(args.job)
    finding = check(path)
    if finding.state not in (FileState.INTACT, FileState.GAPS, FileState.OPEN):
        raise UsageError(f"nothing is added to {path}: it was {finding.sentence}")
    events = _added(args)
    if not events:
        raise UsageError("nothing to add: say --note, --photo, --odometer or another")
    _write(path, events)
    after = check(path)
    print(after.sentence)
    closed = after.state in (FileState.INTACT, FileState.GAPS)
    return 0 if closed and after.events == finding.events + len(events) + 1 else 2


def _added(args: Namespace) -> list[Added]:
    from bridge.jobfile.photo import photo
    from bridge.units import Dimension

    events: list[Added] = []
    if args.odometer:
        events.append(odometer_event(args.odometer))
    for what, kind in (("drained", ServiceKind.OUT), ("filled", ServiceKind.IN)):
        if getattr(args, what):
            liters = _positive(args, what, Dimension.VOLUME)
            events.append(ServiceEvent(kind=kind, ml=1000.0 * liters))
    events += [ServiceEvent(kind=ServiceKind.NOTE, text=text) for text in args.note]
    events += [("photo", photo(Path(name))) for name in args.photo]
    return events


def _positive(args: Namespace, flag: str, dimension: Dimension) -> float:
    from bridge.units import QuantityError, said

    try:
        value = said(getattr(args, flag), dimension)
    except QuantityError as problem:
        raise UsageError(f"--{flag} {problem}") from None
    if value <= 0.0:
        raise UsageError(f"--{flag} must be more than 0: write what was measured")
    return value


_ACTIONS = {
    "list": _list,
    "find": _find,
    "history": _history,
    "show": _show,
    "check": _check,
    "close": _close,
    "compare": _compare,
    "delete": _delete,
    "add": _add,
}
