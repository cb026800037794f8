"""Which phase follows: before opening, and while the plug is out.

Every rule is a function of the plan, the step so far, what is seen and the time.
Doubt never opens: GO needs the gate's GO, no reason, a temperature inside the
window and everything confirmed.
"""

from __future__ import annotations

import math

from bridge.level.settling.outlasting import outlasts
from bridge.level.settling.settle_time import SettleTime, scaled_s, usual
from bridge.level.step.step_values import Instruction, Phase, Plan, Step, StepView
from bridge.values.conditions import Reason
from bridge.values.outlook import Outlook, Trend
from bridge.values.sheet import EngineRule, LevelMethod, Window

Next = tuple[Phase, Instruction]

_THERMAL = frozenset(
    {
        Reason.TOO_COLD,
        Reason.TOO_HOT,
        Reason.AT_WINDOW_EDGE,
        Reason.STAY_UNKNOWN,
        Reason.WINDOW_TOO_SHORT,
        Reason.TEMPERATURE_UNCERTAIN,
    }
)
"""Reasons that time alone may end."""
_READING = frozenset(
    {
        Reason.CONNECTING,
        Reason.LINK_LOST,
        Reason.ADAPTER_SILENT,
        Reason.NO_SIGNAL,
        Reason.NO_READING,
        Reason.READING_STALE,
        Reason.READING_REFUSED,
        Reason.READING_IMPLAUSIBLE,
        Reason.CLOCK_JUMPED,
    }
)
SENSOR = frozenset(
    {
        Reason.SENSOR_OFFSET,
        Reason.SENSOR_STUCK,
        Reason.SENSOR_STOPPED,
        Reason.SENSOR_JUMPED,
        Reason.SENSOR_IS_COOLANT,
        Reason.SENSOR_BELOW_AIR,
    }
)
"""The value read is not believed to be the fluid's: it is as if there were none."""
_AT_ONCE = frozenset(
    {
        Reason.ENGINE_STOPPED,
        Reason.ENGINE_RUNNING,
        Reason.VEHICLE_MOVING,
        Reason.SELECTOR_WRONG,
    }
)
"""With the plug out these call for closing without waiting."""
_WAVERING = frozenset(
    {Reason.ENGINE_TOO_SLOW, Reason.ENGINE_TOO_FAST, Reason.VOLTAGE_LOW}
)
TOO_SHORT_CHANCE = 0.5
_HYSTERESIS = 1.5


def inside(temp_c: float | None, window: Window) -> bool:
    """Return whether a temperature is known and inside."""
    return temp_c is not None and window.low_c <= temp_c <= window.high_c


def expected(plan: Plan, temp_c: float | None) -> SettleTime:
    """Return the settle time to expect at a temperature (the window's middle if None).

    Where the viscosity cannot be told, the sheet's time as it stands.
    """
    middle = plan.window.middle_c
    try:
        settle_s = scaled_s(
            plan.settle_s,
            temp_c=middle if temp_c is None else temp_c,
            reference_c=middle,
            fluid=plan.fluid,
        )
    except ValueError:
        settle_s = plan.settle_s
    return usual(settle_s, plan.settle_spread)


def all_confirmed(step: Step, plan: Plan) -> bool:
    """Return whether the person confirmed all the plan asks for."""
    return all(c in step.confirmed for c in plan.confirm)


def is_go(view: StepView, plan: Plan) -> bool:
    """Return whether the plug may be opened: GO stands, and it is not late to close."""
    go = view.says_go(plan.window, plan.stay_chance)
    return go and not past_close_at(view.temp_c, plan)


def past_close_at(temp_c: float | None, plan: Plan) -> bool:
    """Return whether the temperature to close at is reached before anything is open."""
    if plan.close_at_c is None or temp_c is None:
        return False
    if plan.engine is EngineRule.IDLING:
        return temp_c >= plan.close_at_c
    return temp_c <= plan.close_at_c


def closed_side(step: Step, view: StepView, plan: Plan) -> Next:
    """Return the phase while the plug is in and was not opened."""
    if not all_confirmed(step, plan):
        return Phase.PREPARE, Instruction.CONFIRM
    if is_go(view, plan):
        return Phase.GO, _go_line(step, plan)
    if view.temp_c is None:
        return Phase.WAIT, Instruction.WAIT_READING
    if missed(step, view, plan):
        hot = plan.engine is EngineRule.IDLING
        return Phase.MISSED, Instruction.COOL_DOWN if hot else Instruction.WARM_UP
    others = [r for r in view.reasons if r not in _THERMAL]
    if others == [Reason.ENGINE_RUNNING] and _warms_first(view, plan):
        return Phase.WAIT, Instruction.WARM_FIRST
    if others:
        reading = any(r in _READING for r in others)
        what = Instruction.WAIT_READING if reading else Instruction.MEET_CONDITIONS
        return Phase.WAIT, what
    return _coming(step, view, plan)


