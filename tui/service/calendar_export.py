"""Writes the next due date as a calendar file (RFC 5545) the person can import."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from bridge.service.calendar_file import Reminder, calendar_file, uid_of
from bridge.service.sums import due_of
from tui.words.service import page_words
from tui.words.service_words import due_words

if TYPE_CHECKING:
    from datetime import datetime

    from bridge.units import Units
    from tui.service.log_editor import LogEditor


def write_calendar(
    editor: LogEditor, units: Units, now: datetime, folder: Path | None = None
) -> str:
    """Write the file into ``folder`` (else the current one); return what to say."""
    found = due_of(editor.service, editor.log, editor.today)
    if found is None or isinstance(found, str) or found.remind_on is None:
        return page_words.NO_DATE
    began = editor.log[0].at_utc_s if editor.log else 0.0
    reminder = Reminder(
        uid=uid_of(f"{editor.sheet.name} {began:.3f}"),
        on=found.remind_on,
        summary=f"Gearbox service due: {editor.sheet.name}",
        description=due_words(found, units),
        stamped=now,
    )
    path = (folder or Path.cwd()) / f"gearbox-service-{found.remind_on}.ics"
    try:
        path.write_bytes(calendar_file(reminder))
    except OSError as problem:
        return page_words.NOT_WRITTEN.format(path, problem.strerror)
    return f"Written: {path}"
