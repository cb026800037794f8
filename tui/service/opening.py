"""Makes the log editor a verb works with."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tui.service.log_editor import LogEditor

if TYPE_CHECKING:
    from collections.abc import Callable

    from bridge.service.log import Log
    from bridge.snapshot import Snapshot
    from bridge.values.events import PersonEvent
    from bridge.values.sheet import Sheet


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
