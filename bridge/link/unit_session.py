"""Keeping an extended session open, for a unit that answers only in one.

The session is asked for again whenever the unit has forgotten it, and kept alive by
'tester present' every two seconds (S3 of ISO 14229-2 is five). It changes which
questions the unit answers, nothing else: what may be asked stays the same list.
"""

from __future__ import annotations

from bridge.link.clock import now_s
from bridge.link.link import ElmLink
from bridge.protocol.request import GroupRequest, Request

PRESENT_EVERY_S = 2.0
ASK_AGAIN_S = 1.0


class UnitSession:
    """The session of the unit a request goes to; of none it does nothing."""

    def __init__(self, unit: Request | GroupRequest | None) -> None:
        self._unit = unit if isinstance(unit, Request) else None
        self._open = False
        self._due_s = 0.0

    def forget(self) -> None:
        """The adapter or the unit has started anew: ask for the session again."""
        self._open, self._due_s = False, 0.0

    async def keep(self, link: ElmLink) -> None:
        """Open the session, or keep it open, if that is due now."""
        if self._unit is None or now_s() < self._due_s:
            return
        if self._open:
            self._open = await link.keep_session(self._unit)
        else:
            self._open = await link.open_session(self._unit)
        self._due_s = now_s() + (PRESENT_EVERY_S if self._open else ASK_AGAIN_S)