def _warms_first(view: StepView, plan: Plan) -> bool:
    """Whether the engine has to bring the fluid up before it is switched off."""
    below = view.temp_c is not None and view.temp_c <= plan.window.high_c
    off = plan.engine is EngineRule.OFF
    return off and below and view.trend is not Trend.COOLING


def _go_line(step: Step, plan: Plan) -> Instruction:
    if plan.method is not LevelMethod.STICK:
        return Instruction.OPEN_NOW
    return Instruction.READ_AGAIN if step.reads else Instruction.READ_STICK


def missed(step: Step, view: StepView, plan: Plan) -> bool:
    """Return whether the fluid is beyond the window and must come back first.

    Once missed it stays so until the fluid is near the edge it starts from again.
    """
    temp_c = view.temp_c
    if temp_c is None:
        return step.phase is Phase.MISSED
    beyond = _beyond_c(temp_c, plan)
    returning = view.trend is _returning(plan)
    if step.phase is Phase.MISSED:
        low_c, high_c = _ends_c(plan, plan.window.drawn)
        return beyond > -(1.0 - plan.restart_share) * (high_c - low_c)
    return beyond > 0.0 and not returning


def _beyond_c(temp_c: float, plan: Plan) -> float:
    """Degrees past the far edge: the hot one idling, the cold one with engine off.

    The temperature to close at, where the sheet names one, is the far edge.
    """
    low_c, high_c = _ends_c(plan, plan.window)
    return temp_c - high_c if plan.engine is EngineRule.IDLING else low_c - temp_c


def _ends_c(plan: Plan, window: Window) -> tuple[float, float]:
    """Where the opening may be opened: up to the temperature it is closed at."""
    low_c, high_c, close_c = window.low_c, window.high_c, plan.close_at_c
    if close_c is None:
        return low_c, high_c
    idling = plan.engine is EngineRule.IDLING
    return (low_c, close_c) if idling else (close_c, high_c)


def _returning(plan: Plan) -> Trend:
    idling = plan.engine is EngineRule.IDLING
    return Trend.COOLING if idling else Trend.WARMING


def begins_again_s(view: StepView, plan: Plan) -> float | None:
    """Return in how many seconds a missed fluid is back where the step starts.

    By Newton's law of cooling from temperature, rate and final value; None: it
    cannot be told.
    """
    temp_c, rate, end_c = view.temp_c, view.rate_c_per_s, view.settles_at_c
    if temp_c is None or rate is None:
        return None
    window = plan.window.drawn
    share = plan.restart_share * (window.high_c - window.low_c)
    idling = plan.engine is EngineRule.IDLING
    goal_c = window.low_c + share if idling else window.high_c - share
    gap_c = goal_c - temp_c
    if gap_c == 0.0 or gap_c * rate <= 0.0:
        return 0.0 if gap_c == 0.0 else None
    if end_c is None:
        return gap_c / rate
    left = (end_c - goal_c) / (end_c - temp_c) if end_c != temp_c else -1.0
    return -math.log(left) * (end_c - temp_c) / rate if 0.0 < left < 1.0 else None


def _coming(step: Step, view: StepView, plan: Plan) -> Next:
    """Nothing but the temperature is missing."""
    if inside(view.temp_c, plan.window):
        if Reason.WINDOW_TOO_SHORT in view.reasons:
            return Phase.WAIT, Instruction.TOO_SHORT
        return Phase.GET_READY, _ready(plan, inside=True)
    if view.outlook is Outlook.MAY_NEVER:
        return Phase.WAIT, Instruction.MAY_NEVER
    if too_short(view, plan):
        return Phase.WAIT, Instruction.TOO_SHORT
    lead_s = plan.lead_s * (_HYSTERESIS if step.phase is Phase.GET_READY else 1.0)
    opens = view.opens
    if opens is not None and opens.p50_s is not None and opens.p50_s <= lead_s:
        return Phase.GET_READY, _ready(plan, inside=False)
    return Phase.WAIT, _WAITING.get(view.trend, Instruction.WAIT)


