"""When a step is at its end: every row it needs is ticked or answered. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.service.fastening import ticks_wanted
from bridge.service.log import is_done, ticked
from tui.service.pages.page_model import Item

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bridge.service.log import Log
    from bridge.values.service_sheet import Service, StepKind
    from tui.service.pages.page_model import Row


def needs_no_more(rows: Sequence[Row]) -> bool:
    """Say whether the step needs rows, and all of them are ticked or answered."""
    needed = [row for row in rows if isinstance(row, Item) and row.needed]
    return bool(needed) and all(item.done for item in needed)


def end_of(rows: Sequence[Row]) -> Item | None:
    """Return the item that marks the step done; None: it is done already."""
    return next((r for r in rows if isinstance(r, Item) and r.finishes), None)


def steps_ticked(service: Service, log: Log) -> frozenset[StepKind]:
    """Return the steps that are done and have nothing unticked at their fasteners.

    A level judged good is not set until washer, torque and angle of its plug are.
    """
    loose = {
        f.step for f in service.fasteners if not set(ticks_wanted(f)) <= ticked(log, f)
    }
    return frozenset(s for s in service.order if is_done(log, s) and s not in loose)
