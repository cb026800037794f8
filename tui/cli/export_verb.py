"""`sumpgate export`: a recorded job as CSV with its description, or as JSON."""

from __future__ import annotations

import contextlib
import json
import os
from argparse import Namespace
from collections.abc import Iterator
from pathlib import Path
from typing import TextIO

from bridge.jobfile import export
from bridge.jobfile.file.check import Finding
from bridge.jobfile.job_folder import find_job
from bridge.values.errors import UsageError
from tui.cli.files_made import name_of, need_free


def run(args: Namespace) -> int:
    """Write the files; say where they are, and whether the record is intact."""
    path = find_job(args.job)
    folder = Path(args.out)
    if not folder.is_dir():
        raise UsageError(f"--out {folder} is no folder: make it, or name another")
    try:
        need_free(*_names(args.format, path.stem, folder), force=args.force)
        made, finding = (_csv if args.format == "csv" else _json)(path, folder)
    except OSError as problem:
        why = problem.strerror or problem
        raise UsageError(
            f"nothing can be written to {folder} ({why}): name another with --out"
        ) from None
    for file in made:
        print(name_of(file))
    print(f"the record is {finding.sentence}")
    return 0


def _names(form: str, stem: str, folder: Path) -> list[Path]:
    ends = _CSV_ENDS if form == "csv" else (".json",)
    return [folder / f"{stem}{end}" for end in ends]


_CSV_ENDS = ("-readings.csv", "-events.csv", "-csv-metadata.json")


def _csv(path: Path, folder: Path) -> tuple[list[Path], Finding]:
    return csv_into(folder, path)


def csv_names(folder: Path, path: Path) -> list[Path]:
    """Return what the tables of a job and their description are called."""
    return _names("csv", path.stem, folder)


def csv_into(folder: Path, path: Path) -> tuple[list[Path], Finding]:
    """Write a job's tables and their description into a folder; raises OSError."""
    readings, events, described = csv_names(folder, path)
    with _whole(readings) as first, _whole(events) as second:
        finding = export.to_csv(path, first, second)
    words = export.describe(path.name, readings.name, events.name, finding)
    with _whole(described) as third:
        third.write(json.dumps(words, indent=1, ensure_ascii=False) + "\n")
    return [readings, events, described], finding


def _json(path: Path, folder: Path) -> tuple[list[Path], Finding]:
    (made,) = _names("json", path.stem, folder)
    with _whole(made) as out:
        finding = export.to_json(path, out)
    return [made], finding


def _private(path: str, flags: int) -> int:
    return os.open(path, flags | os.O_EXCL, 0o600)


@contextlib.contextmanager
def _whole(path: Path) -> Iterator[TextIO]:
    """Give a file to write that gets its name only when all of it is there."""
    made = path.with_name(f".{path.name}.{os.getpid()}.new")
    try:
        with open(made, "w", encoding="utf-8", newline="", opener=_private) as out:
            yield out
        made.replace(path)
    finally:
        made.unlink(missing_ok=True)
