"""Where a sheet's figures come from: documents, and a signal found by search."""

from __future__ import annotations

from enum import StrEnum

from bridge.values.frozen import frozen


class Status(StrEnum):
    """How far a sheet's figures may be trusted."""

    DRAFT = "draft"
    CHECKED = "checked"


@frozen
class FigureSource:
    """Where some of a sheet's figures come from, and who saw to them."""

    of: tuple[str, ...]
    """The figures: 'level.window', or 'fastener.drain plug.torque' by its name."""
    document: str = ""
    """'': that of the whole sheet, as in each field below."""
    edition: str = ""
    page: str = ""
    dated: str = ""
    entered_by: str = ""
    checked_by: str = ""
    status: Status | None = None

    @property
    def words(self) -> str:
        """All that is told of it, on one line."""
        parts = (
            *(self.document, self.edition, self.page, self.dated),
            self.entered_by and f"entered by {self.entered_by}",
            self.checked_by and f"checked by {self.checked_by}",
            "" if self.status is None else self.status.value,
        )
        return ", ".join(part for part in parts if part)


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
