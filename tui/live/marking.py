"""The keys of the level step: what a key tells the monitor.

One key does most of it, so that a presenter remote (PageDown or Enter, PageUp) can:
it marks the opening when GO is called and drips while the plug is out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.level.step.step_values import Phase
from bridge.values.events import Mark, Marked
from bridge.values.sheet import Confirmation

if TYPE_CHECKING:
    from bridge.level.step.step_values import Step

PLAIN: dict[str, Mark] = {
    "nothing": Mark.NOTHING_CAME,
    "streaming": Mark.STREAMING,
    "closed": Mark.CLOSED,
    "undo": Mark.UNDO,
    "again": Mark.RESTART,
}
"""Keys that always tell the same."""

CONFIRMS: tuple[Confirmation, ...] = tuple(Confirmation)
"""What the keys 1 to 6 confirm, in their order."""

_UNSTAMPED_S = 0.0
"""The monitor stamps what it is told; the screen has no clock of its own."""


def plain(name: str) -> Marked:
    """Return the mark of a plain key."""
    return Marked(mark=PLAIN[name], t_s=_UNSTAMPED_S)


def main_key(step: Step | None) -> Marked | None:
    """Return what the one key tells in the present phase; None: nothing now."""
    if step is None:
        return None
    if step.plug_open:
        return Marked(mark=Mark.DRIP, t_s=_UNSTAMPED_S)
    if step.phase in (Phase.GO, Phase.GET_READY):
        return Marked(mark=Mark.OPENED, t_s=_UNSTAMPED_S)
    return None


def confirmation(number: int, step: Step | None) -> Marked:
    """Return the mark that confirms point ``number`` (1..4), or takes it back."""
    what = CONFIRMS[number - 1]
    given = step is not None and what in step.confirmed
    return Marked(
        mark=Mark.WITHDRAWN if given else Mark.CONFIRMED,
        confirms=what,
        t_s=_UNSTAMPED_S,
    )
