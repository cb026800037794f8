"""An exchange that never asks the car more often than a pace allows.

It sits below everything that repeats a question by itself, so no retry slips past it.
A unit that says it is busy or not ready (ISO 14229-1, codes 21 and 78) halves the
pace, down to one question in two seconds; a run of plain answers restores it.
"""

from __future__ import annotations

import re

from bridge.link.clock import now_s, sleep
from bridge.link.exchange import Exchange, Said
from bridge.link.ports.port import GuardedPort

SLOWEST_S = 2.0
CALM = 20
"""So many answers in a row without a complaint, and the pace goes up again."""
_HEX = re.compile(r"(?:[0-9A-F]{2})+[0-9A-F]?")
_BUSY = re.compile(r"7F[0-9A-F]{2}(?:21|78)")


class PacedExchange(Exchange):
    """The same conversation, with rests between questions that reach the car."""

    def __init__(self, port: GuardedPort, *, per_s: float) -> None:
        """``per_s``: most questions a second, above 0."""
        super().__init__(port)
        self._least_s = 1.0 / per_s
        self._spacing_s = self._least_s
        self._next_s = 0.0
        self._calm = 0
        self.asked = 0
        """Questions that went to the car so far."""
        self.backed_off = 0
        """How often a busy unit has slowed the pace down."""

    @property
    def spacing_s(self) -> float:
        """Seconds between two questions now."""
        return self._spacing_s

    async def ask(
        self, line: str, *, deadline_s: float, pause_s: float | None = None
    ) -> Said:
        """Wait for the turn, then ask; raises as `Exchange.ask` does."""
        if not _HEX.fullmatch(line):
            return await super().ask(line, deadline_s=deadline_s, pause_s=pause_s)
        await sleep(self._next_s - now_s())
        self._next_s = now_s() + self._spacing_s
        self.asked += 1
        said = await super().ask(line, deadline_s=deadline_s, pause_s=pause_s)
        self._heed(said)
        return said

    def _heed(self, said: Said) -> None:
        if any(_BUSY.search(line.replace(" ", "")) for line in said.lines):
            self._spacing_s = min(2.0 * self._spacing_s, SLOWEST_S)
            self._next_s = max(self._next_s, now_s() + self._spacing_s)
            self._calm, self.backed_off = 0, self.backed_off + 1
            return
        self._calm += 1
        if self._calm >= CALM and self._spacing_s > self._least_s:
            self._spacing_s = max(0.5 * self._spacing_s, self._least_s)
            self._calm = 0
