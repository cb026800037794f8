"""What a sheet may write at one key, what it means, and where it goes.

A key is declared once. Reader, mistakes, JSON schema and the tables of
profiles/README.md are made from it; its default is that of the dataclass field it
goes to and stands nowhere else.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import MISSING, fields, replace
from enum import StrEnum
from typing import Any

from bridge.units import Dimension
from bridge.values.frozen import frozen


class KeyKind(StrEnum):
    """The kinds of value a key can have."""

    TEXT = "text"
    WORD = "word"
    FLAG = "flag"
    WHOLE = "whole"
    NUMBER = "number"
    QUANTITY = "quantity"
    QUANTITIES = "quantities"
    PAIR = "pair"
    LINES = "lines"
    WORDS = "words"
    WHOLES = "wholes"
    CAN_ID = "can-id"
    LABELS = "labels"


_SUFFIXES = {
    Dimension.TEMPERATURE: "_c",
    Dimension.TEMPERATURE_STEP: "_c",
    Dimension.DURATION: "_s",
    Dimension.VOLUME: "_ml",
    Dimension.TORQUE: "_nm",
    Dimension.ENGINE_SPEED: "_rpm",
    Dimension.ANGLE: "_deg",
    Dimension.LENGTH: "_mm",
    Dimension.AREA: "_cm2",
    Dimension.DISTANCE: "_km",
    Dimension.DENSITY: "_kg_m3",
    Dimension.VISCOSITY: "_mm2_s",
}
"""How the field of a quantity says its unit."""
_ML_PER_L = 1000.0


@frozen
class Key:
    """One key of a section."""

    kind: KeyKind
    example: str
    """A value that is right, as TOML."""
    tells: str
    """What it means, one sentence."""
    dimension: Dimension | None = None
    """Of quantities."""
    low: float | None = None
    high: float | None = None
    """Limits, both included, of numbers and quantities (in the dimension's unit)."""
    limits: str = ""
    """The same in words: '0.5 to 60 L'."""
    choices: tuple[str, ...] = ()
    """The words there are."""
    not_yet: tuple[str, ...] = ()
    """Words that a sheet may come to have and that no part of sumpgate minds yet."""
    open_ends: int = 0
    """How many ends of a pair may be left open, written as ""."""
    least: int = 0
    """How many a list must have, if it is there."""
    of: type | None = None
    """The dataclass it goes into; None: its section's."""
    into: tuple[str, ...] | None = None
    """Its fields there; None: the key's own name, with its unit. Empty: a reader of
    its own takes it."""
    make: Callable[[Any], Any] | None = None
    """Turns the value into what the field holds."""
    required: bool = False
    unless: tuple[str, str] | None = None
    """A key of the section and its value that make a required one needless."""
    unless_section: str = ""
    """A section of the sheet that makes a required one needless."""
    default: str = ""
    """What holds without it, as TOML; '' if nothing does."""
    absent: Any = None
    """The same as a value: what the dataclass's (first) field holds without it."""

    def stored(self, value: Any) -> dict[str, Any]:
        """Return a value that was read as the dataclass's fields."""
        into = self.into or ()
        if self.dimension is Dimension.VOLUME:
            value = round(value * _ML_PER_L, 7)
        if self.make is not None:
            value = self.make(value)
        return dict(zip(into, value if len(into) > 1 else (value,), strict=True))


Section = dict[str, Key]


def section(of: type, keys: Section) -> Section:
    """Return a section's keys bound to the dataclass that they fill.

    Raises:
        TypeError: a key goes to a field that the dataclass does not have.
    """
    return {name: _bound(name, key, key.of or of) for name, key in keys.items()}


def _bound(name: str, key: Key, of: type) -> Key:
    if key.into == ():
        return key
    suffix = _SUFFIXES.get(key.dimension, "") if key.dimension else ""
    into = key.into or (name + suffix,)
    defaults = {field.name: field.default for field in fields(of)}
    if not set(into) <= set(defaults):
        raise TypeError(f"{of.__name__} has no field for the key {name}: {into}")
    values = [defaults[field] for field in into]
    return replace(
        key,
        of=of,
        into=into,
        required=key.required or MISSING in values,
        absent=None if MISSING in values else values[0],
        default=key.default or _spelled(key, values),
    )


def _spelled(key: Key, values: list[Any]) -> str:
    """Return the dataclass's defaults as a sheet would write them; '' if none."""
    value = values[0]
    if value is None or value is MISSING or value == "":
        return ""
    if key.kind is KeyKind.PAIR and key.make is not None:
        return ""  # what it makes without it is no window that could be written
    if key.kind is KeyKind.PAIR:
        return f"[{', '.join(_quantity(key, end) for end in values)}]"
    if key.kind is KeyKind.QUANTITY:
        return _quantity(key, value)
    if key.kind is KeyKind.WORD:
        made = (word for word in key.choices if _made(key, word) == value)
        return f'"{next(made)}"'
    if key.kind is KeyKind.FLAG:
        return str(value).lower()
    if value == ():
        return "" if key.least or key.kind is KeyKind.LABELS else "[]"
    return repr(value)


def _made(key: Key, value: object) -> object:
    return value if key.make is None else key.make(value)


def _quantity(key: Key, value: float) -> str:
    if key.dimension is None:
        raise TypeError("a quantity has a dimension")
    litres = key.dimension is Dimension.VOLUME
    number = value / _ML_PER_L if litres else value
    return f'"{number:g} {spell_unit(key.dimension)}"'


def spell_unit(dimension: Dimension) -> str:
    """Return a dimension's unit as a sheet would write it: 'kg/m3'."""
    return dimension.value.replace("**", "").removeprefix("delta_")


_DIMENSIONS = {spell_unit(dimension): dimension for dimension in reversed(Dimension)}


def text(example: str, tells: str, **more: Any) -> Key:
    """Return a key with one line of text."""
    return Key(kind=KeyKind.TEXT, example=f'"{example}"', tells=tells, **more)


def _listed(choices: Iterable[str]) -> tuple[str, ...]:
    return tuple(str(choice) for choice in choices)


def word(choices: Iterable[str], tells: str, example: str = "", **more: Any) -> Key:
    """Return a key with one of some words; an enum's words become its members."""
    words = _listed(choices)
    more.setdefault("make", choices if isinstance(choices, type) else None)
    example = f'"{example or words[0]}"'
    return Key(kind=KeyKind.WORD, example=example, tells=tells, choices=words, **more)


def words(choices: Iterable[str], example: str, tells: str, **more: Any) -> Key:
    """Return a key with a list of some words, each once."""
    if isinstance(choices, type):
        enum: Callable[[str], object] = choices
        more["make"] = lambda word: tuple(enum(one) for one in word)
    words_ = _listed(choices)
    return Key(kind=KeyKind.WORDS, example=example, tells=tells, choices=words_, **more)


def flag(tells: str, example: str = "true") -> Key:
    """Return a key with true or false."""
    return Key(kind=KeyKind.FLAG, example=example, tells=tells)


def whole(limits: str, example: str, tells: str, **more: Any) -> Key:
    """Return a key with a whole number within limits: '1 to 100'."""
    return _limited(KeyKind.WHOLE, limits, example, tells, more)


def number(limits: str, example: str, tells: str, **more: Any) -> Key:
    """Return a key with a number within limits: '0.5 to 0.999'."""
    return _limited(KeyKind.NUMBER, limits, example, tells, more)


def quantity(limits: str, example: str, tells: str, **more: Any) -> Key:
    """Return a key with a quantity in quotes, within limits: '1 to 1800 s'."""
    return _limited(KeyKind.QUANTITY, limits, f'"{example}"', tells, more)


def pair(limits: str, example: str, tells: str, **more: Any) -> Key:
    """Return a key with two quantities within limits, the lower one first."""
    return _limited(KeyKind.PAIR, limits, example, tells, more)


def quantities(limits: str, example: str, tells: str, **more: Any) -> Key:
    """Return a key with a list of quantities within limits."""
    return _limited(KeyKind.QUANTITIES, limits, example, tells, more)


def wholes(example: str, tells: str) -> Key:
    """Return a key with a list of whole numbers."""
    return Key(kind=KeyKind.WHOLES, example=example, tells=tells)


def _limited(
    kind: KeyKind, limits: str, example: str, tells: str, more: dict[str, Any]
) -> Key:
    low, _, high, *unit = limits.split()
    return Key(
        kind=kind,
        limits=limits,
        example=example,
        tells=tells,
        low=float(int(low, 0)) if low.startswith("0x") else float(low),
        high=float(int(high, 0)) if high.startswith("0x") else float(high),
        **{"dimension": _DIMENSIONS[unit[0]] if unit else None, **more},
    )


def lines(*examples: str, tells: str, **more: Any) -> Key:
    """Return a key with a list of texts."""
    quoted = ", ".join(f'"{example}"' for example in examples)
    return Key(kind=KeyKind.LINES, example=f"[{quoted}]", tells=tells, **more)
