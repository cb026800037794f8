"""Where the cursor goes, and when a step is at its end: all it needs is there. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.service.fastening import ticks_wanted
from bridge.service.log import is_done, ticked
from bridge.service.rounds import refits, reopened
from bridge.values.service_sheet import StepKind
from tui.service.pages.page_model import Asked, Item

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bridge.service.log import Log
    from bridge.values.service_sheet import Service
    from bridge.values.sheet import Sheet
    from tui.service.pages.page_model import Row


def needs_no_more(rows: Sequence[Row]) -> bool:
    """Say whether the step needs rows, and all of them are ticked or answered."""
    needed = [row for row in rows if isinstance(row, Item) and row.needed]
    return bool(needed) and all(item.done for item in needed)


def end_of(rows: Sequence[Row]) -> Item | None:
    """Return the item that marks the step done; None: it is done already."""
    return next((r for r in rows if isinstance(r, Item) and r.finishes), None)


def steps_ticked(sheet: Sheet, service: Service, log: Log) -> frozenset[StepKind]:
    """Return the steps that are done and have nothing unticked at their fasteners.

    A level judged good is not set until washer, torque and angle of its plug are, and
    draining and filling are not done while the sheet wants a further round.
    """
    loose = {
        f.step
        for f in service.fasteners
        if not set(ticks_wanted(f)) <= ticked(log, f, refits(service, log, f))
    }
    loose |= set(reopened(sheet, log))
    return frozenset(s for s in service.order if is_done(log, s) and s not in loose)


_READ_FIRST = frozenset({StepKind.CAUTIONS, StepKind.IDENTIFY})
"""The steps whose last row says more than that they are done."""


def ends_by_key(rows: Sequence[Row]) -> bool:
    """Say whether one key may end the step: nothing it needs is open any more."""
    end = end_of(rows)
    if end is None or end.toggles is None or end.toggles.step in _READ_FIRST:
        return False
    return not any(isinstance(r, Item) and r.needed and not r.done for r in rows)


def begins_at(items: Sequence[Item]) -> int:
    """Return which row the cursor is on when a page is opened: the first one open."""
    still = [n for n, item in enumerate(items) if not item.done]
    return next((n for n in still if _wanted(items[n])), (still or [0])[0])


def onward_from(items: Sequence[Item], here: int) -> int:
    """Return the row after one that was just done: the next one wanted, else below."""
    still = [n for n, item in enumerate(items) if not item.done and _wanted(item)]
    below = min(here + 1, max(0, len(items) - 1))
    return next((n for n in (*(n for n in still if n > here), *still)), below)


def _wanted(item: Item) -> bool:
    return item.needed or bool(item.all_of) or item.asks is Asked.AMOUNT
