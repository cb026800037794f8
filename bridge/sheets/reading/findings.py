"""All the mistakes of a sheet that can be told apart, found in one reading."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import partial
from typing import Any, TypeVar

from bridge.sheets.keys.all_keys import ALWAYS, REPEATED, SECTIONS
from bridge.sheets.reading.sheet_page import Path
from bridge.sheets.reading.table import SheetTable, meant
from bridge.sheets.reading.values import read_value
from bridge.values.errors import SheetError
from bridge.values.frozen import frozen

T = TypeVar("T")


@frozen
class SectionRead:
    """What one section says: the values of its keys that are there and right."""

    table: SheetTable
    values: dict[str, Any]

    def has(self, key: str) -> bool:
        """Return whether a key is written, right or wrong."""
        return self.table.has(key)

    def get(self, key: str) -> Any:
        """Return a key's value in our units; None if it is missing or wrong."""
        return self.values.get(key)

    def held(self, key: str) -> Any:
        """Return a key's value, its default where it is not written; None if wrong."""
        if self.has(key):
            return self.get(key)
        return SECTIONS[self.table.section][key].absent

    def fields(self, of: type) -> dict[str, Any]:
        """Return what the keys say as fields of a dataclass.

        What is not written is left out, so that the dataclass's default holds.
        """
        keys = SECTIONS[self.table.section]
        said: dict[str, Any] = {}
        for key, value in self.values.items():
            if keys[key].of is of:
                said |= keys[key].stored(value)
        return said


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

    def clean(self, *paths: Path) -> bool:
        """Return whether no mistake lies below any of these places."""
        places = [getattr(mistake, "place", ()) for mistake in self.mistakes]
        return not any(p[: len(path)] == path for p in places for path in paths)

    def read(self, top: SheetTable, section: str) -> tuple[SectionRead, ...]:
        """Read a section, key by key: each of a repeated one, else the one there is."""
        tables = self.attempt(partial(_tables, top, section)) or ()
        found = tuple(self._section(table) for table in tables)
        if section not in _misspelt(top, SECTIONS):
            for one in found:
                self._want(one.table, top)
        return found

    def _section(self, table: SheetTable) -> SectionRead:
        values: dict[str, Any] = {}
        for key in table.entries:
            self.attempt(partial(table.check_key, key))
            if key in SECTIONS[table.section]:
                value = self.attempt(partial(read_value, table, key))
                values |= {} if value is None else {key: value}
        return SectionRead(table=table, values=values)

    def _want(self, table: SheetTable, top: SheetTable) -> None:
        """Find the keys that must be there; a misspelt one is one mistake, not two."""
        if not (table.entries or table.section in (*REPEATED, *ALWAYS)):
            return
        keys = SECTIONS[table.section]
        misspelt = _misspelt(table, keys)
        for key, form in keys.items():
            if form.unless and table.entries.get(form.unless[0]) == form.unless[1]:
                continue
            if top.has(form.unless_section):
                continue
            if form.required and not table.has(key) and key not in misspelt:
                self._keep(table.missing(key))


def _misspelt(table: SheetTable, known: Mapping[str, object]) -> set[str]:
    """Return what a table's unknown keys were probably meant to be."""
    return {meant(key, known) for key in table.entries if key not in known}


def _tables(top: SheetTable, section: str) -> tuple[SheetTable, ...]:
    return top.each(section) if section in REPEATED else (top.one(section),)
