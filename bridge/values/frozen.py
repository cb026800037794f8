"""How a value is declared: a frozen dataclass that is made quickly.

`dataclass` writes and compiles six methods when a class is declared: half a
millisecond, a fifth of the time to the first screen for the hundred values declared by
then, most of which have no use until a car answers. Here they are compiled when the
first value of the class is made. What then is there is the standard library's own.
"""

from __future__ import annotations

import dataclasses
from dataclasses import FrozenInstanceError
from typing import TYPE_CHECKING, Any, TypeVar, dataclass_transform

if TYPE_CHECKING:
    from collections.abc import Callable

V = TypeVar("V")
_COMPILED = ("__init__", "__repr__", "__eq__", "__hash__")


@dataclass_transform(
    frozen_default=True, kw_only_default=True, field_specifiers=(dataclasses.field,)
)
def frozen(cls: type[V]) -> type[V]:
    """Make a class as ``dataclass(frozen=True, slots=True, kw_only=True)`` does.

    A method of these that the class itself has stays as it is.
    """
    own = [name for name in _COMPILED if name in cls.__dict__]
    made = dataclasses.dataclass(
        init=False, repr=False, eq=False, slots=True, kw_only=True
    )(cls)
    for name in _COMPILED:
        if name not in own:
            setattr(made, name, _first_call(made, name, own))
    for name in ("__setattr__", "__delattr__", "__getstate__", "__setstate__"):
        setattr(made, name, _Methods.__dict__[name])
    return made


def _first_call(made: type, name: str, own: list[str]) -> Callable[..., Any]:
    """Return what stands in a method's place until one of the class is called."""

    def call(self: object, *args: object, **named: object) -> object:
        _compile(made, own)
        return made.__dict__[name](self, *args, **named)

    return call


def _compile(made: type, own: list[str]) -> None:
    """Give a class the methods `dataclass` makes of the same fields."""
    check = getattr(made, "__post_init__", None)
    twin = dataclasses.make_dataclass(
        made.__qualname__,
        [(one.name, one.type, _again(one)) for one in dataclasses.fields(made)],
        namespace={"__post_init__": check} if check else {},
        frozen=True,
        kw_only=True,
    )
    for name in _COMPILED:
        if name not in own:
            setattr(made, name, twin.__dict__[name])


def _again(one: dataclasses.Field[Any]) -> Any:
    return dataclasses.field(
        default=one.default,
        default_factory=one.default_factory,
        init=one.init,
        repr=one.repr,
        hash=one.hash,
        compare=one.compare,
    )


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
