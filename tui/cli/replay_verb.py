"""`sumpgate replay`: a recorded trace through the same pipeline."""

from __future__ import annotations

import sys
from argparse import Namespace
from collections.abc import Iterable, Iterator
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.jobfile.file.store import JobError
from bridge.snapshot import Snapshot
from bridge.units import printable
from bridge.values.errors import UsageError
from bridge.values.sheet import EngineRule, Role, Sheet

if TYPE_CHECKING:
    from tui.headless.service_row import ServiceRows


def run(args: Namespace) -> int:
    """Replay a trace as JSON lines, or as a summary of what was decided when.

    Of a job it says whether the same decisions come out again; exit code 2 if not.
    """
    from bridge.monitor import replay
    from bridge.sheets import load
    from simulators.car.curve import read_trace

    job = _named_job(args)
    if job is not None:
        return _job(args, job)
    if not args.profile:
        raise UsageError(
            f"{args.file} is no job file, so it says nothing of the gearbox: name the "
            "sheet with --profile"
        )
    from tui.cli.flags.sheet_flags import with_level_step

    sheet = with_level_step(load(args.profile), args.profile)
    samples = read_trace(args.file).samples
    assumed = {} if args.strict else _taken_for_granted(sheet)
    if assumed:
        print(
            "sumpgate: note: where the trace does not say, the engine and the standing "
            "car are taken as the sheet wants them (--strict leaves them unknown)",
            file=sys.stderr,
        )
    snapshots = _until(replay(samples, sheet, assumed=assumed), args.for_s)
    return _json(snapshots) if args.json else _summary(snapshots, sheet)


def _named_job(args: Namespace) -> Path | None:
    """Return the job file that is named, by path or as other verbs name one."""
    from bridge.jobfile.file.reader import is_job_file
    from bridge.jobfile.job_folder import find_job

    try:
        path = find_job(args.file)
        path.open("rb").close()
    except JobError:
        if args.profile:  # a trace is meant: its own reader says what is wrong
            return None
        raise
    except OSError as problem:
        why = problem.strerror or problem
        raise JobError(f"{args.file} cannot be read ({why}): check it") from None
    return path if is_job_file(path) else None


class _Rows:
    """A job's snapshots as rows, with the service as it stood on the job's own day."""

    def __init__(self, path: Path) -> None:
        from bridge.jobfile.file.reader import began_utc_s

        self._began_utc_s = began_utc_s(path)
        self._service: ServiceRows | None = None

    def read(self, text: str, name: str) -> Sheet:
        """Read the sheet the job was done on."""
        from bridge.sheets import parse_sheet
        from tui.headless.service_row import ServiceRows

        sheet = parse_sheet(text, name)
        self._service = ServiceRows(sheet, lambda: self._began_utc_s)
        return sheet

    def each(self, snapshot: Snapshot) -> None:
        """Print one row."""
        from tui.headless.json_lines import write_line

        write_line(sys.stdout, snapshot, service=self._service)


def _job(args: Namespace, path: Path) -> int:
    import sqlite3

    from bridge.jobfile.file.check import FileState, check
    from bridge.jobfile.rerun import rerun

    if args.profile or args.strict:
        raise UsageError(
            "a job is replayed on its own sheet and its own readings: leave --profile "
            "and --strict out"
        )
    out = sys.stderr if args.json else sys.stdout
    finding = check(path)
    print(finding.sentence, file=out)
    if finding.state is FileState.CHANGED:
        raise JobError(
            f"{path} is not replayed, it was changed: use a copy if there is one"
        )
    printed = _Rows(path)
    try:
        again = rerun(path, printed.read, printed.each if args.json else None)
    except (
        sqlite3.Error,
        ArithmeticError,
        AttributeError,
        LookupError,
        TypeError,
        ValueError,
    ) as problem:
        why = printable(f"{type(problem).__name__} {problem}", 100)
        raise JobError(
            f"{path} cannot be replayed to its end, it holds something that sumpgate "
            f"does not write ({why}): use a copy if there is one"
        ) from None
    if not args.json:
        for change in again.changes:
            print(f"{change.t_s:9.1f} s  {change}")
    for difference in again.differences:
        print(f"difference: {printable(difference, 500)}", file=out)
    for decided in again.by_other_rules:
        print(printable(decided, 500), file=out)
    print(again.sentence, file=out)
    return 2 if again.differences else 0


def _taken_for_granted(sheet: Sheet) -> dict[Role, float]:
    idling = sheet.engine is EngineRule.IDLING
    rpm = (sheet.idle_low_rpm + sheet.idle_high_rpm) / 2 if idling else 0.0
    return {Role.ENGINE_SPEED: rpm, Role.VEHICLE_SPEED: 0.0}


def _until(snapshots: Iterable[Snapshot], for_s: float | None) -> Iterator[Snapshot]:
    first: float | None = None
    for snapshot in snapshots:
        first = snapshot.t_s if first is None else first
        if for_s is not None and snapshot.t_s - first > for_s:
            return
        yield snapshot


def _json(snapshots: Iterable[Snapshot]) -> int:
    from tui.headless.json_lines import write_line
    from tui.headless.run_lines import mute_stdout

    try:
        for snapshot in snapshots:
            write_line(sys.stdout, snapshot)
    except BrokenPipeError:
        mute_stdout()
    return 0


def _summary(snapshots: Iterable[Snapshot], sheet: Sheet) -> int:
    """Print a line for each stretch of time with one verdict and set of reasons."""
    print(f"{sheet.name}: {sheet.window.low_c:g} to {sheet.window.high_c:g} °C")
    key = groupby(snapshots, key=lambda s: (s.verdict, s.reasons))
    for (verdict, reasons), stretch in key:
        moments = list(stretch)
        first, last = moments[0], moments[-1]
        why = ", ".join(r.value for r in reasons)
        print(
            f"{first.t_s:9.1f} s to {last.t_s:9.1f} s  {_degrees(first)} to "
            f"{_degrees(last)}  {verdict.value:5}  {why}"
        )
    return 0


def _degrees(snapshot: Snapshot) -> str:
    return "  no reading" if snapshot.temp_c is None else f"{snapshot.temp_c:9.2f} °C"
