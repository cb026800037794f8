"""That a sheet's fluid signal was found by search, and what bears it out."""

from __future__ import annotations

from bridge.values.frozen import frozen


@frozen
class Checkpoint:
    """One moment at which a thermometer was held against the found signal."""

    when: str
    """Date and time as the sheet has it."""
    thermometer_c: float
    signal_c: float
    accuracy_c: float
    """What the thermometer is good for: within plus or minus so much."""
    coolant_c: float | None = None
    """The engine's coolant at that moment; None: the car did not tell."""


@frozen
class Found:
    """That the fluid's signal was found by search, and what bears it out."""

    when: str
    how: str
    signal: str
    """The signal as it was found, in `found.spell`'s words: another one in the
    sheet is not the one that was confirmed."""
    checkpoints: tuple[Checkpoint, ...] = ()
