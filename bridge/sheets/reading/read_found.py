"""The [found] and [[confirmed]] sections: a signal that was found by search.

`bridge.level.found_signal` decides what they are worth; here they are only read.
"""

from __future__ import annotations

from bridge.sheets.keys.keys_found import CONFIRMED
from bridge.sheets.reading.table import Table
from bridge.values.sheet import Checkpoint, Found


def read_found(table: Table, confirmed: tuple[Table, ...]) -> Found | None:
    """Return what the sheet says of a search; None if it says nothing of one."""
    checkpoints = tuple(_checkpoint(one) for one in confirmed)
    if not table.entries:
        return None  # comparisons with a signal nobody doubts
    return Found(
        when=table.text("when"),
        how=table.text("how"),
        signal=table.text("signal"),
        checkpoints=checkpoints,
    )


def _checkpoint(table: Table) -> Checkpoint:
    for key in ("thermometer", "signal", "accuracy"):
        if not table.has(key):
            example = CONFIRMED[key].example
            raise table.mistake(key, f"is missing; add {key} = {example}")
    return Checkpoint(
        when=table.text("when"),
        thermometer_c=table.amount("thermometer") or 0.0,
        signal_c=table.amount("signal") or 0.0,
        accuracy_c=table.figure("accuracy") or 0.0,
        coolant_c=table.amount("coolant"),
    )
