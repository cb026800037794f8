"""One section of a sheet, read key by key; whatever is wrong becomes a SheetError."""

from __future__ import annotations

import difflib
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass

from bridge.sheets.keys.all_keys import REPEATED, SECTIONS, heading, home_of
from bridge.sheets.reading.sheet_page import Page, Path, SheetMistake
from bridge.units import (
    Dimension,
    QuantityError,
    limits_like,
    parse_quantity,
    printable,
)

_LONGEST_LINE = 400
_MOST_LINES = 100
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
    """Return the word that was probably meant, or all there are."""
    near = difflib.get_close_matches(value.lower(), words, n=1)
    return f'"{near[0]}"' if near else "one of " + ", ".join(words)


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A section (or the sheet itself, ``section`` empty) and its place in the page.

    Every getter takes a key and an optional default; without a default the key is
    required. All of them raise SheetError.
    """

    page: Page
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
        return self.mistake(key, f"is {value}, not {wanted}; {self._like(key)}")

    def has(self, key: str) -> bool:
        """Return whether the key is there."""
        return key in self.entries

    def check_keys(self) -> None:
        """Refuse the first key this section does not have, naming the nearest."""
        for key in self.entries:
            self.check_key(key)

    def check_key(self, key: str) -> None:
        """Refuse a key that this section does not have, naming the nearest."""
        known = SECTIONS[self.section] if self.section else SECTIONS
        if key not in known:
            raise self.mistake(key, f"is not known; {_remedy(key, known)}")

    def text(self, key: str, default: str | None = None) -> str:
        """Return one line of text."""
        if default is not None and key not in self.entries:
            return default
        value = self._required(key)
        if not isinstance(value, str):
            raise self.refuse(key, "a text")
        return self._line(key, value)

    def choice(
        self, key: str, words: tuple[str, ...], default: str | None = None
    ) -> str:
        """Return one of the words."""
        value = self.text(key, default)
        if value in words:
            return value
        raise self.mistake(
            key,
            f"is {in_words(value)}, an unknown word; write {nearest(value, words)}",
        )

    def flag(self, key: str, *, default: bool) -> bool:
        """Return true or false."""
        value = self.entries.get(key, default)
        if not isinstance(value, bool):
            raise self.refuse(key, "true or false")
        return value

    def integer(self, key: str) -> int:
        """Return a whole number of any size; the key is required."""
        value = self._required(key)
        if not isinstance(value, int) or isinstance(value, bool):
            raise self.refuse(key, "a whole number")
        return value

    def whole(self, key: str, low: int, high: int, default: int | None = None) -> int:
        """Return a whole number from low to high, both included."""
        if default is not None and key not in self.entries:
            return default
        value = self.integer(key)
        if not low <= value <= high:
            raise self.mistake(
                key, f"is {in_words(value)}; write a number from {low} to {high}"
            )
        return value

    def number(self, key: str, low: float, high: float, default: float) -> float:
        """Return a finite number from low to high, both included."""
        value = self.entries.get(key, default)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self.refuse(key, "a number")
        if not low <= value <= high:
            raise self.mistake(
                key, f"is {in_words(value)}; write a number from {low:g} to {high:g}"
            )
        return float(value)

    def quantity(
        self, key: str, dimension: Dimension, default: float | None = None
    ) -> float:
        """Return a quantity in its dimension's unit."""
        if default is not None and key not in self.entries:
            return default
        return self._quantity(key, self._required(key), dimension)

    def amount(self, key: str) -> float | None:
        """Return a quantity within the key's own limits, or None without it."""
        if key not in self.entries:
            return None
        told = SECTIONS[self.section][key]
        if told.dimension is None or told.low is None or told.high is None:
            raise TypeError(f"{key} is not declared as a quantity with limits")
        value = self.quantity(key, told.dimension)
        if not told.low <= value <= told.high:
            written = str(self.entries[key])
            limits = limits_like(written, (told.low, told.high), told.dimension)
            raise self.mistake(
                key, f"is {in_words(written)}, beyond all reason; write {limits}"
            )
        return value

    def count(self, key: str, default: int | None = None) -> int:
        """Return a whole number within the key's own limits."""
        low, high = self._limits(key)
        return self.whole(key, round(low), round(high), default)

    def figure(self, key: str) -> float | None:
        """Return a number within the key's own limits, or None without it."""
        low, high = self._limits(key)
        return self.number(key, low, high, low) if key in self.entries else None

    def _limits(self, key: str) -> tuple[float, float]:
        told = SECTIONS[self.section][key]
        if told.low is None or told.high is None:
            raise TypeError(f"{key} is declared without limits")
        return told.low, told.high

    def words(self, key: str) -> tuple[str, ...]:
        """Return a list of the key's own words, each at most once."""
        known = SECTIONS[self.section][key].choices
        told = self.lines(key)
        for item in told:
            if item not in known:
                raise self.mistake(
                    key,
                    f"has {in_words(item)} in it, unknown here; "
                    f"write {nearest(item, known)}",
                )
        self.check_once(key, told)
        return told

    def check_once(self, key: str, told: tuple[str, ...]) -> None:
        """Refuse a list that has one of its texts twice."""
        again = next((item for item in told if told.count(item) > 1), None)
        if again is not None:
            raise self.mistake(
                key, f"has {in_words(again)} in it twice; write each one once"
            )

    def pair(
        self,
        key: str,
        dimension: Dimension,
        default: tuple[float, float] | None = None,
    ) -> tuple[float, float]:
        """Return two quantities, the lower one first."""
        if default is not None and key not in self.entries:
            return default
        value = self._required(key)
        if not isinstance(value, list) or len(value) != 2:
            raise self.mistake(key, f"must be two quantities; {self._like(key)}")
        low, high = (self._quantity(key, item, dimension) for item in value)
        if low < high:
            return low, high
        ends = f"{in_words(value[0])}, {in_words(value[1])}"
        if low == high:
            raise self.mistake(key, f"has no room in it ({ends}); write two limits")
        raise self.mistake(key, f"is upside down ({ends}); write the lower one first")

    def lines(self, key: str) -> tuple[str, ...]:
        """Return a list of lines of text; empty without the key."""
        value = self.entries.get(key, [])
        if not isinstance(value, list):
            raise self.refuse(key, "a list of texts")
        if len(value) > _MOST_LINES:
            raise self.mistake(key, f"has too many lines; keep to {_MOST_LINES}")
        for item in value:
            if not isinstance(item, str):
                raise self.mistake(
                    key, f"has {in_words(item)} in it, not a text; {self._like(key)}"
                )
        return tuple(self._line(key, item) for item in value)

    def items(self, key: str) -> tuple[int, ...]:
        """Return a list of whole numbers; empty without the key."""
        value = self.entries.get(key, [])
        if not isinstance(value, list):
            raise self.refuse(key, "a list of whole numbers")
        for item in value:
            if not isinstance(item, int) or isinstance(item, bool):
                raise self.mistake(
                    key,
                    f"has {in_words(item)} in it, not a whole number; "
                    f"{self._like(key)}",
                )
        return tuple(value)

    def one(self, section: str) -> Table:
        """Return a section that is there once; it may be missing, then it is empty."""
        value = self.entries.get(section, {})
        if not isinstance(value, dict):
            raise self.mistake(
                section, f"is no section; write [{section}] above its keys"
            )
        table = Table(page=self.page, section=section, path=(section,), entries=value)
        table.check_keys()
        return table

    def each(self, section: str) -> tuple[Table, ...]:
        """Return a section that may be there several times."""
        value = self.entries.get(section, [])
        if not isinstance(value, list) or not all(isinstance(v, dict) for v in value):
            raise self.mistake(
                section,
                f"is not a list of sections; write [[{section}]], with double "
                f"brackets, above the keys of each one",
            )
        tables = tuple(
            Table(page=self.page, section=section, path=(section, i), entries=item)
            for i, item in enumerate(value)
        )
        for table in tables:
            table.check_keys()
        return tables

    def _required(self, key: str) -> object:
        if key not in self.entries:
            raise self.mistake(key, f"is missing; add {self._example(key)}")
        return self.entries[key]

    def _quantity(self, key: str, value: object, dimension: Dimension) -> float:
        if not isinstance(value, str):
            raise self.mistake(
                key,
                f"has {in_words(value)}, not a quantity in quotes; {self._like(key)}",
            )
        try:
            return parse_quantity(value, dimension)
        except QuantityError as error:
            raise self.mistake(key, f"cannot be read: {error}") from None

    def _line(self, key: str, value: str) -> str:
        if not value.strip():
            raise self.mistake(key, f"has an empty text; {self._like(key)}")
        if len(value) > _LONGEST_LINE:
            raise self.mistake(key, f"is too long; keep to {_LONGEST_LINE} characters")
        # Control and formatting characters could rewrite a terminal's screen.
        if any(unicodedata.category(c) in _UNFIT for c in value):
            raise self.mistake(
                key, "has a line break or control character; write plain lines of text"
            )
        return value.strip()

    def _like(self, key: str) -> str:
        return f"write it like {self._example(key)}"

    def _example(self, key: str) -> str:
        examples = SECTIONS.get(self.section, {})
        return f"{key} = {examples[key].example}" if key in examples else f"[{key}]"


_UNFIT = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})


def _remedy(key: str, known: Mapping[str, object]) -> str:
    near = difflib.get_close_matches(key[:60].lower(), known, n=1)
    if near:
        return f'write "{near[0]}" or take it out'
    home = home_of(key)
    return f"move it to {home}" if home is not None else f"take it out, or {_README}"
