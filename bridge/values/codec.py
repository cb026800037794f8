"""Frozen dataclasses to values JSON can hold, and back, by their type hints.

For events, the sheet's service, the level step, lessons: texts, numbers, words of an
enumeration, tuples, mappings and dataclasses of those. cattrs does the work; it is
imported with the first value, not before the first frame.
"""

from __future__ import annotations

import functools
import math
from enum import Enum, StrEnum
from typing import TYPE_CHECKING, Any, TypeVar, get_args, get_origin

if TYPE_CHECKING:
    from cattrs import Converter

_Made = TypeVar("_Made")


def to_plain(value: Any) -> Any:
    """Return a value as dictionaries, lists, texts and numbers.

    All fields are written, also those that have their default: what was meant stays
    what it was when a default changes.
    """
    return _converter().unstructure(value)


def from_plain(kind: type[_Made], plain: Any) -> _Made:
    """Return the value that ``to_plain`` was given.

    What is missing keeps its default and what is unknown is passed over, so a job
    file outlives new keys and lost ones. A number may not be NaN or infinite.

    Raises:
        ValueError: it is none of that kind.
    """
    try:
        return _converter().structure(plain, kind)
    except (TypeError, KeyError, ValueError, AttributeError, RecursionError) as why:
        raise ValueError(f"no {kind.__name__} ({why!r})") from None


@functools.cache
def _converter() -> Converter:
    from dataclasses import is_dataclass

    from cattrs import Converter
    from cattrs.gen import make_dict_structure_fn

    converter = Converter(
        detailed_validation=False, unstruct_collection_overrides={tuple: list}
    )
    converter.register_unstructure_hook(StrEnum, lambda word: word.value)
    for kind in (str, int, bool, float):
        converter.register_structure_hook(kind, _scalar)

    @converter.register_structure_hook_factory(is_dataclass)
    def of_dataclass(kind: Any, converter: Converter) -> Any:
        made = make_dict_structure_fn(kind, converter)
        return lambda plain, _: made(_is(dict, plain), kind)

    @converter.register_structure_hook_factory(_is_tuple)
    def of_tuple(kind: Any, converter: Converter) -> Any:
        return lambda plain, _: _tuple(converter, get_args(kind), _is(list, plain))

    return converter


def _is_tuple(kind: Any) -> bool:
    return get_origin(kind) is tuple


def _tuple(converter: Converter, kinds: tuple[Any, ...], plain: list[Any]) -> Any:
    if kinds[1:] == (Ellipsis,):
        return tuple(converter.structure(item, kinds[0]) for item in plain)
    pairs = zip(plain, kinds, strict=True)
    return tuple(converter.structure(item, kind) for item, kind in pairs)


def _is(kind: type[_Made], plain: Any) -> _Made:
    """Return a value as it is: cattrs alone would make texts of numbers and so on."""
    if type(plain) is not kind:
        raise TypeError(f"{plain!r} is no {kind.__name__}")
    return plain


def _scalar(plain: Any, kind: type) -> Any:
    if issubclass(kind, Enum):  # a StrEnum is a str as well
        return kind(_is(str, plain))
    if kind is float and type(plain) is int:
        plain = float(plain)
    if kind is float and not math.isfinite(_is(float, plain)):
        raise ValueError(f"{plain!r} is no number a file can hold")
    return _is(kind, plain)
