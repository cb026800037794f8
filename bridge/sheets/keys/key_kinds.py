"""What a sheet may write at one key: kind, limits, words, an example, a meaning."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from bridge.units import Dimension


class Kind(StrEnum):
    """The kinds of value a key can have."""

    TEXT = "text"
    WORD = "word"
    FLAG = "flag"
    WHOLE = "whole"
    NUMBER = "number"
    QUANTITY = "quantity"
    PAIR = "pair"
    LINES = "lines"
    WORDS = "words"
    WHOLES = "wholes"
    CAN_ID = "can-id"
    LABELS = "labels"


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key of a section; the reader, the errors and the schema all look here."""

    kind: Kind
    example: str
    """A value that is right, as TOML."""
    tells: str
    """What it means, one sentence."""
    required: bool = False
    default: str = ""
    """What holds without it, as TOML; '' if nothing does."""
    dimension: Dimension | None = None
    """Of quantities."""
    low: float | None = None
    high: float | None = None
    """Limits, both included, of numbers and quantities (in the dimension's unit)."""
    choices: tuple[str, ...] = ()
    """The words there are."""

    @property
    def limits(self) -> str:
        """The limits in words: '0.5 to 60 L'; '' if there are none."""
        if self.low is None or self.high is None:
            return ""
        unit = "" if self.dimension is None else " " + spell_unit(self.dimension)
        return f"{_plain(self.low)} to {_plain(self.high)}{unit}"


def _plain(value: float) -> str:
    return f"{value:g}" if abs(value) < 1e5 else f"{value:.0f}"


Section = dict[str, Key]


def spell_unit(dimension: Dimension) -> str:
    """Return a dimension's unit as a sheet would write it: 'kg/m3'."""
    return dimension.value.replace("**", "")


def text(example: str, tells: str, *, required: bool = False, default: str = "") -> Key:
    """Return a key with one line of text."""
    return Key(
        kind=Kind.TEXT,
        example=f'"{example}"',
        tells=tells,
        required=required,
        default=default,
    )


def word(
    choices: Iterable[str],
    tells: str,
    *,
    example: str = "",
    default: str = "",
    required: bool = False,
) -> Key:
    """Return a key with one of some words; the first is the default, if any is."""
    words = tuple(choices)
    return Key(
        kind=Kind.WORD,
        example=f'"{example or default or words[0]}"',
        tells=tells,
        required=required,
        default=f'"{default}"' if default else "",
        choices=words,
    )


def words(choices: Iterable[str], example: str, tells: str) -> Key:
    """Return a key with a list of some words."""
    return Key(
        kind=Kind.WORDS,
        example=example,
        tells=tells,
        default="[]",
        choices=tuple(choices),
    )


def flag(tells: str, *, example: str = "true", default: str = "false") -> Key:
    """Return a key with true or false."""
    return Key(kind=Kind.FLAG, example=example, tells=tells, default=default)


def whole(
    low: int,
    high: int,
    example: str,
    tells: str,
    *,
    default: str = "",
    required: bool = False,
) -> Key:
    """Return a key with a whole number."""
    return Key(
        kind=Kind.WHOLE,
        example=example,
        tells=tells,
        default=default,
        low=low,
        high=high,
        required=required,
    )


def number(
    low: float, high: float, example: str, tells: str, *, default: str = ""
) -> Key:
    """Return a key with a number."""
    return Key(
        kind=Kind.NUMBER,
        example=example,
        tells=tells,
        default=default,
        low=low,
        high=high,
    )


def quantity(
    dimension: Dimension,
    low: float | None,
    high: float | None,
    example: str,
    tells: str,
    *,
    default: str = "",
) -> Key:
    """Return a key with a quantity: a number and a unit in quotes."""
    return Key(
        kind=Kind.QUANTITY,
        example=f'"{example}"',
        tells=tells,
        default=f'"{default}"' if default else "",
        dimension=dimension,
        low=low,
        high=high,
    )


def pair(
    dimension: Dimension,
    low: float,
    high: float,
    example: str,
    tells: str,
    *,
    default: str = "",
    required: bool = False,
) -> Key:
    """Return a key with two quantities, the lower one first."""
    return Key(
        kind=Kind.PAIR,
        example=example,
        tells=tells,
        default=default,
        dimension=dimension,
        low=low,
        high=high,
        required=required,
    )


def lines(*examples: str, tells: str, required: bool = False) -> Key:
    """Return a key with a list of texts."""
    quoted = ", ".join(f'"{example}"' for example in examples)
    return Key(
        kind=Kind.LINES,
        example=f"[{quoted}]",
        tells=tells,
        required=required,
        default="" if required else "[]",
    )
