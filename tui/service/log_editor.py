"""Where the service's entries are made: stamped, added to the log, written down."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from bridge.jobfile.service_log import KIND
from bridge.service.log import (
    Deed,
    applying,
    is_complete,
    standing,
    taken_back,
    toggled,
    undone,
)
from bridge.service.log_plain import to_plain

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from bridge.service.log import Entry, Log
    from bridge.values.service_sheet import Service, StepKind
    from bridge.values.sheet import Sheet


class Desk:
    """Holds one service's log; every change goes to ``keep`` as well."""

    def __init__(
        self,
        sheet: Sheet,
        *,
        log: Log = (),
        keep: Callable[[str, dict[str, Any]], object] | None = None,
        utc: Callable[[], float] = time.time,
        who: str = "",
    ) -> None:
        """``keep`` takes an event's kind and content; None: nothing is recorded."""
        self.sheet = sheet
        self.log = log
        self.who = who
        self.utc = utc
        self._keep = keep

    @property
    def service(self) -> Service:
        """The sheet's service for the gearbox that was found."""
        return applying(self.sheet.service, self.log)

    @property
    def today(self) -> date:
        """The date where the person is."""
        return datetime.fromtimestamp(self.utc(), UTC).astimezone().date()

    @property
    def recorded(self) -> bool:
        """Whether entries are written down."""
        return self._keep is not None

    def add(self, entry: Entry) -> None:
        """Stamp an entry and add it."""
        self._take((*self.log, self._stamped(entry)))

    def toggle(self, entry: Entry) -> None:
        """Add an entry, or take it back where it stands."""
        if entry.deed is Deed.VARIANT:
            self.add(entry)  # another one replaces it
            return
        self._take(toggled(self.log, self._stamped(entry)))

    def undo(self) -> bool:
        """Take the newest entry back; False: there is none."""
        before = len(self.log)
        self._take(undone(self.log, at_utc_s=self.utc(), who=self.who))
        return len(self.log) > before

    def withdraw(self, *deeds: Deed, step: StepKind) -> None:
        """Take back all that these deeds say of a step."""
        for number, entry in standing(self.log):
            if entry.deed in deeds and entry.step is step:
                self._take((*self.log, taken_back(number, self._stamped(entry))))

    @property
    def complete(self) -> bool:
        """Whether the service was closed."""
        return is_complete(self.log)

    def _stamped(self, entry: Entry) -> Entry:
        return replace(entry, at_utc_s=self.utc(), who=entry.who or self.who)

    def _take(self, log: Log) -> None:
        for entry in log[len(self.log) :]:
            if self._keep is not None:
                self._keep(KIND, to_plain(entry))
        self.log = log
