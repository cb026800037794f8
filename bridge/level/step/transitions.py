"""Which phase follows while the plug is in; `plug_out` has the other half.

Every rule is a function of the plan, the step so far, what is seen and the time.
Doubt never opens: GO needs the gate's GO, no reason, a temperature inside the
window and everything confirmed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from bridge.level.settling.outlasting import outlasts
from bridge.level.settling.settle_time import SettleTime, scaled_s, usual
from bridge.level.step.plan import Plan
from bridge.level.step.step_values import Instruction, Phase, Step, StepView
from bridge.level.step.time_left import too_late
from bridge.values.conditions import Reason
from bridge.values.outlook import Outlook, Trend
from bridge.values.sheet import EngineRule, LegEnd, LevelMethod, Window

Next = tuple[Phase, Instruction]

_NO_TIME = frozenset({Reason.WINDOW_TOO_SHORT, Reason.CLOSING_NEAR})
"""Inside, and what is left would not do."""
_THERMAL = frozenset(
    {
        Reason.TOO_COLD,
        Reason.TOO_HOT,
        Reason.AT_WINDOW_EDGE,
        Reason.STAY_UNKNOWN,
        *_NO_TIME,
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
SELECTOR = frozenset({Reason.SELECTOR_UNKNOWN, Reason.SELECTOR_WRONG})
_WAVERING = frozenset(
    {Reason.ENGINE_TOO_SLOW, Reason.ENGINE_TOO_FAST, Reason.VOLTAGE_LOW}
)
TOO_SHORT_CHANCE, LONG_ENOUGH_CHANCE = 0.5, 0.6
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
    """Return whether the plug may be opened: GO stands, and it is not too late."""
    return view.says_go(plan.window, plan.stay_chance) and not too_late(view, plan)


def _shifts(view: StepView, plan: Plan) -> bool:
    """Whether the selector has to come out of park still: nobody lies under then."""
    return plan.in_gear and any(r in SELECTOR for r in view.reasons)


def closed_side(step: Step, view: StepView, plan: Plan) -> Next:
    """Return the phase while the plug is in and was not opened."""
    if not all_confirmed(step, plan) or _shifts(view, plan):
        shift = _shifts(view, plan)
        return Phase.PREPARE, Instruction.SHIFT if shift else Instruction.CONFIRM
    if is_go(view, plan):
        return Phase.GO, _go_line(step, plan)
    if plan.ends is not LegEnd.LEVEL:
        return _before_level(step, view, plan)
    if view.temp_c is None and not plan.window.any:
        return Phase.WAIT, Instruction.WAIT_READING
    if missed(step, view, plan):
        hot = plan.engine is EngineRule.IDLING
        return Phase.MISSED, Instruction.COOL_DOWN if hot else Instruction.WARM_UP
    others = [r for r in view.reasons if r not in _THERMAL]
    if others == [Reason.ENGINE_RUNNING] and _warms_first(view, plan):
        return Phase.WAIT, Instruction.WARM_FIRST
    if others:
        return _unmet(others, view, plan)
    return _coming(step, view, plan)


def _unmet(others: Sequence[Reason], view: StepView, plan: Plan) -> Next:
    """Something else than the temperature is missing."""
    if tuple(others) == (Reason.WAIT_NOT_OVER,):
        left_s, opens = view.wait_left_s, plan.ends is LegEnd.LEVEL
        near = opens and left_s is not None and left_s <= plan.lead_s
        if near and (plan.window.any or inside(view.temp_c, plan.window)):
            return Phase.GET_READY, _ready(plan, inside=True)
        return Phase.WAIT, Instruction.WAIT_OUT
    if any(r in _READING for r in others):
        return Phase.WAIT, Instruction.WAIT_READING
    return Phase.WAIT, Instruction.MEET_CONDITIONS


def _before_level(step: Step, view: StepView, plan: Plan) -> Next:
    """A phase that sets no level: nothing is opened in it, nothing says GO."""
    reasons = [r for r in view.reasons if r is not Reason.LEVEL_COMES_LATER]
    blind = (*_READING, *SENSOR)
    others = [r for r in reasons if r not in _THERMAL and r not in blind]
    if others:
        return _unmet(others, view, plan)
    if plan.ends is LegEnd.WARM:
        unread = view.temp_c is None or any(r in blind for r in reasons)
        return Phase.WAIT, Instruction.TELL_HEAT if unread else Instruction.WAIT_HEAT
    if plan.window.any or not reasons:
        return Phase.WAIT, Instruction.DO_PHASE
    if view.temp_c is None:
        return Phase.WAIT, Instruction.WAIT_READING
    return Phase.WAIT, _waiting(step, view)


def is_warm(view: StepView, plan: Plan) -> bool:
    """Return whether a phase that ends with the fluid inside its window has ended.

    Proven by the whole doubt (k = 2), and only where nothing else speaks against it.
    """
    temp_c, sd_c = view.temp_c, view.temp_sd_c
    if temp_c is None or sd_c is None:
        return False
    low, high = temp_c - 2.0 * sd_c, temp_c + 2.0 * sd_c
    against = set(view.reasons) - _THERMAL - {Reason.LEVEL_COMES_LATER}
    return inside(low, plan.window) and inside(high, plan.window) and not against


def _warms_first(view: StepView, plan: Plan) -> bool:
    """Whether the engine has to bring the fluid up before it is switched off.

    A window without an upper end is not to be warmed beyond.
    """
    if plan.window.above_open:
        return False
    below = view.temp_c is not None and view.temp_c <= plan.window.high_c
    off = plan.engine is not EngineRule.IDLING
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
        return False
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
    low_c, high_c = _ends_c(plan, plan.window.drawn)
    share = plan.restart_share * (high_c - low_c)
    idling = plan.engine is EngineRule.IDLING
    goal_c = low_c + share if idling else high_c - share
    gap_c = goal_c - temp_c
    if gap_c == 0.0:
        return 0.0
    if gap_c * rate <= 0.0 or end_c == temp_c:
        return None
    if end_c is None:
        return gap_c / rate
    left = (end_c - goal_c) / (end_c - temp_c)
    return -math.log(left) * (end_c - temp_c) / rate if 0.0 < left < 1.0 else None


def _coming(step: Step, view: StepView, plan: Plan) -> Next:
    """Nothing but the temperature is missing."""
    if inside(view.temp_c, plan.window):
        if not _NO_TIME.isdisjoint(view.reasons):
            return Phase.WAIT, Instruction.TOO_SHORT
        return Phase.GET_READY, _ready(plan, inside=True)
    if view.outlook is Outlook.MAY_NEVER:
        return Phase.WAIT, Instruction.MAY_NEVER
    if too_short(step, view, plan):
        return Phase.WAIT, Instruction.TOO_SHORT
    lead_s = plan.lead_s * (_HYSTERESIS if step.phase is Phase.GET_READY else 1.0)
    opens = view.opens
    if opens is not None and opens.p50_s is not None and opens.p50_s <= lead_s:
        return Phase.GET_READY, _ready(plan, inside=False)
    return Phase.WAIT, _waiting(step, view)


def _ready(plan: Plan, *, inside: bool) -> Instruction:
    if plan.method is LevelMethod.STICK:
        return Instruction.HOLD_STICK if inside else Instruction.GET_TO_STICK
    return Instruction.STAND_BY if inside else Instruction.GET_UNDER


_WAITING = {
    Trend.WARMING: Instruction.WAIT_WARMING,
    Trend.COOLING: Instruction.WAIT_COOLING,
}


def _waiting(step: Step, view: StepView) -> Instruction:
    """Return which way the fluid goes; one not clear any more takes nothing back.

    A driven car's fluid warms by fits and starts: the words change once another trend
    is clear, not with every push.
    """
    unclear = view.trend is Trend.UNKNOWN
    if unclear and step.instruction in _WAITING.values():
        return step.instruction
    return _WAITING.get(view.trend, Instruction.WAIT)


def too_short(step: Step, view: StepView, plan: Plan) -> bool:
    """Return whether the passage through the window will hardly outlast settling.

    An opening too wide for a countdown tells nothing of the time from it; that the
    shutting lies farther off, and is wider for it, is in the chance.
    """
    said = step.instruction is Instruction.TOO_SHORT
    if view.opens is None or not (said or view.opens.narrow):
        return False
    settle = expected(plan, None)
    chance = outlasts(view.opens, view.shuts, settle, delay_s=2 * plan.react_s)
    limit = LONG_ENOUGH_CHANCE if said else TOO_SHORT_CHANCE
    return chance is not None and chance < limit


def wavering(view: StepView) -> bool:
    """Return whether the idle is out of its band."""
    return any(r in _WAVERING for r in view.reasons)
