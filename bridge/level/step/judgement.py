"""What is said of the level at closing. It informs; the maker's window decides."""

from __future__ import annotations

from bridge.level.budget import Budget, Closing, budget, tilt_sd_mm
from bridge.level.step import stick
from bridge.level.step.plan import Plan
from bridge.level.step.step_values import Judgement, Outcome, Step, TempSeen
from bridge.level.volume import LevelError, level_error
from bridge.values.conditions import TiltWorth
from bridge.values.events import Band

SETTLED_CHANCE = 0.5
"""From here on 'settled' is likelier than not."""
CLOSE_AT_GIVE_C = 1.0
"""How far from the sheet's temperature an opening is still closed at it: what a hand
needs at the rate of a warming car (common practice, no source)."""


def judge_step(step: Step, plan: Plan, tilt: TiltWorth | None = None) -> Judgement:
    """Return the judgement of a step whose plug was opened and closed.

    ``tilt``: how the car leans, where angles were typed.
    """
    opened_at = step.opened_at_s if step.opened_at_s is not None else step.now_at_s
    closed_at = step.closed_at_s if step.closed_at_s is not None else step.now_at_s
    settling = step.settling
    chance = settling.settled_chance if settling else 0.0
    within = plan.window.any or _within(step)
    error = size_of_error(step.closed, plan)
    return Judgement(
        outcome=_outcome(step, plan, within=within, settled=chance),
        opened=step.opened,
        closed=step.closed,
        open_s=max(0.0, closed_at - opened_at),
        inside=within,
        settled_chance=chance,
        timer_only=settling is None or settling.timer_only,
        on_go=step.on_go,
        overdue_s=None if step.close_at_s is None else closed_at - step.close_at_s,
        claimed=step.claimed,
        error=error,
        budget=budget_of(step, plan, tilt),
        added_ml=step.added_ml,
    )


_BY_BAND: dict[Band | None, Outcome] = {
    Band.INSIDE: Outcome.GOOD,
    Band.BELOW: Outcome.BELOW,
    Band.ABOVE: Outcome.ABOVE,
    None: Outcome.UNKNOWN,
}


def judge_stick(step: Step, plan: Plan) -> Judgement | None:
    """Return the judgement of a stick's readings; None: another one is needed."""
    beside = _beside(plan)
    found = stick.result(step.reads, plan.stick, plan.area_cm2, beside)
    if found is None:
        return None
    first, newest = step.reads[0], step.reads[-1]
    return Judgement(
        outcome=_BY_BAND[found.band],
        opened=TempSeen(at_s=first.at_s, temp_c=first.temp_c, sd_c=first.sd_c),
        closed=TempSeen(at_s=newest.at_s, temp_c=newest.temp_c, sd_c=newest.sd_c),
        open_s=0.0,
        inside=True,
        settled_chance=1.0,
        timer_only=False,
        on_go=True,
        overdue_s=None,
        claimed=step.claimed,
        error=None,
        budget=stick.worth(step.reads, plan.stick, plan.area_cm2, beside),
        added_ml=step.added_ml,
        stick=found,
    )


def _beside(plan: Plan) -> stick.Beside:
    """What the car's lean is worth at the stick, within the limit it is held to."""
    limit_deg = plan.tilt_limit_deg
    forward_mm, right_mm = plan.opening_forward_mm, plan.opening_right_mm
    return stick.Beside(
        sensor_accuracy_c=plan.sensor_accuracy_c,
        tilt_sd_mm=(
            None if limit_deg is None else tilt_sd_mm(limit_deg, forward_mm, right_mm)
        ),
    )


def _within(step: Step) -> bool | None:
    if step.left_window:
        return False
    known = step.opened is not None and step.closed is not None
    return True if known and not step.went_blind else None


def _outcome(step: Step, plan: Plan, *, within: bool | None, settled: float) -> Outcome:
    if step.nothing_came and not step.ran:
        return Outcome.NOTHING_CAME
    if step.disturbed:
        return Outcome.DISTURBED
    if within is None:
        return Outcome.UNKNOWN
    if not within:
        return Outcome.OUTSIDE
    if plan.close_at_c is not None and step.closed is not None:
        apart_c = abs(step.closed.temp_c - plan.close_at_c)
        close = apart_c <= CLOSE_AT_GIVE_C
        return Outcome.GOOD if close else Outcome.OFF_TEMPERATURE
    if settled < SETTLED_CHANCE:
        return Outcome.STILL_RUNNING
    watched = step.settling is not None and not step.settling.timer_only
    return Outcome.GOOD if watched else Outcome.NOT_OBSERVED


def size_of_error(closed: TempSeen | None, plan: Plan) -> LevelError | None:
    """Return what the temperature at closing makes of the level.

    None: no temperature, no fill in the sheet, a window with one end (it does not say
    which temperature the level is meant for), or beyond the oil table.
    """
    if closed is None or plan.fill_ml is None or _meant_c(plan) is None:
        return None
    return _error_at(closed.temp_c, plan, plan.fill_ml)


def _meant_c(plan: Plan) -> float | None:
    """The temperature the level is meant for; None: the sheet does not say."""
    if plan.close_at_c is not None or not plan.window.closed:
        return plan.close_at_c
    return plan.window.middle_c


def _error_at(temp_c: float, plan: Plan, fill_ml: float) -> LevelError | None:
    try:
        return level_error(
            temp_c,
            plan.window,
            meant_c=plan.close_at_c,
            fill_ml=fill_ml,
            area_cm2=plan.area_cm2,
            density_kg_m3=plan.density_kg_m3,
        )
    except ValueError:
        return None


def budget_of(step: Step, plan: Plan, tilt: TiltWorth | None = None) -> Budget | None:
    """Return what all sources of doubt make of a level that was closed.

    None as in `size_of_error`.
    """
    closed, settling, meant_c = step.closed, step.settling, _meant_c(plan)
    if closed is None or plan.fill_ml is None or meant_c is None:
        return None
    at = Closing(
        temp_c=closed.temp_c,
        sd_c=closed.sd_c,
        meant_c=meant_c,
        fill_ml=plan.fill_ml,
        density_kg_m3=plan.density_kg_m3,
        area_cm2=plan.area_cm2,
        sensor_accuracy_c=plan.sensor_accuracy_c,
        tilt=tilt,
        tilt_limit_deg=plan.tilt_limit_deg,
        opening_forward_mm=plan.opening_forward_mm,
        opening_right_mm=plan.opening_right_mm,
        more_ml=settling.more_ml if settling else None,
    )
    try:
        return budget(at)
    except ValueError:
        return None
