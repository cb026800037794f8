"""Which phase follows while the plug is out: running down, settled, close now."""

from __future__ import annotations

from bridge.level.step.plan import Plan
from bridge.level.step.step_values import Instruction, Phase, Step, StepView
from bridge.level.step.time_left import heat_calls, window_calls
from bridge.level.step.transitions import Next, inside
from bridge.values.conditions import Reason
from bridge.values.sheet import Drive

AT_ONCE = frozenset(
    {
        Reason.ENGINE_STOPPED,
        Reason.ENGINE_RUNNING,
        Reason.VEHICLE_MOVING,
        Reason.SELECTOR_WRONG,
    }
)
"""With the plug out these call for closing without waiting."""


def open_side(step: Step, view: StepView, plan: Plan, now_s: float) -> Next:
    """Return the phase while the plug is out. A call to close is not taken back."""
    if _stirs(view, plan):
        return Phase.CLOSE, Instruction.COME_OUT
    if step.phase is Phase.CLOSE:
        return Phase.CLOSE, _louder(step, plan, now_s)
    called = _call_to_close(step, view, plan, now_s)
    if called is not None:
        return Phase.CLOSE, called
    if step.phase is Phase.LOW:
        return Phase.LOW, Instruction.ADD_FLUID
    if plan.close_at_c is not None:
        return _until_heat(step, view, plan)
    return _running(step, plan, now_s)


def _until_heat(step: Step, view: StepView, plan: Plan) -> Next:
    """The sheet closes at a temperature: call in time for a hand to have done it."""
    if heat_calls(view, plan):
        return Phase.CLOSE, Instruction.CLOSE_AT
    if step.doubt_at_s is not None:
        return Phase.RUNNING_DOWN, Instruction.READING_LOST
    return Phase.RUNNING_DOWN, Instruction.WATCH_HEAT


def _louder(step: Step, plan: Plan, now_s: float) -> Instruction:
    called = step.close_at_s
    if called is not None and now_s - called > plan.grace_s:
        return Instruction.CLOSE_OVERDUE
    return step.instruction


def _call_to_close(
    step: Step, view: StepView, plan: Plan, now_s: float
) -> Instruction | None:
    """What forbids leaving the plug out any longer; None: nothing."""
    if view.temp_c is not None and not inside(view.temp_c, plan.window):
        return Instruction.CLOSE_OUTSIDE
    broken = any(r in AT_ONCE for r in view.reasons)
    if broken or _lasted(step.waver_at_s, now_s, plan.waver_s):
        return Instruction.CLOSE_CONDITION
    left_s = None if step.shuts_at_s is None else step.shuts_at_s - now_s
    if window_calls(left_s, view, plan):
        return Instruction.CLOSE_WINDOW
    if not plan.window.any and _lasted(step.doubt_at_s, now_s, plan.blind_s):
        return Instruction.CLOSE_BLIND
    return None


def _stirs(view: StepView, plan: Plan) -> bool:
    """Whether the car may move, or its engine did, with somebody under it."""
    stirred = set()
    if plan.in_gear:
        stirred |= {Reason.SELECTOR_WRONG, Reason.VEHICLE_MOVING}
    if plan.drive is not Drive.COMBUSTION:
        stirred.add(Reason.ENGINE_RUNNING)
    return not stirred.isdisjoint(view.reasons)


def _lasted(since_s: float | None, now_s: float, limit_s: float) -> bool:
    return since_s is not None and now_s - since_s >= limit_s


def _running(step: Step, plan: Plan, now_s: float) -> Next:
    state = step.settling
    if state is not None and state.settled_chance >= plan.drip.sure:
        done = (
            Instruction.CLOSE_TIMER if state.timer_only else Instruction.CLOSE_SETTLED
        )
        since = step.phase_at_s if step.phase is Phase.SETTLED else now_s
        late = now_s - since > plan.grace_s
        return (Phase.CLOSE if late else Phase.SETTLED), done
    if step.doubt_at_s is not None and not plan.window.any:
        return Phase.RUNNING_DOWN, Instruction.READING_LOST
    return Phase.RUNNING_DOWN, _patience(step, plan, now_s)


def _patience(step: Step, plan: Plan, now_s: float) -> Instruction:
    if step.opened_at_s is None or step.expected is None:
        return Instruction.WATCH
    limit_s = plan.endless * step.expected.p50_s
    endless = now_s - step.opened_at_s > limit_s
    return Instruction.STREAM_GOES_ON if endless else Instruction.WATCH
