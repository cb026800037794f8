"""What the person tells, taken into the step: opened, drips, closed, undo..."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from bridge.level.step import transitions as rules
from bridge.level.step.judgement import judge_stick
from bridge.level.step.machine import begin, is_fresh, next_leg, verdict_line, weigh
from bridge.level.step.plan import Plan
from bridge.level.step.step_values import (
    BEFORE_OPENING,
    Instruction,
    Phase,
    Step,
)
from bridge.level.step.stick import StickRead
from bridge.values.events import Band, Mark
from bridge.values.sheet import NAMED, Confirmation, LegEnd, LevelMethod

KEPT_PAST = 8
MOST_DRIPS = 400
"""Beyond this the oldest marks are dropped: they tell nothing of the end."""
MOST_ADDED_ML = 20_000.0
BY_READINGS = frozenset({Mark.OPENED, Mark.DRIP, Mark.STREAMING, Mark.STICK})
"""What these do hangs on the temperature of the moment: each opens what was not marked
as open, or reads the stick."""


def mark(
    step: Step,
    plan: Plan,
    what: Mark,
    now_s: float,
    *,
    ml: float | None = None,
    confirms: Confirmation | None = None,
    mm: float | None = None,
    band: Band | None = None,
    temp_c: float | None = None,
    who: str = "",
) -> Step:
    """Return the step after the person told something at ``now_s``.

    A mark that makes no sense in the phase changes nothing. ``ml`` goes with ADDED,
    ``confirms`` with CONFIRMED and WITHDRAWN, ``mm`` or ``band`` with STICK, ``temp_c``
    with AIR, and with ADDED where it was told; raises ValueError where one is missing
    or an amount is not above 0 and below 20 L.
    """
    now_s = max(now_s, step.now_at_s)
    if what is Mark.UNDO:
        return _undo(step, now_s)
    if what is Mark.RESTART:
        return _restart(step, now_s)
    if what is Mark.NEXT:
        on = next_leg(step, now_s, seen=False) if step.may_go_on else step
        return _remember(step, on)
    if what is Mark.STICK:
        return _remember(step, _stick(step, plan, now_s, mm, band))
    if what is Mark.AIR:
        return _remember(step, _air(step, temp_c))
    if what is Mark.ADDED:
        return _remember(step, _added(step, ml, temp_c))
    if what in (Mark.CONFIRMED, Mark.WITHDRAWN):
        given = what is Mark.CONFIRMED
        return _remember(step, _confirmed(step, confirms, who, given=given))
    return _remember(step, _MARKS[what](step, plan, now_s))


def _remember(before: Step, after: Step) -> Step:
    """Keep the state before a mark, for UNDO."""
    if after is before:
        return before
    past = (*before.past, replace(before, past=()))
    return replace(after, bell=None, past=past[-KEPT_PAST:])


def _undo(step: Step, now_s: float) -> Step:
    """Go back before the last mark; what was seen meanwhile is kept."""
    if not step.past:
        return step
    before = without_go(step.past[-1])
    return replace(
        before,
        now_at_s=now_s,
        seen=step.seen,
        shuts_at_s=step.shuts_at_s,
        doubt_at_s=step.doubt_at_s,
        waver_at_s=step.waver_at_s,
        left_window=before.left_window or (before.plug_open and step.left_window),
        settling_at_s=None,
        bell=None,
        past=step.past[:-1],
    )


def without_go(step: Step) -> Step:
    """Return the step with a GO of another moment taken away."""
    if step.phase is not Phase.GO:
        return step
    return replace(step, phase=Phase.GET_READY, instruction=Instruction.STAND_BY)


def _restart(step: Step, now_s: float) -> Step:
    """Begin again; a plug that is out must be marked as closed first."""
    if step.plug_open:
        return step
    return replace(
        begin(now_s, attempt=step.attempt + 1, method=step.method),
        ends=step.ends,
        leg=step.leg,
        legs=step.legs,
        legs_done=step.legs_done,
        air_c=step.air_c,
        air_row=step.air_row,
        by_air=step.by_air,
        confirmed=step.confirmed,
        seen=step.seen,
        added_ml=step.added_ml,
        added_temp_c=step.added_temp_c,
        past=(replace(step, past=()),),
    )


def _added(step: Step, ml: float | None, temp_c: float | None) -> Step:
    if ml is None or not (0.0 < ml < MOST_ADDED_ML and math.isfinite(ml)):
        raise ValueError(
            f"An added amount of {ml} mL cannot be: type the milliliters you filled "
            "in, above 0."
        )
    if temp_c is not None and not math.isfinite(temp_c):
        raise ValueError("What was added must have a temperature, or none told.")
    whole_ml, before_c = step.added_ml + ml, step.added_temp_c
    if before_c is not None and temp_c is not None:
        temp_c = (step.added_ml * before_c + ml * temp_c) / whole_ml
    elif step.added_ml:
        temp_c = None
    step = replace(step, added_ml=whole_ml, added_temp_c=temp_c)
    if not step.reads:
        return step
    # what was read before is another level than this one
    return replace(
        step,
        reads=(),
        judgement=None,
        phase=Phase.WAIT,
        instruction=Instruction.WAIT,
    )


def _air(step: Step, temp_c: float | None) -> Step:
    """Take the air's temperature; with the plug out the window stays what it was."""
    if temp_c is None or not math.isfinite(temp_c):
        raise ValueError("The air must have a temperature.")
    return step if step.plug_open else replace(without_go(step), air_c=temp_c)


