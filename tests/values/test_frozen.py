"""A value does what the standard library's frozen dataclass of the same fields does.

Source: the documentation of Python's `dataclasses`, by its own implementation.
"""

from __future__ import annotations

import copy
import pickle
from dataclasses import FrozenInstanceError, asdict, dataclass, field, fields, replace
from typing import Any, ClassVar

import pytest

from bridge.values import frozen as ours
from bridge.values.frozen import frozen


class _Body:
    """What is declared twice below."""

    a: int
    b: str = "usual"
    c: list[int] = field(default_factory=list)
    d: float = field(default=1.0, compare=False, repr=False)
    kinds: ClassVar[int] = 3

    def __post_init__(self) -> None:
        if self.a < 0:
            raise ValueError("a is below zero")

    def __hash__(self) -> int:
        return self.a


def _declare(name: str, decorate: Any) -> Any:
    kept = vars(_Body).items()
    namespace = {k: v for k, v in kept if k not in ("__dict__", "__weakref__")}
    made = decorate(type(name, (), namespace | {"__qualname__": name}))
    globals()[name] = made
    return made


Ours = _declare("Ours", frozen)
Standard = _declare("Standard", dataclass(frozen=True, slots=True, kw_only=True))
PAIR = pytest.mark.parametrize("kind", [Ours, Standard], ids=["ours", "standard"])


@PAIR
def test_values_are_equal_by_what_they_hold(kind: Any) -> None:
    one = kind(a=1)
    assert one == kind(a=1, d=2.0)
    assert one != kind(a=2)
    assert one != (1, "usual", [])
    assert hash(one) == 1, "the class's own hash stays"


@PAIR
def test_shown_replaced_copied_and_taken_apart(kind: Any) -> None:
    one = kind(a=1, c=[2])
    assert repr(one) == f"{kind.__name__}(a=1, b='usual', c=[2])"
    assert replace(one, a=5) == kind(a=5, c=[2])
    assert asdict(one) == {"a": 1, "b": "usual", "c": [2], "d": 1.0}
    assert copy.copy(one) == copy.deepcopy(one) == one
    assert pickle.loads(pickle.dumps(one)) == one
    assert kind(a=1).c is not kind(a=1).c


@PAIR
@pytest.mark.parametrize("other", [{}, {"a": 5}, {"b": "x", "c": [3]}, {"d": 4.0}])
def test_replaced_as_the_standard_library_does(kind: Any, other: Any) -> None:
    one = kind(a=1, c=[2])
    with_other = ours.replace(one, **other)
    assert asdict(with_other) == asdict(replace(one, **other))
    assert type(with_other) is kind
    assert asdict(one) == asdict(kind(a=1, c=[2])), "the value itself stays"


@PAIR
def test_a_wrong_replacement_is_refused(kind: Any) -> None:
    with pytest.raises(ValueError, match="below zero"):
        ours.replace(kind(a=1), a=-1)
    with pytest.raises(TypeError, match="unexpected keyword"):
        ours.replace(kind(a=1), z=2)


@PAIR
def test_nothing_in_it_is_changed(kind: Any) -> None:
    one = kind(a=1)
    with pytest.raises(FrozenInstanceError, match="cannot assign to field 'a'"):
        one.a = 2
    with pytest.raises(FrozenInstanceError, match="cannot delete field 'a'"):
        del one.a
    with pytest.raises((FrozenInstanceError, AttributeError, TypeError)):
        one.other = 2
    assert not hasattr(one, "__dict__")


@PAIR
def test_what_is_given_wrongly_is_refused(kind: Any) -> None:
    with pytest.raises(ValueError, match="below zero"):
        kind(a=-1)
    with pytest.raises(TypeError, match=rf"{kind.__name__}.__init__\(\) got an unexp"):
        kind(a=1, z=2)
    with pytest.raises(TypeError, match="missing 1 required keyword-only argument"):
        kind()
    with pytest.raises(TypeError, match="positional"):
        kind(1)


def test_fields_are_the_same() -> None:
    def told(kind: Any) -> list[tuple[Any, ...]]:
        return [(f.name, f.type, f.default, f.kw_only, f.compare) for f in fields(kind)]

    assert told(Ours) == told(Standard)
    assert Ours.__match_args__ == Standard.__match_args__


@PAIR
def test_a_value_with_more_holds_both(kind: Any) -> None:
    decorate = dataclass(frozen=True, slots=True, kw_only=True)
    body = {"__annotations__": {"e": "int"}, "e": 7, "__module__": __name__}
    more = (frozen if kind is Ours else decorate)(type("More", (kind,), body))
    kind(a=1)  # the first of the base does not make the methods of the other
    assert more(a=1).e == 7
    assert more(a=1) != more(a=1, e=8)
    assert more(a=1) != kind(a=1)
    with pytest.raises(ValueError, match="below zero"):
        more(a=-1)


@pytest.mark.parametrize("kind", [frozen, dataclass(frozen=True, kw_only=True)])
def test_a_value_is_found_in_a_set_by_what_it_holds(kind: Any) -> None:
    place = kind(type("Place", (), {"__annotations__": {"x": "int", "y": "int"}}))
    assert len({place(x=1, y=2), place(x=1, y=2), place(x=2, y=1)}) == 2
