"""The person's hand on the service: makes its events, hands them to the monitor.

The monitor stamps an event, applies it to its session and records it; only then is its
effect shown here. The log is always the one of the newest snapshot.
"""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from bridge.service.level_facts import CONFIRMED_BY, as_fact
from bridge.service.log import applying, is_closed, is_done, standing, toggling, undoing
from bridge.service.rounds import tick_times
from bridge.values.events import Mark, Marked
from bridge.values.service_events import ServiceEvent, ServiceKind

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from bridge.service.log import Log
    from bridge.snapshot import Snapshot
    from bridge.values.events import PersonEvent
    from bridge.values.service_sheet import Service
    from bridge.values.sheet import Confirmation, Sheet


class LogEditor:
    """Shows one service's log and makes its events."""

    def __init__(
        self,
        sheet: Sheet,
        *,
        tell: Callable[[PersonEvent], Snapshot | None],
        told: Log = (),
        who: str = "",
        utc: Callable[[], float] = time.time,
    ) -> None:
        """``tell`` hands an event over and returns the snapshot that has its effect.

        None: it could not be taken. ``told``: what was told before, until the first
        snapshot comes.
        """
        self.sheet = sheet
        self.log = self.told = told
        """The log as shown, and what of it the person told."""
        self.who = who or next((e.who for e in reversed(told) if e.who), "")
        """Who works on it: as said now, else as the job so far has it."""
        self._tell, self._utc = tell, utc

    @property
    def service(self) -> Service:
        """The sheet's service for the gearbox that was found."""
        return applying(self.sheet.service, self.log)

    @property
    def today(self) -> date:
        """The date where the person is."""
        return datetime.fromtimestamp(self._utc(), UTC).astimezone().date()

    @property
    def closed(self) -> bool:
        """Whether the service was closed."""
        return is_closed(self.log)

    def take(self, snapshot: Snapshot | None) -> None:
        """Show the log of a snapshot, if it has one."""
        if snapshot is None or snapshot.log is None or snapshot.told is None:
            return
        self.log, self.told = snapshot.log, snapshot.told

    def tell(self, event: PersonEvent) -> bool:
        """Hand an event over; False: it was not taken."""
        if isinstance(event, ServiceEvent):
            event = replace(event, who=event.who or self.who)
        seen = self._tell(event)
        self.take(seen)
        return seen is not None

    def add(self, entry: ServiceEvent) -> bool:
        """Add an entry; False: it was not taken."""
        return self.tell(as_fact(entry))

    def toggle(self, entry: ServiceEvent) -> bool:
        """Add an entry, or take it back where it stands; False: it was not taken."""
        if entry.kind is ServiceKind.DONE and entry.step in CONFIRMED_BY:
            stands = is_done(self.log, entry.step)
            return self.tell(as_fact(entry, given=not stands))
        times = tick_times(self.service, self.log, entry)
        return self.tell(toggling(self.told, entry, times))

    def confirm(self, what: Confirmation) -> bool:
        """Confirm a point of the level step; False: it was not taken."""
        return self.tell(Marked(mark=Mark.CONFIRMED, confirms=what))

    @property
    def newest(self) -> ServiceEvent | None:
        """The entry ``undo`` takes back; None: there is none."""
        left = standing(self.told)
        return left[-1][1] if left else None

    def undo(self) -> bool | None:
        """Take the newest entry back; None: there is none, False: it was not taken."""
        back = undoing(self.told, who=self.who)
        return None if back is None else self.tell(back)


def editor_for(
    sheet: Sheet,
    tell: Callable[[PersonEvent], Snapshot | None],
    *,
    told: Log = (),
    who: str = "",
) -> LogEditor | None:
    """Return the editor; None where the sheet has no service, only the level step."""
    if not sheet.service.order:
        return None
    return LogEditor(sheet, tell=tell, told=told, who=who)
