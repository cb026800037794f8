"""The level step as a pure state machine: snapshot and time in, next state out.

``advance`` follows what the car shows, ``marks.mark`` what the person marks; neither
reads a clock. The rules are in transitions, the values in step_values.
"""

from __future__ import annotations

import math

from bridge.level.settling.drips import settling
from bridge.level.settling.settle_time import SettleTime
from bridge.level.settling.settle_values import Marks
from bridge.level.step import transitions as rules
from bridge.level.step.judgement import judge_step
from bridge.level.step.plan import Plan
from bridge.level.step.plug_out import AT_ONCE, open_side
from bridge.level.step.step_values import (
    BEFORE_OPENING,
    Bell,
    Instruction,
    Judgement,
    LegDone,
    Outcome,
    Phase,
    Step,
    StepView,
    TempSeen,
)
from bridge.level.step.time_left import closes_in_s, stays_s
from bridge.values.frozen import replace
from bridge.values.sheet import NAMED, WORD_OF_MOUTH, Confirmation, LegEnd, LevelMethod

FRESH_S = 3.0
"""A temperature this old still counts as that of the moment."""
LOOK_AGAIN_S = 1.0
"""Without a new mark the drips are weighed again this often."""
REPEAT_S = 10.0
"""The same bell does not ring again sooner."""


def begin(
    now_s: float,
    *,
    attempt: int = 1,
    method: LevelMethod = LevelMethod.OVERFLOW_TUBE,
) -> Step:
    """Return the step before anything happened."""
    return Step(now_at_s=now_s, phase_at_s=now_s, attempt=attempt, method=method)


_OF_ONE_LEG = (*WORD_OF_MOUTH, *NAMED, Confirmation.SELECTOR_POSITION)
"""Confirmations that the next phase may want otherwise."""


def next_leg(step: Step, now_s: float, *, seen: bool) -> Step:
    """Return the beginning of the next phase; ``seen``: the readings ended this one."""
    judged = step.judgement
    done = LegDone(
        at_s=now_s,
        outcome=judged.outcome if judged else None,
        seen=seen,
        added_ml=step.added_ml,
        added_after_ml=step.added_ml - judged.added_ml if judged else 0.0,
    )
    return replace(
        begin(now_s),
        leg=step.leg + 1,
        legs=step.legs,
        legs_done=(*step.legs_done, done),
        confirmed=tuple(c for c in step.confirmed if c not in _OF_ONE_LEG),
        seen=step.seen,
        added_ml=step.added_ml,
        added_temp_c=step.added_temp_c,
        air_c=step.air_c,
        air_row=step.air_row,
        by_air=step.by_air,
        past=step.past,
    )


def remaining(step: Step, plan: Plan, temp_c: float | None, now_s: float) -> SettleTime:
    """Return the settle time still to go: what the stay chance must cover now.

    Before opening, all of it; afterwards what is left by the marks; both with what
    the person needs to open and to close. ``temp_c``: the present temperature, None
    if not known.
    """
    opened_at_s, settle = step.opened_at_s, step.expected
    if step.plug_open and opened_at_s is not None and settle is not None:
        settle = step.settling.settle if step.settling else settle
        left, delay_s = settle.after(now_s - opened_at_s), plan.react_s
    else:
        left, delay_s = rules.expected(plan, temp_c), 2 * plan.react_s
    return SettleTime(points_s=tuple(p + delay_s for p in left.points_s))


def advance(step: Step, plan: Plan, view: StepView, now_s: float) -> Step:
    """Return the step at ``now_s``, having seen ``view``. Never raises."""
    now_s = max(now_s, step.now_at_s)
    if view.temp_c is not None and not _believable(view, view.temp_c):
        view = replace(view, temp_c=None)
    step = _notice(step, plan, view, now_s)
    if plan.ends is LegEnd.WARM and rules.is_warm(view, plan):
        return next_leg(step, now_s, seen=True)
    if step.plug_open:
        step = weigh(step, plan, now_s)
        phase, what = open_side(step, view, plan, now_s)
    elif step.phase in BEFORE_OPENING:
        phase, what = rules.closed_side(step, view, plan)
    else:
        if step.judgement is None:
            step = replace(step, judgement=judge_step(step, plan, view.tilt))
        phase, what = Phase.JUDGED, verdict_line(step.judgement)
    if phase is Phase.GO:
        step = replace(step, claimed=view.stay_chance)
    heat_s = closes_in_s(view, plan) if step.plug_open else None
    step = replace(step, closes_in_s=heat_s)
    again_s = rules.begins_again_s(view, plan) if phase is Phase.MISSED else None
    step = replace(step, begins_again_s=again_s)
    return _enter(step, phase, what, now_s)


def _believable(view: StepView, temp_c: float) -> bool:
    doubted = any(reason in rules.SENSOR for reason in view.reasons)
    return math.isfinite(temp_c) and not doubted


_VERDICTS = {
    Outcome.GOOD: Instruction.JUDGED_GOOD,
    Outcome.BELOW: Instruction.TOP_UP,
    Outcome.ABOVE: Instruction.DRAW_OFF,
}


