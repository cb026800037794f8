"""One section of a sheet and its place in the page; mistakes are made here."""

from __future__ import annotations

import difflib
from collections.abc import Mapping

from bridge.sheets.keys.all_keys import (
    REPEATED,
    SECTIONS,
    heading,
    home_of,
)
from bridge.sheets.reading.sheet_page import Path, SheetMistake, SheetPage
from bridge.units import printable
from bridge.values.frozen import frozen

_README = "see profiles/README.md for the keys there are"


def in_words(value: object) -> str:
    """Return a value of a sheet as a short text fit for a sentence."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{printable(value, 40)}"'
    if isinstance(value, int):
        return str(value) if value.bit_length() <= 64 else "a number far too large"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, list):
        return "a list"
    return "a table" if isinstance(value, dict) else "a date or time"


def nearest(value: str, words: tuple[str, ...]) -> str:
    """Return the word that was probably meant, or all there are.

    Two words that differ in what they name and agree in what they are ("oil" and
    "coolant-temperature" for "oil-temperature") are not near.
    """
    near = difflib.get_close_matches(value.lower(), words, n=1)
    if near and _same_thing(value.lower(), near[0], words):
        return f'"{near[0]}"'
    return "one of " + ", ".join(words)


def _same_thing(value: str, near: str, words: tuple[str, ...]) -> bool:
    """Return whether two words agree in what tells the near one from the others."""
    parts = value.replace("_", "-").split("-")
    common = {
        part
        for part in near.split("-")
        if sum(part in word.split("-") for word in words) > 1
    }
    if not common & set(parts):
        return True
    own = "-".join(part for part in near.split("-") if part not in common)
    said = "-".join(part for part in parts if part not in common)
    return bool(difflib.get_close_matches(said, [own], n=1))


@frozen
class SheetTable:
    """A section (or the sheet itself, ``section`` empty) and its place in the page."""

    page: SheetPage
    section: str
    path: Path
    entries: Mapping[str, object]

    @property
    def title(self) -> str:
        """The section as a person finds it: ``[level]``, ``[[signal]] 2``."""
        if not self.section:
            return "the sheet"
        number = f" {int(self.path[-1]) + 1}" if self.section in REPEATED else ""
        return heading(self.section) + number

    def mistake(self, key: str, saying: str) -> SheetMistake:
        """Return the error for a key; ``saying`` is what is wrong, then the remedy."""
        path = (*self.path, key) if key in self.entries else self.path
        mistake = self.page.mistake(
            f'"{printable(key, 40)}" in {self.title} {saying}', path
        )
        mistake.place = (*self.path, key)
        return mistake

    def refuse(self, key: str, wanted: str) -> SheetMistake:
        """Return the error for a value of the wrong kind; ``wanted`` has an article."""
        value = in_words(self.entries.get(key))
        return self.mistake(key, f"is {value}, not {wanted}; {self.like(key)}")

    def missing(self, key: str) -> SheetMistake:
        """Return the error for a key that must be there and is not."""
        return self.mistake(key, f"is missing; add {self._example(key)}")

    def has(self, key: str) -> bool:
        """Return whether the key is there."""
        return key in self.entries

    def check_key(self, key: str) -> None:
        """Refuse a key that this section does not have, naming the nearest."""
        known = SECTIONS[self.section] if self.section else SECTIONS
        if key not in known:
            raise self.mistake(key, f"is not known; {_remedy(key, known)}")

    def one(self, section: str) -> SheetTable:
        """Return a section that is there once; it may be missing, then it is empty."""
        value = self.entries.get(section, {})
        if not isinstance(value, dict):
            raise self.mistake(
                section, f"is no section; write [{section}] above its keys"
            )
        return SheetTable(
            page=self.page, section=section, path=(section,), entries=value
        )

    def each(self, section: str) -> tuple[SheetTable, ...]:
        """Return a section that may be there several times."""
        value = self.entries.get(section, [])
        if not isinstance(value, list) or not all(isinstance(v, dict) for v in value):
            raise self.mistake(
                section,
                f"is not a list of sections; write [[{section}]], with double "
                f"brackets, above the keys of each one",
            )
        return tuple(
            SheetTable(page=self.page, section=section, path=(section, i), entries=item)
            for i, item in enumerate(value)
        )

    def like(self, key: str) -> str:
        """Return the remedy for a value of the wrong kind."""
        return f"write it like {self._example(key)}"

    def _example(self, key: str) -> str:
        examples = SECTIONS.get(self.section, {})
        return f"{key} = {examples[key].example}" if key in examples else f"[{key}]"


def meant(key: str, known: Mapping[str, object]) -> str:
    """Return the known key that a misspelt one is nearest to; '' if to none."""
    near = difflib.get_close_matches(key[:60].lower(), known, n=1)
    return near[0] if near else ""


def _remedy(key: str, known: Mapping[str, object]) -> str:
    near = meant(key, known)
    if near:
        return f'write "{near}" or take it out'
    home = home_of(key)
    return f"move it to {home}" if home is not None else f"take it out, or {_README}"
