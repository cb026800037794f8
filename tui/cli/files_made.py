"""Files the verbs write for somebody: whole or not at all, over nothing unasked."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from bridge.jobfile.job_folder import SUFFIX
from bridge.values.errors import UsageError


def need_free(*paths: Path, force: bool) -> None:
    """Refuse to write over what is there; raises UsageError naming the first."""
    for path in paths:
        if not force and os.path.lexists(path):
            raise UsageError(
                f"{path} is there already: name another with --out, or say --force "
                "to write over it"
            )


def put(path: Path, content: bytes, *, job: bool = False) -> None:
    """Write a file whole or not at all, for its owner alone.

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
