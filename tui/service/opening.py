"""Makes the log editor a verb works with, and finds the job it goes on with."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.values.service_events import ServiceKind
from tui.service.log_editor import LogEditor
from tui.service.unfinished import begun, ended, unfinished

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Callable

    from bridge.jobfile.recorder import Recorder
    from bridge.service.log import Log
    from bridge.snapshot import Snapshot
    from bridge.values.events import PersonEvent
    from bridge.values.sheet import Sheet

GOES_ON = "The service goes on where it was left (key j); --afresh begins anew."


def go_on(args: Namespace, sheet: Sheet) -> bool:
    """Have the job file of an unfinished service go on; say whether there is one.

    Only where the person named no file, records at all, and did not ask to begin
    afresh.
    """
    if not sheet.service.order or args.record is not None or args.no_record:
        return False
    if args.afresh:
        ended(sheet)
        return False
    job = unfinished(sheet)
    if job is not None:
        args.record = str(job)
    return job is not None


def told_before(recorder: Recorder | None) -> Log:
    """Return what the job file already holds of the service."""
    if recorder is None:
        return ()
    from bridge.jobfile.service_log import service_in

    return service_in(recorder.path)


def editor_for(
    sheet: Sheet,
    tell: Callable[[PersonEvent], Snapshot | None],
    *,
    told: Log = (),
    who: str = "",
) -> LogEditor | None:
    """Return the editor; None where the sheet tells the level step only."""
    if not sheet.service.order:
        return None
    return LogEditor(sheet, tell=tell, told=told, who=who)


def remembering(
    sheet: Sheet,
    recorder: Recorder | None,
    tell: Callable[[PersonEvent], Snapshot | None],
) -> Callable[[PersonEvent], Snapshot | None]:
    """Return ``tell`` so that a later start goes on with this job, if not closed."""
    if recorder is None:
        return tell
    path = recorder.path

    def told(event: PersonEvent) -> Snapshot | None:
        if getattr(event, "kind", None) is ServiceKind.COMPLETE:
            ended(sheet)
        else:
            begun(sheet, path)
        return tell(event)

    return told
