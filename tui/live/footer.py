"""The keys the live screen offers: those that are wanted now come first. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.level.gate import PERSONS
from bridge.level.step.step_values import Phase
from tui.inputs.offers import key_of
from tui.words import step_wording
from tui.words.screen import screen_words

if TYPE_CHECKING:
    from bridge.snapshot import Snapshot
    from tui.live.screens import Pane

Hints = tuple[tuple[str, str], ...]
ANSWERING: Hints = (("Enter", "save"), ("Esc", "cancel"))
"""While something is typed, every other key is a letter."""
_READ: Hints = (("Enter", screen_words.HAVE_READ), ("q", "quit"), ("?", "help"))
_MORE: Hints = (("Enter", "read on"), *_READ[1:])
_PAGE: Hints = (("Esc", "back"), ("PgDn", "on"), ("PgUp", "back up"), ("q", "quit"))


def over_figures(pane: Pane, *, confirmed: bool, read_to_end: bool) -> Hints:
    """Return the keys while a page lies over the figures."""
    if confirmed or pane != "cautions":
        return _PAGE
    return _READ if read_to_end else _MORE


def wanted(snapshot: Snapshot | None) -> Hints:
    """Return the keys that tell something the job is waiting for, the first first."""
    if snapshot is None:
        return ()
    hints = step_wording.key_hints(snapshot.step)
    if snapshot.step is not None and snapshot.step.phase is Phase.LOW:
        hints = (("a", "topped up"), *hints)
    status = snapshot.thermometer_status
    if status is not None and status.thermometer.alone:
        hints = (*hints, ("t", "type reading"))
    if snapshot.step is not None and snapshot.step.plug_open:
        return hints
    points = (
        (key_of(what), step_wording.POINTS[what])
        for what, (_, reason) in PERSONS.items()
        if reason in snapshot.reasons
    )
    return (*hints, *points)


def standing(
    unit: str, *, muted: bool, service: bool, bench: bool, colored: bool
) -> Hints:
    """Return the keys that are there all the time, after those that are wanted."""
    return (
        *((("j", "service"),) if service else ()),
        ("q", "quit"),
        ("?", "help"),
        *((("+ −", "speed"),) if bench else ()),
        ("u", f"°{'F' if unit == 'C' else 'C'}"),
        ("m", "bell on" if muted else "bell off"),
        *((("v", "colors"),) if colored else ()),
    )


def in_service(row: Hints, *, ends: bool, undo: bool, papers: bool, car: bool) -> Hints:
    """Return the keys of the service; ``row``: of the row the cursor is on."""
    return (
        *row,
        ("↑↓", "row"),
        ("←→", "step"),
        *((("f", "end"),) if ends and not papers else ()),
        *((("z", "undo"),) if undo else ()),
        ("n", "note"),
        ("p", "step" if papers else "papers"),
        *((("j", "live"),) if car else ()),
        ("q", "quit"),
    )
