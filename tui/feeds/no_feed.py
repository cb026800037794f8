"""The feed where there is no car: nothing ever comes, nothing is live."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from bridge.snapshot import Snapshot
    from bridge.values.errors import SumpgateError
    from bridge.values.events import Marked, Measured, Tilted


class NoFeed:
    """See tui.feeds.feed.Feed."""

    speed: float | None = None
    failure: SumpgateError | None = None
    abort: Callable[[], object] | None = None

    def start(
        self, deliver: Callable[[Snapshot], None], failed: Callable[[str], None]
    ) -> None:
        """Begin: nothing will come."""

    def stop(self) -> None:
        """End: nothing runs."""

    def tell(self, told: Marked | Measured | Tilted) -> None:
        """Take a mark: there is nobody to tell it to."""

    def set_speed(self, speed: float) -> None:
        """Change the bench's speed: there is none."""