def verdict_line(judgement: Judgement | None) -> Instruction:
    """Return what to do once the level was judged."""
    if judgement is None:
        return Instruction.JUDGED_AGAIN
    return _VERDICTS.get(judgement.outcome, Instruction.JUDGED_AGAIN)


def _enter(step: Step, phase: Phase, what: Instruction, now_s: float) -> Step:
    bell = _bell(step, phase, what, now_s)
    calls = phase in (Phase.SETTLED, Phase.CLOSE)
    first = now_s if step.close_at_s is None else step.close_at_s
    return replace(
        step,
        phase=phase,
        instruction=what,
        bell=bell,
        rung=bell or step.rung,
        rung_at_s=now_s if bell else step.rung_at_s,
        phase_at_s=step.phase_at_s if phase is step.phase else now_s,
        close_at_s=first if calls else step.close_at_s,
    )


_BELLS: dict[Phase, Bell] = {
    Phase.GET_READY: Bell.GET_READY,
    Phase.GO: Bell.OPEN,
    Phase.SETTLED: Bell.CLOSE,
    Phase.CLOSE: Bell.CLOSE,
    Phase.LOW: Bell.TROUBLE,
    Phase.MISSED: Bell.TROUBLE,
}
_TROUBLES: dict[Instruction, Bell] = {
    Instruction.STREAM_GOES_ON: Bell.TROUBLE,
    Instruction.READING_LOST: Bell.TROUBLE,
    Instruction.COME_OUT: Bell.TROUBLE,
    Instruction.CLOSE_OUTSIDE: Bell.TROUBLE,
    Instruction.CLOSE_CONDITION: Bell.TROUBLE,
    Instruction.CLOSE_BLIND: Bell.TROUBLE,
    Instruction.CLOSE_OVERDUE: Bell.TROUBLE,
    Instruction.STAND_BY: Bell.GET_READY,
    Instruction.HOLD_STICK: Bell.GET_READY,
}


def _bell(step: Step, phase: Phase, what: Instruction, now_s: float) -> Bell | None:
    """Ring on a change, not on every tick, and not on a flutter."""
    if phase is step.phase and what is step.instruction:
        return None
    if phase is Phase.GET_READY and step.phase in (Phase.GET_READY, Phase.GO):
        return None
    bell = _TROUBLES.get(what) or (
        _BELLS.get(phase) if phase is not step.phase else None
    )
    rung = step.rung_at_s
    again = bell is step.rung and rung is not None and now_s - rung < REPEAT_S
    return None if again else bell


def _notice(step: Step, plan: Plan, view: StepView, now_s: float) -> Step:
    """Take in what the view shows, whatever the phase."""
    blind = view.temp_c is None
    left_s = stays_s(view, plan)
    step = replace(
        step,
        now_at_s=now_s,
        doubt_at_s=_since(step.doubt_at_s, now_s, stands=blind),
        waver_at_s=_since(step.waver_at_s, now_s, stands=rules.wavering(view)),
        disturbed=step.disturbed
        or (step.plug_open and not AT_ONCE.isdisjoint(view.reasons)),
    )
    if view.temp_c is None:
        return replace(step, went_blind=step.went_blind or _long_blind(step, plan))
    seen = TempSeen(at_s=now_s, temp_c=view.temp_c, sd_c=view.temp_sd_c or 0.0)
    outside = not rules.inside(view.temp_c, plan.window)
    return replace(
        step,
        seen=seen,
        shuts_at_s=None if left_s is None else now_s + left_s,
        left_window=step.left_window or (step.plug_open and outside),
        opened=step.opened or _then(step.opened_at_s, seen),
        closed=step.closed or _then(step.closed_at_s, seen),
    )


def _then(at_s: float | None, seen: TempSeen) -> TempSeen | None:
    """What is seen now, if the moment is recent enough for it to count."""
    just = at_s is not None and seen.at_s - at_s <= FRESH_S
    return seen if just else None


def _since(start: float | None, now_s: float, *, stands: bool) -> float | None:
    if not stands:
        return None
    return now_s if start is None else start


def _long_blind(step: Step, plan: Plan) -> bool:
    since = step.doubt_at_s
    long = since is not None and step.now_at_s - since >= plan.blind_s
    return step.plug_open and long


def weigh(step: Step, plan: Plan, now_s: float) -> Step:
    """Weigh the marks anew, at most once a second unless something was marked."""
    if step.opened_at_s is None or step.expected is None:
        return step
    last = step.settling_at_s
    if step.settling and last is not None and now_s - last < LOOK_AGAIN_S:
        return step
    marks = Marks(
        drips_s=step.drips_s, streaming_s=step.streaming_s, blind_s=step.blind_s
    )
    state = settling(
        marks,
        step.expected,
        elapsed_s=now_s - step.opened_at_s,
        spread=plan.settle_spread,
        rule=plan.drip,
    )
    return replace(step, settling=state, settling_at_s=now_s)


def is_fresh(step: Step, now_s: float) -> bool:
    """Return whether the last temperature counts as that of the moment."""
    return step.seen is not None and now_s - step.seen.at_s <= FRESH_S
