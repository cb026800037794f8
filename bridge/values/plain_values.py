"""Frozen dataclasses of plain fields to values JSON can hold, and back.

For a sheet's service: texts, numbers, words of an enumeration, tuples of those and of
such dataclasses. What is missing keeps its default, so a job file outlives new keys.
"""

from __future__ import annotations

import dataclasses
import math
import types
import typing
from enum import Enum
from typing import Any, TypeVar

_Made = TypeVar("_Made")


def plain_of(value: Any) -> Any:
    """Return a value as dictionaries, lists, texts and numbers."""
    if isinstance(value, Enum):
        return value.value
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {
            f.name: plain_of(getattr(value, f.name)) for f in dataclasses.fields(value)
        }
    if isinstance(value, tuple):
        return [plain_of(item) for item in value]
    return value


def made_of(kind: type[_Made], told: Any) -> _Made:
    """Return the dataclass that ``plain_of`` was given.

    Raises:
        ValueError: it is none of that kind.
    """
    try:
        made: _Made = _dataclass(kind, told)
    except (TypeError, KeyError, AttributeError, RecursionError) as problem:
        raise ValueError(f"no {kind.__name__} ({problem!r})") from None
    return made


def _dataclass(kind: Any, told: Any) -> Any:
    hints = typing.get_type_hints(kind)
    names = {f.name for f in dataclasses.fields(kind)}
    return kind(**{k: _value(hints[k], v) for k, v in told.items() if k in names})


def _value(hint: Any, told: Any) -> Any:
    origin, inner = typing.get_origin(hint), typing.get_args(hint)
    if origin in (types.UnionType, typing.Union):
        return None if told is None else _value(inner[0], told)
    if origin is tuple:
        return _tuple(inner, told)
    if dataclasses.is_dataclass(hint):
        return _dataclass(hint, told)
    if isinstance(hint, type) and issubclass(hint, Enum):
        return hint(told)
    return _scalar(hint, told)


def _tuple(inner: tuple[Any, ...], told: Any) -> tuple[Any, ...]:
    if not isinstance(told, list):
        raise TypeError(f"{told!r} is no list")
    if len(inner) == 2 and inner[1] is Ellipsis:
        return tuple(_value(inner[0], item) for item in told)
    return tuple(_value(hint, item) for hint, item in zip(inner, told, strict=True))


def _scalar(hint: Any, told: Any) -> Any:
    if hint is float and isinstance(told, int) and not isinstance(told, bool):
        told = float(told)
    if type(told) is not hint or (hint is float and not math.isfinite(told)):
        raise TypeError(f"{told!r} is no {hint.__name__}")
    return told
