"""One doubt about a sheet that has no mistake in it: key, reason, remedy."""

from __future__ import annotations

from bridge.sheets.keys.all_keys import heading
from bridge.sheets.reading.sheet_page import Path
from bridge.values.frozen import frozen


@frozen
class SheetWarning:
    """What a careful reader would ask about; it forbids nothing."""

    section: str
    key: str
    why: str
    """What is doubtful, from the verb on: 'is 40 °C wide'."""
    remedy: str
    index: int | None = None
    """Which one of a repeated section, from 0."""

    def __str__(self) -> str:
        """Return one sentence: key, reason, remedy."""
        number = "" if self.index is None else f" {self.index + 1}"
        return (
            f'"{self.key}" in {heading(self.section)}{number} {self.why}; '
            f"{self.remedy}."
        )

    @property
    def path(self) -> Path:
        """Where the key stands, or would stand, in the sheet."""
        place: Path = (self.section,)
        return (
            (*place, self.key) if self.index is None else (*place, self.index, self.key)
        )


def doubt(where: str, why: str, remedy: str, index: int | None = None) -> SheetWarning:
    """Return a doubt about a key given with its section: ``fastener.torque``."""
    section, key = where.split(".")
    return SheetWarning(section=section, key=key, why=why, remedy=remedy, index=index)