def _ready(plan: Plan, *, inside: bool) -> Instruction:
    if plan.method is LevelMethod.STICK:
        return Instruction.HOLD_STICK if inside else Instruction.GET_TO_STICK
    return Instruction.STAND_BY if inside else Instruction.GET_UNDER


_WAITING = {
    Trend.WARMING: Instruction.WAIT_WARMING,
    Trend.COOLING: Instruction.WAIT_COOLING,
}


def too_short(view: StepView, plan: Plan) -> bool:
    """Return whether the passage through the window will hardly outlast settling.

    Bounds too wide for a countdown tell nothing of the time between them.
    """
    crossings = (view.opens, view.shuts)
    if not all(c is not None and c.narrow for c in crossings):
        return False
    settle = expected(plan, plan.window.middle_c)
    chance = outlasts(view.opens, view.shuts, settle, delay_s=2 * plan.react_s)
    return chance is not None and chance < TOO_SHORT_CHANCE


def open_side(step: Step, view: StepView, plan: Plan, now_s: float) -> Next:
    """Return the phase while the plug is out. A call to close is not taken back."""
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


def closes_in_s(view: StepView, plan: Plan) -> float | None:
    """Return how long until the temperature the sheet closes at, at this rate.

    0 once it is reached or passed; None: the sheet names none, the temperature is not
    known, or the fluid does not go there.
    """
    close_c, temp_c, rate = plan.close_at_c, view.temp_c, view.rate_c_per_s
    if close_c is None or temp_c is None:
        return None
    left_c = close_c - temp_c if plan.engine is EngineRule.IDLING else temp_c - close_c
    if left_c <= 0.0:
        return 0.0
    towards = rate or 0.0
    if plan.engine is EngineRule.OFF:
        towards = -towards
    return left_c / towards if towards > 0.0 else None


def _until_heat(step: Step, view: StepView, plan: Plan) -> Next:
    """The sheet closes at a temperature: call in time for a hand to have done it."""
    left_s = closes_in_s(view, plan)
    if left_s is not None and left_s <= plan.react_s:
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
    broken = any(r in _AT_ONCE for r in view.reasons)
    if broken or _lasted(step.waver_at_s, now_s, plan.waver_s):
        return Instruction.CLOSE_CONDITION
    if step.shuts_at_s is not None and step.shuts_at_s - now_s <= plan.close_lead_s:
        return Instruction.CLOSE_WINDOW
    if _lasted(step.doubt_at_s, now_s, plan.blind_s):
        return Instruction.CLOSE_BLIND
    return None


def _lasted(since_s: float | None, now_s: float, limit_s: float) -> bool:
    return since_s is not None and now_s - since_s >= limit_s


def wavering(view: StepView) -> bool:
    """Return whether the idle is out of its band."""
    return any(r in _WAVERING for r in view.reasons)


def _running(step: Step, plan: Plan, now_s: float) -> Next:
    state = step.settling
    if state is not None and state.settled_chance >= plan.drip.sure:
        done = (
            Instruction.CLOSE_TIMER if state.timer_only else Instruction.CLOSE_SETTLED
        )
        since = step.phase_at_s if step.phase is Phase.SETTLED else now_s
        late = now_s - since > plan.grace_s
        return (Phase.CLOSE if late else Phase.SETTLED), done
    if step.doubt_at_s is not None:
        return Phase.RUNNING_DOWN, Instruction.READING_LOST
    return Phase.RUNNING_DOWN, _patience(step, plan, now_s)


def _patience(step: Step, plan: Plan, now_s: float) -> Instruction:
    if step.opened_at_s is None or step.expected is None:
        return Instruction.WATCH
    limit_s = plan.endless * step.expected.p50_s
    endless = now_s - step.opened_at_s > limit_s
    return Instruction.STREAM_GOES_ON if endless else Instruction.WATCH


def shuts_in_s(view: StepView, plan: Plan) -> float | None:
    """Return when the window may shut, seconds from now, seen from inside.

    The early end of the forecast; where it does not tell, the nearest edge at the
    present rate. None: it is not known, or not shutting.
    """
    if view.temp_c is None:
        return None
    if view.shuts is not None:
        return view.shuts.p05_s
    rate, window = view.rate_c_per_s, plan.window
    if rate is None or rate == 0.0:
        return None
    edge_c = window.high_c if rate > 0.0 else window.low_c
    return max((edge_c - view.temp_c) / rate, 0.0)
