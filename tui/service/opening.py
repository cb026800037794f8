"""Makes the desk a verb works at: new, or taken up from the job file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from bridge.service.log import Deed
from tui.service.log_editor import Desk
from tui.service.unfinished import begun, ended, unfinished

if TYPE_CHECKING:
    from argparse import Namespace
    from pathlib import Path

    from bridge.jobfile.recorder import Recorder
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


def desk_for(
    sheet: Sheet, recorder: Recorder | None, *, who: str, remember: bool
) -> Desk | None:
    """Return the desk; None where the sheet tells the level step only.

    What the job file already holds of the service is taken up. ``remember``: a later
    start without a file named goes on with this one.
    """
    if not sheet.service.order:
        return None
    if recorder is None:
        return Desk(sheet, who=who)
    from bridge.jobfile.service_log import service_in

    path = recorder.path
    keep = _keeper(sheet, recorder, path, remember=remember)
    return Desk(sheet, log=service_in(path), keep=keep, who=who)


def _keeper(sheet: Sheet, recorder: Recorder, path: Path, *, remember: bool) -> Any:
    def keep(kind: str, told: dict[str, Any]) -> None:
        recorder.note_event(kind, told)
        if not remember:
            return
        if told.get("deed") == Deed.COMPLETE.value:
            ended(sheet)
        else:
            begun(sheet, path)

    return keep
