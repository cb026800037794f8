"""The service in a job file: its entries read back, in their order."""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING

from bridge.jobfile.file.chain import from_body
from bridge.jobfile.file.format import RowKind
from bridge.jobfile.file.reader import reading
from bridge.jobfile.format_1 import brought_up
from bridge.values.codec import from_plain
from bridge.values.service_events import ServiceEvent

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path
    from typing import Any

    from bridge.service.log import Log

_BODIES = "SELECT body FROM event NOT INDEXED WHERE kind = ? ORDER BY seq LIMIT ?"


def log_of(bodies: Iterable[Mapping[str, Any]]) -> Log:
    """Return the log that events of this kind hold.

    What is no entry, as another version may have written, is left out together with
    all that follows: numbers of entries taken back would point elsewhere.
    """
    log = []
    for body in bodies:
        try:
            log.append(
                from_plain(ServiceEvent, brought_up(RowKind.SERVICE, dict(body)))
            )
        except ValueError:
            break
    return tuple(log)


def service_in(path: Path, *, most: int = -1) -> Log:
    """Return the log in a job file, also while it is being written.

    ``most``: no more entries than that are read, -1: all.

    Raises:
        JobError: there is no such file, or it is no job file.
    """
    with reading(path) as db:
        try:
            found = [
                from_body(body)
                for (body,) in db.execute(_BODIES, (RowKind.SERVICE, most))
            ]
        except sqlite3.DatabaseError:
            return ()
    return log_of(found)
