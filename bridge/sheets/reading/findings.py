"""All the mistakes of a sheet that can be told apart, found in one reading."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import TypeVar

from bridge.sheets.reading.table import Table
from bridge.values.errors import SheetError

T = TypeVar("T")
Told = tuple[tuple[Table, T], ...]
"""Items of a repeated section, each with the place it was read from."""


@dataclass(slots=True)
class Findings:
    """Keeps each mistake and lets the reading go on where the next part begins."""

    mistakes: list[SheetError] = field(default_factory=list)

    def attempt(self, read: Callable[[], T]) -> T | None:
        """Return what was read, or None after a mistake, which is kept."""
        try:
            return read()
        except SheetError as mistake:
            self._keep(mistake)
            return None

    def _keep(self, mistake: SheetError) -> None:
        """Keep a mistake, but only one for each place."""
        place = getattr(mistake, "place", ())
        known = {getattr(other, "place", ()) for other in self.mistakes}
        if not place or place not in known:
            self.mistakes.append(mistake)

    def attempt_each(self, checks: Iterable[Callable[[], object]]) -> None:
        """Run checks that have nothing to do with one another."""
        for check in checks:
            self.attempt(check)

    def each(self, top: Table, section: str, read: Callable[[Table], T]) -> Told[T]:
        """Read a repeated section, item by item; those with a mistake are missing."""
        tables = self.attempt(lambda: top.each(section)) or ()
        told = []
        for table in tables:
            item = self.attempt(lambda table=table: read(table))  # type: ignore[misc]
            if item is not None:
                told.append((table, item))
        return tuple(told)
