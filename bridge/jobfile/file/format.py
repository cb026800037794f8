"""What a job file is made of: its marks, its tables, the kinds of its events.

docs/job-file.md explains all of it to people; both change together.
"""

from __future__ import annotations

import re
from enum import StrEnum

APPLICATION_ID = 0x53756D70
"""In the header of the file (SQLite's ``application_id``): ASCII "Sump"."""
FORMAT = 2
"""SQLite's ``user_version``; a file that is continued gets this one."""
READABLE = (1, FORMAT)
"""Formats this tool reads; another number is a format it does not know."""

TABLES = """\
CREATE TABLE event (
    seq   INTEGER PRIMARY KEY,  -- 1, 2, 3 ... without a gap
    kind  TEXT NOT NULL,
    t_s   REAL,                 -- monotonic seconds of the watch it belongs to
    utc_s REAL NOT NULL,        -- seconds since 1970-01-01T00:00Z, wall clock
    role  TEXT NOT NULL,        -- of a reading or its fault, else ''
    value REAL,                 -- of a reading, in the role's unit
    raw   BLOB NOT NULL,        -- of a reading: the payload it was read from
    body  TEXT NOT NULL,        -- everything else: JSON, ASCII, or ''
    hash  BLOB NOT NULL         -- SHA-256 over all that and the hash before
);
CREATE TABLE seal (
    digest BLOB NOT NULL        -- SHA-256 over the whole closed file
);
"""


class RowKind(StrEnum):
    """What an event of the file is; a newer tool may add others."""

    START = "start"
    """The first: tool, sheet, source, what was told at the start."""
    RESUME = "resume"
    """The file was opened again; holds the same as START."""
    WATCH = "watch"
    """A monitor began: its zero of time and its interval."""
    READING = "reading"
    FAULT = "fault"
    LINK = "link"
    DROPOUT = "dropout"
    CLOCK_JUMP = "clock-jump"
    CODES = "codes"
    VIN = "vin"
    LOOKS = "looks"
    """The moments at which the decision was made anew."""
    VERDICT = "verdict"
    """The verdict or its reasons changed."""
    MARK = "mark"
    """What the person told of the level step."""
    THERMOMETER = "thermometer"
    """What a hand thermometer read, as the person typed it in."""
    TILT = "tilt"
    """How the car leans, as the person typed it in."""
    SERVICE = "service"
    """What the person did and told of the service."""
    STEP = "step"
    """The level step went into another phase, or another of its facts changed."""
    JUDGEMENT = "judgement"
    """How the level was set; {} takes an earlier one back."""
    MOVED = "moved"
    """The file was not where it was any more: all before this was written anew."""
    LOST = "lost"
    """So many events could not be written."""
    END = "end"
    """The job was closed."""

    ADAPTER = "adapter"
    CAUTION = "caution"
    CONFIRMATION = "confirmation"
    VOLUME = "volume"
    FASTENER = "fastener"
    OLD_FLUID = "old-fluid"
    ODOMETER = "odometer"
    NEXT_DUE = "next-due"
    NOTE = "note"
    PHOTO = "photo"


OWN_KINDS = frozenset(
    {
        RowKind.START,
        RowKind.RESUME,
        RowKind.WATCH,
        RowKind.READING,
        RowKind.FAULT,
        RowKind.LINK,
        RowKind.DROPOUT,
        RowKind.CLOCK_JUMP,
        RowKind.CODES,
        RowKind.VIN,
        RowKind.LOOKS,
        RowKind.VERDICT,
        RowKind.MARK,
        RowKind.TILT,
        RowKind.SERVICE,
        RowKind.THERMOMETER,
        RowKind.STEP,
        RowKind.JUDGEMENT,
        RowKind.MOVED,
        RowKind.LOST,
        RowKind.END,
    }
)
"""Kinds only the recorder itself writes; the others come by ``note_event``."""

_NAME = re.compile(r"[a-z][a-z0-9-]{0,39}")


def is_kind(text: str) -> bool:
    """Return whether a text can be an event's kind: lower case, digits, hyphens."""
    return _NAME.fullmatch(text) is not None
