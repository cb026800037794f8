"""The step as plain JSON types and back, and taking it up again after a break."""

from __future__ import annotations

import types
import typing
from dataclasses import fields, is_dataclass, replace
from enum import Enum
from typing import Any, Union

from bridge.level.step.marks import without_go
from bridge.level.step.step_values import Seen, Step

_MOMENTS = tuple(f.name for f in fields(Step) if f.name.endswith("_at_s"))


def to_plain(value: Any) -> Any:
    """Return a step (or any value in it) as dict, list, str, number, bool or None."""
    if isinstance(value, Enum):
        return value.value
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: to_plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, tuple | list):
        return [to_plain(v) for v in value]
    return value


def from_plain(plain: dict[str, Any]) -> Step:
    """Return the step that ``to_plain`` wrote. Raises ValueError if it is none."""
    try:
        step = _build(Step, plain)
    except (TypeError, KeyError, ValueError, AttributeError) as error:
        raise ValueError(
            f"The saved step cannot be read ({error}): begin the step again."
        ) from error
    assert isinstance(step, Step)  # noqa: S101 - what _build makes of Step
    return step


def _build(kind: Any, plain: Any) -> Any:
    origin = typing.get_origin(kind)
    if origin in (Union, types.UnionType):
        inner = next(a for a in typing.get_args(kind) if a is not type(None))
        return None if plain is None else _build(inner, plain)
    if origin is tuple:
        return _build_tuple(typing.get_args(kind), plain)
    if isinstance(kind, type) and issubclass(kind, Enum):
        return kind(plain)
    if isinstance(kind, type) and is_dataclass(kind):
        hints = typing.get_type_hints(kind)
        return kind(**{k: _build(hints[k], v) for k, v in plain.items()})
    return _number(kind, plain)


def _build_tuple(kinds: tuple[Any, ...], plain: Any) -> tuple[Any, ...]:
    if not isinstance(plain, list | tuple):
        raise TypeError(f"a list is missing, there is {plain!r}")
    if kinds[-1] is Ellipsis:
        return tuple(_build(kinds[0], p) for p in plain)
    return tuple(_build(k, p) for k, p in zip(kinds, plain, strict=True))


def _number(kind: Any, plain: Any) -> Any:
    good = isinstance(plain, kind) or (kind is float and isinstance(plain, int))
    if not good or (kind is not bool and isinstance(plain, bool)):
        raise TypeError(f"{plain!r} is not a {kind.__name__}")
    return kind(plain)


def resume(step: Step, *, now_s: float, away_s: float) -> Step:
    """Take a saved step up again on a new clock.

    ``now_s`` is the new clock's time, ``away_s`` how long nobody watched, by the
    wall clock. With the plug out that span counts as one without marks and without
    a temperature: the judgement says so.
    """
    away_s = max(away_s, 0.0)
    left_off = step.now_at_s
    moved = _moved(step, now_s - (left_off + away_s))
    if step.plug_open and step.opened_at_s is not None:
        gone = (left_off - step.opened_at_s, left_off + away_s - step.opened_at_s)
        moved = replace(
            moved,
            blind_s=(*step.blind_s, gone),
            doubt_at_s=moved.doubt_at_s
            if moved.doubt_at_s is not None
            else now_s - away_s,
            went_blind=True,
        )
    return replace(without_go(moved), now_at_s=now_s, bell=None, settling_at_s=None)


def _moved(step: Step, shift_s: float) -> Step:
    """The same step on a clock that is ahead by ``shift_s``."""
    moments: dict[str, Any] = {
        name: None if getattr(step, name) is None else getattr(step, name) + shift_s
        for name in _MOMENTS
    }
    return replace(
        step,
        **moments,
        seen=_moved_seen(step.seen, shift_s),
        opened=_moved_seen(step.opened, shift_s),
        closed=_moved_seen(step.closed, shift_s),
        past=tuple(_moved(p, shift_s) for p in step.past),
    )


def _moved_seen(seen: Seen | None, shift_s: float) -> Seen | None:
    return None if seen is None else replace(seen, at_s=seen.at_s + shift_s)
