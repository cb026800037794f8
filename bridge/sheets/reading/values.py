"""The value of one key, read by what its declaration says; wrong ones are refused."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from typing import Any

from bridge.sheets.keys.all_keys import SECTIONS
from bridge.sheets.keys.key_kinds import Key, KeyKind
from bridge.sheets.reading.can_ids import can_id
from bridge.sheets.reading.table import SheetTable, in_words, nearest
from bridge.units import Dimension, QuantityError, limits_like, parse_quantity
from bridge.values.sheet import OPEN_C

LONGEST_LINE = 400
MOST_LINES = 100
UNFIT = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
"""Control and formatting characters could rewrite a terminal's screen."""


def read_value(table: SheetTable, key: str) -> Any:
    """Return the value of a key that is there, in our units.

    Raises:
        SheetError: it is not what the key is declared to be.
    """
    form = SECTIONS[table.section][key]
    return _READERS[form.kind](table, key, form)


def _text(table: SheetTable, key: str, _: Key) -> str:
    value = table.entries[key]
    if not isinstance(value, str):
        raise table.refuse(key, "a text")
    return _line(table, key, value)


def _line(table: SheetTable, key: str, value: str) -> str:
    if not value.strip():
        raise table.mistake(key, f"has an empty text; {table.like(key)}")
    if len(value) > LONGEST_LINE:
        raise table.mistake(key, f"is too long; keep to {LONGEST_LINE} characters")
    if any(unicodedata.category(c) in UNFIT for c in value):
        raise table.mistake(
            key, "has a line break or control character; write plain lines of text"
        )
    return value.strip()


def _word(table: SheetTable, key: str, form: Key) -> str:
    value = _text(table, key, form)
    if value in form.not_yet:
        raise table.mistake(
            key,
            f"is {in_words(value)}, which sumpgate cannot lead yet; work by the "
            f"maker's document, or write {nearest('', form.choices)}",
        )
    if value not in form.choices:
        words = nearest(value, form.choices)
        raise table.mistake(
            key, f"is {in_words(value)}, an unknown word; write {words}"
        )
    return value


def _flag(table: SheetTable, key: str, _: Key) -> bool:
    value = table.entries[key]
    if not isinstance(value, bool):
        raise table.refuse(key, "true or false")
    return value


def _whole(table: SheetTable, key: str, form: Key) -> int:
    value = table.entries[key]
    if not isinstance(value, int) or isinstance(value, bool):
        raise table.refuse(key, "a whole number")
    _check_number(table, key, form, value)
    return value


def _number(table: SheetTable, key: str, form: Key) -> float:
    value = table.entries[key]
    if not isinstance(value, int | float) or isinstance(value, bool):
        raise table.refuse(key, "a number")
    _check_number(table, key, form, value)
    return float(value)


def _check_number(table: SheetTable, key: str, form: Key, value: float) -> None:
    if form.low is None or form.high is None or form.low <= value <= form.high:
        return
    said, low, high = in_words(value), f"{form.low:g}", f"{form.high:g}"
    if form.example.startswith("0x"):
        low, high = (f"0x{round(end):X}" for end in (form.low, form.high))
        said = f"0x{value:X}" if isinstance(value, int) and value > 0 else said
    raise table.mistake(key, f"is {said[:40]}; write a number from {low} to {high}")


def _quantity(table: SheetTable, key: str, form: Key) -> float | str:
    if form.dimension is None:  # of whatever the signal's role measures
        return _quoted(table, key, table.entries[key])
    return _measured(table, key, form, table.entries[key])


def _measured(table: SheetTable, key: str, form: Key, written: object) -> float:
    """Return a quantity within the key's limits, in its dimension's unit."""
    text, dimension = _quoted(table, key, written), form.dimension
    if dimension is None or form.low is None or form.high is None:
        raise TypeError(f"{key} is not declared as a quantity with limits")
    value = quantity_in(table, key, text, dimension)
    if form.low <= value <= form.high:
        return value
    limits = limits_like(text, (form.low, form.high), dimension)
    verb = "is" if form.kind is KeyKind.QUANTITY else "has"
    raise table.mistake(
        key, f"{verb} {in_words(text)}, outside the limits; write {limits}"
    )


def _quoted(table: SheetTable, key: str, written: object) -> str:
    if isinstance(written, str):
        return written
    raise table.mistake(
        key, f"has {in_words(written)}, not a quantity in quotes; {table.like(key)}"
    )


