"""Files the verbs write for somebody: whole or not at all, over nothing unasked."""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path

from bridge.jobfile.job_folder import SUFFIX
from bridge.units import printable
from bridge.values.errors import UsageError

LONGEST = 5000
"""More characters than any path has."""


def need_free(*paths: Path, force: bool, flag: str = "--out") -> None:
    """Refuse to write over what is there; raises UsageError naming the first.

    ``flag``: the one that names another place.
    """
    for path in paths:
        if not force and os.path.lexists(path):
            raise UsageError(
                f"{path} is there already: name another with {flag}, or say --force "
                "to write over it"
            )


def put(
    path: Path, content: bytes | Path, *, job: bool = False, flag: str = "--out"
) -> None:
    """Write a file whole or not at all, for its owner alone; a Path is copied.

    ``job``: it is a copy of one; nothing else gets a job file's name. Raises
    UsageError where it cannot be written.
    """
    if path.suffix == SUFFIX and not job:
        raise UsageError(f"{path} would be a job file: name another")
    made: Path | None = None
    try:
        with tempfile.NamedTemporaryFile(
            dir=path.parent, prefix=".report-", delete=False
        ) as file:
            made = Path(file.name)
            if isinstance(content, Path):
                with content.open("rb") as source:
                    shutil.copyfileobj(source, file)
            else:
                file.write(content)
        made.replace(path)
    except OSError as problem:
        if made is not None:
            made.unlink(missing_ok=True)
        why = problem.strerror or problem
        raise UsageError(
            f"{path} cannot be written ({why}): name a place in a folder you may "
            f"write to with {flag}"
        ) from None


def name_of(path: Path | str) -> str:
    """Return a path, or a part of one, that no terminal takes for an order."""
    return printable(str(path), LONGEST)
