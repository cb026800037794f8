"""Where job files lie, and how one is named on the command line."""

from __future__ import annotations

import re
import time
from pathlib import Path

from bridge.jobfile.file.lock import lock, release
from bridge.jobfile.file.reader import is_job_file
from bridge.jobfile.file.store import SIDE_FILES, JobError
from bridge.plain_file import JOB_BYTES, need_plain

SUFFIX = ".job"
LAST = "last"
"""Names the newest file."""


def make_folder(where: Path) -> None:
    """Make the folder of jobs, for its owner alone; raises OSError."""
    where.parent.mkdir(parents=True, exist_ok=True)
    where.mkdir(mode=0o700, exist_ok=True)


def folder() -> Path:
    """Return this system's folder for jobs (platformdirs' data folder)."""
    from platformdirs import user_data_path

    return user_data_path("sumpgate", appauthor=False) / "jobs"


def new_path(sheet: str, where: Path, *, utc_s: float) -> Path:
    """Return a free name in a folder: day, time and sheet."""
    stem = re.sub(r"[^A-Za-z0-9]+", "-", Path(sheet).stem).strip("-")[:60] or "job"
    moment = time.strftime("%Y%m%d-%H%M%S", time.gmtime(utc_s))
    path = where / f"{moment}-{stem}{SUFFIX}"
    count = 1
    while path.exists():
        count += 1
        path = where / f"{moment}-{stem}-{count}{SUFFIX}"
    return path


def job_files(where: Path | None = None) -> list[Path]:
    """Return the job files of a folder, oldest name first."""
    where = where or folder()
    try:
        return sorted(p for p in where.iterdir() if p.suffix == SUFFIX)
    except FileNotFoundError:
        return []
    except OSError as problem:
        why = problem.strerror or problem
        raise JobError(f"the folder {where} cannot be read ({why}): check it") from None


def find_job(name: str, where: Path | None = None) -> Path:
    """Return the file of a path, a name, the beginning of one, or 'last'.

    Raises:
        JobError: there is none, or more than one.
    """
    path = _as_path(name)
    if path is not None:
        return path
    files = job_files(where)
    if name == LAST and files:
        return files[-1]
    exact = [p for p in files if name in (p.name, p.stem)]
    found = exact or [p for p in files if name and p.name.startswith(name)]
    if len(found) == 1:
        return found[0]
    if found:
        raise JobError(
            f'"{name}" could be any of {len(found)} jobs, such as {found[0].stem} and '
            f"{found[1].stem}: write more of the name"
        )
    raise JobError(
        f'there is no job "{name}": give the path of a file or a name that '
        "'sumpgate job list' shows"
    )


def _as_path(name: str) -> Path | None:
    """Return the file a name is the path of; None: it is not one's path."""
    if not name or "\0" in name:
        return None
    path = Path(name)
    try:
        if path.is_dir() and (path.suffix == SUFFIX or "/" in name):
            raise JobError(f"{path} is a folder: name a job file in it")
        if path.exists():
            need_plain(path, "a job file", most_bytes=JOB_BYTES, error=JobError)
        return path if path.exists() else None
    except OSError as problem:
        why = problem.strerror or problem
        raise JobError(f"{name[:200]} cannot be read ({why}): check it") from None


def delete_job(path: Path) -> None:
    """Remove a job file and what SQLite may have left beside it.

    Raises JobError: it is no job file, it is being recorded, it cannot be removed.
    """
    if not is_job_file(path):
        raise JobError(
            f"{path} is not deleted, it is no job file: name one from "
            "'sumpgate job list'"
        )
    path = path.resolve()
    try:
        held = lock(path)
    except BlockingIOError:
        raise JobError(
            f"{path} is not deleted, it is being recorded: end that first"
        ) from None
    try:
        if is_job_file(path):  # still, now that nobody else has it
            path.unlink()
            for end in SIDE_FILES:
                path.with_name(path.name + end).unlink(missing_ok=True)
    except OSError as problem:
        why = problem.strerror or problem
        raise JobError(f"{path} cannot be removed ({why}): check it") from None
    finally:
        release(held)