def _stick(
    step: Step, plan: Plan, now_s: float, mm: float | None, band: Band | None
) -> Step:
    """Take a reading; it counts only while GO stands."""
    if plan.method is not LevelMethod.STICK:
        return step
    stands = band is not None if mm is None else math.isfinite(mm)
    if not stands or (plan.stick and mm is None):
        raise ValueError("A stick's reading must say how high the fluid stands.")
    at_go = step.phase is Phase.GO
    if not at_go or step.seen is None or not is_fresh(step, now_s):
        return step
    seen = step.seen
    read = StickRead(at_s=now_s, temp_c=seen.temp_c, sd_c=seen.sd_c, mm=mm, band=band)
    step = replace(step, reads=(*step.reads, read))
    judged = judge_stick(step, plan)
    if judged is None:
        return replace(step, instruction=Instruction.READ_AGAIN)
    return replace(
        step,
        phase=Phase.JUDGED,
        instruction=verdict_line(judged),
        phase_at_s=now_s,
        judgement=judged,
    )


def _confirmed(
    step: Step, which: Confirmation | None, who: str, *, given: bool
) -> Step:
    if which is None:
        raise ValueError("A confirmation must say what it confirms.")
    if given and which in NAMED and not who.strip():
        raise ValueError("This is confirmed by name: say who.")
    others = tuple(c for c in step.confirmed if c is not which)
    if given:
        return replace(step, confirmed=(*others, which))
    return replace(without_go(step), confirmed=others)


def _opened(step: Step, plan: Plan, now_s: float) -> Step:
    if step.phase is Phase.LOW:
        return _runs_again(step, now_s)
    by_stick = plan.method is LevelMethod.STICK
    if step.phase not in BEFORE_OPENING or by_stick or plan.ends is not LegEnd.LEVEL:
        return step
    fresh = step.seen if is_fresh(step, now_s) else None
    temp_c = fresh.temp_c if fresh else None
    return replace(
        step,
        phase=Phase.RUNNING_DOWN,
        instruction=Instruction.WATCH,
        phase_at_s=now_s,
        opened_at_s=now_s,
        opened=fresh,
        on_go=step.phase is Phase.GO,
        claimed=step.claimed if step.phase is Phase.GO else None,
        left_window=fresh is not None and not rules.inside(temp_c, plan.window),
        went_blind=False,
        disturbed=False,
        expected=rules.expected(plan, temp_c),
        ran=True,
        nothing_came=False,
        close_at_s=None,
    )


def _runs_again(step: Step, now_s: float) -> Step:
    """After adding, something comes: the running down begins afresh."""
    return replace(
        step,
        phase=Phase.RUNNING_DOWN,
        instruction=Instruction.WATCH,
        phase_at_s=now_s,
        opened_at_s=now_s,
        drips_s=(),
        streaming_s=None,
        blind_s=(),
        settling=None,
        settling_at_s=None,
        ran=True,
    )


def _let_run(step: Step, plan: Plan, now_s: float) -> Step:
    """A mark of something running opens what was not marked as open."""
    if step.plug_open and step.phase is not Phase.LOW:
        return step
    return _opened(step, plan, now_s)


def _drip(step: Step, plan: Plan, now_s: float) -> Step:
    step = _let_run(step, plan, now_s)
    if not step.plug_open or step.opened_at_s is None:
        return step
    drips = (*step.drips_s, now_s - step.opened_at_s)[-MOST_DRIPS:]
    return replace(step, drips_s=drips, settling_at_s=None)


def _streaming(step: Step, plan: Plan, now_s: float) -> Step:
    """A stream after all: a call to close that came from settling is taken back."""
    step = _let_run(step, plan, now_s)
    if not step.plug_open or step.opened_at_s is None:
        return step
    settled = (Instruction.CLOSE_SETTLED, Instruction.CLOSE_TIMER)
    back = step.phase is Phase.SETTLED or step.instruction in settled
    return replace(
        step,
        phase=Phase.RUNNING_DOWN if back else step.phase,
        phase_at_s=now_s if back else step.phase_at_s,
        close_at_s=None if back else step.close_at_s,
        streaming_s=now_s - step.opened_at_s,
        settling_at_s=None,
    )


def _nothing(step: Step, _plan: Plan, now_s: float) -> Step:
    if step.phase not in (Phase.RUNNING_DOWN, Phase.SETTLED):
        return step
    return replace(
        step,
        phase=Phase.LOW,
        instruction=Instruction.ADD_FLUID,
        phase_at_s=now_s,
        close_at_s=None,
        ran=False,
        nothing_came=True,
    )


def _closed(step: Step, plan: Plan, now_s: float) -> Step:
    if not step.plug_open:
        return step
    weighed = weigh(replace(step, settling_at_s=None), plan, now_s)
    return replace(
        weighed,
        phase=Phase.CLOSED,
        instruction=Instruction.TIGHTEN,
        phase_at_s=now_s,
        closed_at_s=now_s,
        closed=step.seen if is_fresh(step, now_s) else None,
    )


_MARKS: dict[Mark, Callable[[Step, Plan, float], Step]] = {
    Mark.OPENED: _opened,
    Mark.DRIP: _drip,
    Mark.STREAMING: _streaming,
    Mark.NOTHING_CAME: _nothing,
    Mark.CLOSED: _closed,
}
