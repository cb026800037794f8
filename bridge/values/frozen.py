"""How a value is declared: a frozen dataclass that is made quickly.

`dataclass` writes and compiles six methods when a class is declared: half a
millisecond, a fifth of the time to the first screen for the hundred values declared by
then, most of which have no use until a car answers. Here the one that is worth it is
compiled, when the first value of the class is made; the others need no compiling.
"""

from __future__ import annotations

import dataclasses
from dataclasses import MISSING, FrozenInstanceError
from operator import attrgetter
from reprlib import recursive_repr
from typing import TYPE_CHECKING, Any, TypeVar, dataclass_transform

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

V = TypeVar("V")


@dataclass_transform(
    frozen_default=True, kw_only_default=True, field_specifiers=(dataclasses.field,)
)
def frozen(cls: type[V]) -> type[V]:
    """Make a class as ``dataclass(frozen=True, slots=True, kw_only=True)`` does.

    A method of these that the class itself has stays as it is.
    """
    own = set(cls.__dict__)
    made = dataclasses.dataclass(
        init=False, repr=False, eq=False, slots=True, kw_only=True
    )(cls)
    for name, method in _methods(made).items():
        if name not in own:
            setattr(made, name, method)
    return made


def replace(value: V, /, **changes: object) -> V:
    """Return a value like this one but for some fields, as `dataclasses.replace` does.

    For whatever is replaced many times a second: that one looks at each field anew, and
    took a fifth of the time that following a car takes.
    """
    kind = type(value)
    if kind not in _KEPT:
        names = [one.name for one in dataclasses.fields(kind) if one.init]  # type: ignore[arg-type]
        _KEPT[kind] = names, _taken(names)
    names, taken = _KEPT[kind]
    return kind(**{**dict(zip(names, taken(value), strict=True)), **changes})


_KEPT: dict[type, tuple[list[str], Callable[[object], tuple[object, ...]]]] = {}
"""The fields of each class that was replaced, and what takes them."""


def _methods(made: type) -> dict[str, Any]:
    fields = dataclasses.fields(made)
    held = _taken(one.name for one in fields if one.compare)
    shown = [one.name for one in fields if one.repr]

    def init(self: object, **given: object) -> None:
        compiled = _init(made, fields)
        setattr(made, "__init__", compiled)  # noqa: B010 - mypy knows no other way
        compiled(self, **given)

    def shown_as(self: object) -> str:
        parts = ", ".join(f"{name}={getattr(self, name)!r}" for name in shown)
        return f"{type(self).__qualname__}({parts})"

    def equal(self: object, other: object) -> bool:
        return (
            held(self) == held(other) if type(other) is type(self) else NotImplemented
        )

    def hashed(self: object) -> int:
        return hash(held(self))

    return {
        "__init__": init,
        "__repr__": recursive_repr()(shown_as),
        "__eq__": equal,
        "__hash__": hashed,
    } | {name: _Methods.__dict__[name] for name in _UNCHANGING}


def _taken(names: Iterable[str]) -> Callable[[object], tuple[object, ...]]:
    """Return what takes these from a value, always as a tuple."""
    kept = tuple(names)
    if len(kept) > 1:
        return attrgetter(*kept)
    return lambda value: tuple(getattr(value, name) for name in kept)


def _init(
    made: type, fields: tuple[dataclasses.Field[Any], ...]
) -> Callable[..., None]:
    """Compile the method that takes every field by its name."""
    known: dict[str, Any] = {"MISSING": MISSING}
    takes, does = ["self"], []
    for n, one in enumerate(fields):
        known[f"set_{n}"] = getattr(made, one.name).__set__
        value = one.name
        if one.default_factory is not MISSING:
            known[f"make_{n}"] = one.default_factory
            takes.append(f"{one.name}=MISSING")
            value = f"make_{n}() if {one.name} is MISSING else {one.name}"
        elif one.default is not MISSING:
            known[f"default_{n}"] = one.default
            takes.append(f"{one.name}=default_{n}")
        else:
            takes.append(one.name)
        does.append(f"set_{n}(self, {value})")
    if hasattr(made, "__post_init__"):
        does.append("self.__post_init__()")
    if does:
        takes.insert(1, "*")
    lines = "; ".join(does) or "pass"
    exec(f"def __init__({', '.join(takes)}): {lines}", known)  # noqa: S102 - names of fields alone
    compiled: Callable[..., None] = known["__init__"]
    compiled.__qualname__ = f"{made.__qualname__}.__init__"
    return compiled


_UNCHANGING = ("__setattr__", "__delattr__", "__getstate__", "__setstate__")


class _Methods:
    """What every value has, whatever its fields."""

    def __setattr__(self, name: str, _value: object) -> None:
        raise FrozenInstanceError(f"cannot assign to field {name!r}")

    def __delattr__(self, name: str) -> None:
        raise FrozenInstanceError(f"cannot delete field {name!r}")

    def __getstate__(self) -> list[object]:
        return [getattr(self, one.name) for one in dataclasses.fields(self)]  # type: ignore[arg-type]

    def __setstate__(self, state: list[object]) -> None:
        for one, value in zip(dataclasses.fields(self), state, strict=True):  # type: ignore[arg-type]
            object.__setattr__(self, one.name, value)
