"""A reminder as an iCalendar file (RFC 5545), for any calendar to import.

It is an all-day event (VEVENT), for many calendars do not import tasks (VTODO:
common practice, no source). The same job gives the same UID, so importing it again
replaces the reminder instead of doubling it. No clock is read.
"""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta

from bridge.values.frozen import frozen

MOST_OCTETS = 75
"""Of one line, without its line break (RFC 5545, 3.1)."""
_PRODUCT = "-//sumpgate//service due//EN"
_SPACE = uuid.UUID("8f0f4a6c-5d0e-5b1b-9a52-6f1f6d1c7c11")
_BREAKS = re.compile("\r\n|[\r\n\x0b\x0c\x1c-\x1e\x85\u2028\u2029]")
_CONTROLS = re.compile("[\x00-\x08\x0e-\x1f\x7f]")
_SURROGATES = re.compile("[\ud800-\udfff]")


@frozen
class Reminder:
    """What to be reminded of, and when."""

    uid: str
    """See ``uid_of``."""
    on: date
    summary: str
    description: str = ""
    stamped: datetime
    """When it was made; with a time zone."""
    weeks_before: int = 2
    """How long before the day an alarm goes off; 0: no alarm."""


def uid_of(job: str) -> str:
    """Return the reminder's identity for a job, the same each time (RFC 4122, v5)."""
    return str(uuid.uuid5(_SPACE, _encodable(job)))


def calendar_file(reminder: Reminder) -> bytes:
    """Return the file's bytes: UTF-8, lines ended by CRLF, folded at 75 octets.

    Raises ValueError for a stamp without a time zone, or an alarm outside 0 to 52
    weeks before.
    """
    lines = (
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:{_PRODUCT}",
        "CALSCALE:GREGORIAN",
        *_event(reminder),
        "END:VCALENDAR",
    )
    return b"".join(_folded(line) for line in lines)


def _event(reminder: Reminder) -> Iterator[str]:
    yield "BEGIN:VEVENT"
    yield f"UID:{escaped(reminder.uid)}"
    yield f"DTSTAMP:{_stamp(reminder.stamped)}"
    yield f"DTSTART;VALUE=DATE:{_day(reminder.on)}"
    # without an end the event lasts its one day (3.6.1): all that the last day has
    if reminder.on < date.max:
        yield f"DTEND;VALUE=DATE:{_day(reminder.on + timedelta(days=1))}"
    yield f"SUMMARY:{escaped(reminder.summary)}"
    if reminder.description:
        yield f"DESCRIPTION:{escaped(reminder.description)}"
    yield "TRANSP:TRANSPARENT"
    yield from _alarm(reminder)
    yield "END:VEVENT"


def _alarm(reminder: Reminder) -> Iterator[str]:
    if not 0 <= reminder.weeks_before <= 52:
        raise ValueError(
            f"An alarm {reminder.weeks_before} weeks before cannot be: 0 to 52, 0 for "
            "none."
        )
    if reminder.weeks_before:
        yield "BEGIN:VALARM"
        yield "ACTION:DISPLAY"
        yield f"DESCRIPTION:{escaped(reminder.summary)}"
        yield f"TRIGGER:-P{reminder.weeks_before}W"
        yield "END:VALARM"


def _stamp(moment: datetime) -> str:
    if moment.tzinfo is None or moment.utcoffset() is None:
        raise ValueError("The reminder's time stamp needs a time zone.")
    return _day(at := moment.astimezone(UTC)) + f"T{at:%H%M%S}Z"


def _day(day: date) -> str:
    # not %Y: on some systems it does not fill up the years before 1000
    return f"{day.year:04d}{day.month:02d}{day.day:02d}"


def escaped(text: str) -> str:
    """Return a text as a property's value (RFC 5545, 3.3.11), breaks as ``\\n``.

    Control characters may not stand in a text; they become spaces. Half a surrogate
    pair becomes the replacement character.
    """
    plain = _encodable(text).replace("\\", "\\\\").replace(";", "\\;")
    broken = _BREAKS.sub(r"\\n", plain.replace(",", "\\,"))
    return _CONTROLS.sub(" ", broken)


def _encodable(text: str) -> str:
    return _SURROGATES.sub("\ufffd", text)


def _folded(line: str) -> bytes:
    """Return a line in pieces of at most 75 octets, no character cut in two (3.1)."""
    pieces, piece = [], b""
    for character in line:
        octets = character.encode()
        if len(piece) + len(octets) > MOST_OCTETS:
            pieces.append(piece)
            piece = b" "
        piece += octets
    return b"\r\n".join([*pieces, piece]) + b"\r\n"
