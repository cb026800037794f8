"""Taking the step up again after a break, on another clock."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

from bridge.level.step.marks import without_go
from bridge.level.step.step_values import Step, TempSeen

_MOMENTS = tuple(f.name for f in fields(Step) if f.name.endswith("_at_s"))


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


def _moved_seen(seen: TempSeen | None, shift_s: float) -> TempSeen | None:
    return None if seen is None else replace(seen, at_s=seen.at_s + shift_s)
