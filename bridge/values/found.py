"""Where a sheet's figures come from: documents, and a signal found by search."""

from __future__ import annotations

from enum import StrEnum

from bridge.values.frozen import frozen


class Status(StrEnum):
    """How far a sheet's figures may be trusted."""

    DRAFT = "draft"
    CHECKED = "checked"


@frozen
class Provenance:
    """Of which edition of a document figures are, and who saw to them; '' not told."""

    edition: str = ""
    page: str = ""
    dated: str = ""
    """Of the document, as it says itself."""
    entered_by: str = ""
    checked_by: str = ""
    status: Status | None = None

    @property
    def one_pair_of_eyes(self) -> bool:
        """Whether they are called checked by nobody but who entered them."""
        alone = self.checked_by.casefold() in ("", self.entered_by.casefold())
        return self.status is Status.CHECKED and alone


@frozen
class FigureSource(Provenance):
    """Where some of a sheet's figures come from, if not from where the others do."""

    of: tuple[str, ...]
    """The figures: 'level.window', or 'fastener.drain plug.torque' by its name."""
    document: str = ""
    """'': that of the whole sheet, as what is not told beside it."""

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