def quantity_in(table: SheetTable, key: str, text: str, dimension: Dimension) -> float:
    """Return a quantity of a dimension in its unit.

    Raises:
        SheetError: it is none.
    """
    try:
        return parse_quantity(text, dimension)
    except QuantityError as error:
        raise table.mistake(key, f"cannot be read: {error}") from None


def _pair(table: SheetTable, key: str, form: Key) -> tuple[float, float]:
    value = table.entries[key]
    if not isinstance(value, list) or len(value) != 2:
        raise table.mistake(key, f"must be two quantities; {table.like(key)}")
    if value.count("") > form.open_ends:
        many = "at both ends" if form.open_ends else "at an end"
        raise table.mistake(
            key, f"is open {many}; write at least {2 - form.open_ends} of its limits"
        )
    low, high = (
        end if item == "" else _measured(table, key, form, item)
        for item, end in zip(value, (-OPEN_C, OPEN_C), strict=True)
    )
    if low < high:
        return low, high
    ends = f"{in_words(value[0])}, {in_words(value[1])}"
    if low == high:
        raise table.mistake(key, f"has no room in it ({ends}); write two limits")
    raise table.mistake(key, f"is upside down ({ends}); write the lower one first")


def _quantities(table: SheetTable, key: str, form: Key) -> tuple[float, ...]:
    items = _list(table, key, form, str, "quantity in quotes")
    return tuple(_measured(table, key, form, item) for item in items)


def _list(table: SheetTable, key: str, form: Key, of: type, wanted: str) -> list[Any]:
    value = table.entries[key]
    if not isinstance(value, list):
        raise table.refuse(key, f"a list, each a {wanted}")
    if len(value) > MOST_LINES:
        raise table.mistake(key, f"has too many lines; keep to {MOST_LINES}")
    for item in value:
        if not isinstance(item, of) or isinstance(item, bool):
            raise table.mistake(
                key, f"has {in_words(item)} in it, not a {wanted}; {table.like(key)}"
            )
    if len(value) < form.least:
        raise table.mistake(
            key, f"has {len(value)} in it, not at least {form.least}; {table.like(key)}"
        )
    return value


def _lines(table: SheetTable, key: str, form: Key) -> tuple[str, ...]:
    told_lines = _list(table, key, form, str, "text")
    return tuple(_line(table, key, item) for item in told_lines)


def _words(table: SheetTable, key: str, form: Key) -> tuple[str, ...]:
    said = _lines(table, key, form)
    for item in said:
        if item not in form.choices:
            raise table.mistake(
                key,
                f"has {in_words(item)} in it, unknown here; "
                f"write {nearest(item, form.choices)}",
            )
    check_once(table, key, said)
    return said


def check_once(table: SheetTable, key: str, words: tuple[str, ...]) -> None:
    """Refuse a list that has one of its texts twice."""
    again = next((item for item in words if words.count(item) > 1), None)
    if again is not None:
        raise table.mistake(
            key, f"has {in_words(again)} in it twice; write each one once"
        )


def _wholes(table: SheetTable, key: str, form: Key) -> tuple[int, ...]:
    return tuple(_list(table, key, form, int, "whole number"))


def _labels(table: SheetTable, key: str, _: Key) -> dict[str, str]:
    value = table.entries[key]
    if not isinstance(value, dict) or not value:
        raise table.refuse(key, "a table of raw values and positions")
    return {raw: _position(table, key, text) for raw, text in value.items()}


def _position(table: SheetTable, key: str, text: object) -> str:
    if isinstance(text, str) and 0 < len(text.strip()) <= 12 and text.isprintable():
        return text.strip()
    raise table.mistake(
        key,
        f"have {in_words(text)} where a position belongs; write a short text such as "
        f'"P" or "D"',
    )


_READERS: dict[KeyKind, Callable[[SheetTable, str, Key], Any]] = {
    KeyKind.TEXT: _text,
    KeyKind.WORD: _word,
    KeyKind.FLAG: _flag,
    KeyKind.WHOLE: _whole,
    KeyKind.NUMBER: _number,
    KeyKind.QUANTITY: _quantity,
    KeyKind.QUANTITIES: _quantities,
    KeyKind.PAIR: _pair,
    KeyKind.LINES: _lines,
    KeyKind.WORDS: _words,
    KeyKind.WHOLES: _wholes,
    KeyKind.CAN_ID: lambda table, key, _: can_id(table, key),
    KeyKind.LABELS: _labels,
}
