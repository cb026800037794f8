"""Whoever else wants the snapshots: the phone page, the voice. None can harm the gate.

A listener is called in the monitor's own loop. It must return at once; one that
raises is dropped, and the monitor goes on without it.
"""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from bridge.snapshot import Snapshot
    from tui.feeds.monitor_feed import Deliver, Watch


class Listener(Protocol):
    """Takes every snapshot of one monitor."""

    def joined(self, loop: asyncio.AbstractEventLoop) -> None:
        """Take note of the monitor's loop; called once, in it."""

    def deliver(self, snapshot: Snapshot) -> None:
        """Take a snapshot; in the monitor's loop, so neither wait nor compute much."""

    def ended(self) -> None:
        """Take note that the monitor has ended; nothing comes any more."""


def shared(watch: Watch, listeners: Sequence[Listener]) -> Watch:
    """Return ``watch`` with its snapshots also going to the listeners."""
    if not listeners:
        return watch

    async def watched(deliver: Deliver) -> None:
        hearing = _Hearing(listeners)
        hearing.each("joined", asyncio.get_running_loop())

        def both(snapshot: Snapshot) -> None:
            deliver(snapshot)
            hearing.each("deliver", snapshot)

        try:
            await watch(both)
        finally:
            hearing.each("ended")

    return watched


class _Hearing:
    """The listeners that have not failed yet."""

    def __init__(self, listeners: Sequence[Listener]) -> None:
        self._listeners = list(listeners)

    def each(self, what: str, *given: object) -> None:
        """Call every listener; drop the one that raises."""
        for listener in tuple(self._listeners):
            try:
                getattr(listener, what)(*given)
            except Exception:  # whatever it is, it may not stop the gate
                self._listeners.remove(listener)
