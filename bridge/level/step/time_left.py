"""How long an open plug has, and when it is called in for want of time.

One judgement on both sides of the opening. GO asks that the fluid stays inside, with
the sheet's chance, until the surplus has settled; as long as it does the plug is not
called in. Nothing is opened that would be called in again before anything came of it.
"""

from __future__ import annotations

from bridge.level.step.plan import Plan
from bridge.level.step.step_values import StepView
from bridge.values.sheet import EngineRule


def stays_s(view: StepView, plan: Plan) -> float | None:
    """Return for how long from now the fluid stays inside, seen from inside.

    With the sheet's chance; where the forecast does not tell, until the nearest edge at
    the present rate. None: it is not known, or not shutting.
    """
    if view.temp_c is None:
        return None
    if view.stays_s is not None:
        return view.stays_s
    rate, window = view.rate_c_per_s, plan.window
    if rate is None or rate == 0.0:
        return None
    edge_c = window.high_c if rate > 0.0 else window.low_c
    return max((edge_c - view.temp_c) / rate, 0.0)


def window_calls(left_s: float | None, view: StepView, plan: Plan) -> bool:
    """Return whether the window may shut too soon: ``left_s`` s from now.

    Never while the chance that GO rests on stands: the surplus settles first then.
    """
    if left_s is None or left_s > plan.close_lead_s:
        return False
    chance = view.stay_chance
    return chance is None or not chance >= plan.stay_chance


def closes_in_s(view: StepView, plan: Plan) -> float | None:
    """Return how long until the temperature the sheet closes at, at this rate.

    0 once it is reached or passed; None: the sheet names none, the temperature is not
    known, or the fluid does not go there.
    """
    close_c, temp_c, rate = plan.close_at_c, view.temp_c, view.rate_c_per_s
    if close_c is None or temp_c is None:
        return None
    idling = plan.engine is EngineRule.IDLING
    left_c = close_c - temp_c if idling else temp_c - close_c
    if left_c <= 0.0:
        return 0.0
    towards = (rate or 0.0) if idling else -(rate or 0.0)
    return left_c / towards if towards > 0.0 else None


def heat_calls(view: StepView, plan: Plan) -> bool:
    """Return whether the temperature to close at is there when a hand has closed it."""
    left_s = closes_in_s(view, plan)
    return left_s is not None and left_s <= plan.react_s


def too_late(view: StepView, plan: Plan) -> bool:
    """Return whether a plug opened now would be called in before anything came of it.

    That the window lasts is in the chance of staying; this is of the temperature to
    close at, passed or within the hand's time and the lead.
    """
    left_s = closes_in_s(view, plan)
    return left_s is not None and left_s <= plan.react_s + plan.close_lead_s
