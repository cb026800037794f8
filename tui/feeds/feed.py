"""Where the screen's snapshots come from, and how they cross into its thread."""

from __future__ import annotations

from threading import Lock
from typing import TYPE_CHECKING, Generic, Protocol, TypeVar

from tui.words.screen import screen_words

if TYPE_CHECKING:
    from collections.abc import Callable

    from bridge.snapshot import Snapshot
    from bridge.values.events import PersonEvent

Item = TypeVar("Item")


class Feed(Protocol):
    """A monitor running in its own thread, seen from the screen."""

    def start(
        self, deliver: Callable[[Snapshot], None], failed: Callable[[str], None]
    ) -> None:
        """Begin; both callbacks are called from the feed's own thread.

        ``deliver`` takes each snapshot, 4 to 10 times a second of real time;
        ``failed`` takes one sentence, once, when the monitor cannot go on.
        """

    def stop(self) -> None:
        """Return once the monitor has ended (under 0.5 s); safe to call twice."""

    def tell(self, event: PersonEvent) -> None:
        """Hand what the person tells to the monitor, which stamps it."""

    def ask(self, event: PersonEvent) -> Snapshot | None:
        """Hand it over and wait for the snapshot with its effect; None: not taken."""

    @property
    def speed(self) -> float | None:
        """Bench seconds per real second; None: a real car."""

    def set_speed(self, speed: float) -> None:
        """Run the bench at ``speed`` (> 0); without effect on a real car."""


SPEEDS = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)


def next_speed(now: float, step: int) -> float:
    """Return the bench's next speed up (step 1) or down (-1); the last one stays."""
    beyond = [s for s in SPEEDS[::step] if (s - now) * step > 0]
    return beyond[0] if beyond else now


class Mailbox(Generic[Item]):
    """Holds the newest item only, and wakes its reader once until it is read.

    However fast the feed and however slow the reader, at most one wake-up is
    waiting and the newest item is never lost.
    """

    def __init__(self, wake: Callable[[], object]) -> None:
        self._wake = wake
        self._lock = Lock()
        self._latest: Item | None = None
        self._failure = ""
        self._woken = False

    def deliver(self, item: Item) -> None:
        """Keep this item in place of any unread one; any thread."""
        with self._lock:
            self._latest = item
        self._ring()

    def fail(self, sentence: str) -> None:
        """Keep the sentence that says why the monitor ended; any thread."""
        with self._lock:
            self._failure = sentence or screen_words.NO_WHY
        self._ring()

    def take(self) -> tuple[Item | None, str]:
        """Hand out what has come since the last call: item and failure."""
        with self._lock:
            item, self._latest = self._latest, None
            self._woken = False
            return item, self._failure

    def _ring(self) -> None:
        with self._lock:
            first, self._woken = not self._woken, True
        if not first:
            return
        try:
            self._wake()
        except RuntimeError:  # the screen's event loop has just closed: nobody reads
            return
