"""How a hand thermometer bears on a session: forecast, gate, age. Pure."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from bridge.level.budget import RECTANGULAR
from bridge.level.found_signal import unconfirmed
from bridge.level.step.marks import without_go
from bridge.level.step.step_values import Step
from bridge.level.thermometer import (
    GO_AGE_S,
    WORD_S,
    Compared,
    ThermometerStatus,
    compare,
    next_reading,
)
from bridge.session.session_state import Session
from bridge.thermal import estimator as est
from bridge.thermal.measurement_bias import biased_forecast
from bridge.values.conditions import Reason, SensorDoubt
from bridge.values.events import Mark
from bridge.values.outlook import Estimate
from bridge.values.readings import LinkState
from bridge.values.sheet import WORD_OF_MOUTH, Confirmation, EngineRule, Role

if TYPE_CHECKING:
    from bridge.thermal.forecast import Forecast
    from bridge.values.events import Marked, Measured

VAGUE_SHARE = 0.25
"""An estimate this vague, as a share of the window, decides nothing."""
USUAL_SD_C = 0.5
ROLE_OF_WORD = {
    Confirmation.ENGINE: Role.ENGINE_SPEED,
    Confirmation.STANDING: Role.VEHICLE_SPEED,
}
"""Which of the car's values each confirmation stands in for."""
UNSEEN_C_PER_S = 0.04
"""How fast fluid may drift from its forecast unseen, as a standard deviation: about
what idling warms it by (common practice, no source)."""


def by_hand(session: Session) -> bool:
    """Return whether the typed readings are the only ones."""
    return session.thermometer is not None and session.thermometer.alone


def expect(session: Session, now_s: float) -> Forecast:
    """Return the forecast; a sensor or thermometer may be off by the same every time.

    The car's sensor by what the sheet states of it, as a rectangular bound (JCGM 100,
    4.3.7); where it states nothing, nothing is added.
    Between two typed readings nobody sees the heating change, so the gate's doubt
    grows with the last one's age as well.
    """
    off_c = (session.sheet.sensor_accuracy_c or 0.0) * RECTANGULAR
    fluid = session.readings.get(Role.FLUID_TEMPERATURE)
    if session.thermometer is not None and by_hand(session) and fluid is not None:
        unseen_c = UNSEEN_C_PER_S * max(0.0, now_s - fluid.t_s)
        off_c = math.hypot(session.thermometer.bias_sd_c, unseen_c)
    return biased_forecast(
        session.track, session.lead.window, now_s=now_s, bias_sd_c=off_c
    )


def gate_raw_c(
    session: Session, raw_c: float | None, now: Estimate | None
) -> float | None:
    """Return what the gate takes for the reading itself.

    One typed reading is worth less than the estimate over several: whether that is
    inside beyond doubt is the chance's business.
    """
    return now.temp_c if by_hand(session) and now is not None else raw_c


def gate_inside(
    session: Session, now: Estimate | None, ahead: Forecast | None, now_s: float
) -> float | None:
    """Return the chance of being inside; None where it is too vague or too old."""
    if now is None or ahead is None:
        return None
    if not by_hand(session):
        return ahead.inside_chance
    last = session.readings.get(Role.FLUID_TEMPERATURE)
    window = session.lead.window.drawn
    width_c = window.high_c - window.low_c
    vague = now.temp_sd_c > max(VAGUE_SHARE * width_c, USUAL_SD_C)
    old = last is None or now_s - last.t_s > GO_AGE_S
    return None if vague or old else ahead.inside_chance


def word(session: Session, what: Confirmation, now_s: float) -> bool | None:
    """Return the person's word in the car's stead; None: the car tells by itself.

    A car that has told once is asked, not the person: its silence is a doubt.
    """
    role = ROLE_OF_WORD[what]
    silent_car = role in session.untold and role not in session.readings
    rule = session.lead.engine
    wordless = rule is EngineRule.KEY_OFF or (
        rule is EngineRule.PUMP and what is Confirmation.ENGINE
    )
    if not (by_hand(session) or silent_car or wordless):
        return None
    said_s = session.words_s.get(what)
    given = what in session.step.confirmed and said_s is not None
    return given and said_s is not None and 0.0 <= now_s - said_s <= WORD_S


def words_after(
    words_s: Mapping[Confirmation, float], made: Marked
) -> Mapping[Confirmation, float]:
    """Return when each confirmation was given, after one more mark."""
    if made.confirms not in WORD_OF_MOUTH or made.confirms is None:
        return words_s
    others = {c: t for c, t in words_s.items() if c is not made.confirms}
    return (
        {**others, made.confirms: made.t_s} if made.mark is Mark.CONFIRMED else others
    )


def forget_old_words(session: Session, now_s: float) -> Step:
    """Return the step without confirmations that are too old to count."""
    old = tuple(
        c
        for c in session.step.confirmed
        if c in WORD_OF_MOUTH and word(session, c, now_s) is False
    )
    if not old:
        return session.step
    kept = tuple(c for c in session.step.confirmed if c not in old)
    return replace(without_go(session.step), confirmed=kept)


def held_against(session: Session, typed: Measured) -> Compared | None:
    """Compare a typed reading with the car's sensor; None where that is not live."""
    fluid = session.readings.get(Role.FLUID_TEMPERATURE)
    live = session.link is LinkState.LIVE and session.believed and fluid is not None
    if fluid is None or not live or abs(typed.t_s - fluid.t_s) > session.stale_s:
        return session.compared
    now = est.estimate(session.track, now_s=max(typed.t_s, fluid.t_s))
    return compare(
        t_s=typed.t_s,
        typed_c=typed.temp_c,
        accuracy_c=typed.accuracy_c,
        sensor_c=now.temp_c if now else fluid.value,
        sensor_sd_c=now.temp_sd_c if now else USUAL_SD_C,
    )


def reasons(session: Session, doubts: tuple[SensorDoubt, ...]) -> tuple[Reason, ...]:
    """Return every reason to distrust the source of the reading."""
    if by_hand(session):
        return ()
    found = [d.reason for d in doubts]
    if unconfirmed(session.sheet):
        found.insert(0, Reason.SIGNAL_UNCONFIRMED)
    if session.compared is not None and not session.compared.agrees:
        found.append(Reason.SOURCES_DISAGREE)
    return tuple(found)


def standing(
    session: Session, now: Estimate | None, ahead: Forecast | None, now_s: float
) -> ThermometerStatus | None:
    """Return how the thermometer stands and when it is wanted next."""
    thermometer = session.thermometer
    if thermometer is None:
        return None
    fluid = session.readings.get(Role.FLUID_TEMPERATURE)
    last_s = session.compared.t_s if session.compared else None
    if thermometer.alone:
        last_s = fluid.t_s if fluid else None
    due_in_s, ask = next_reading(
        thermometer,
        age_s=None if last_s is None else max(0.0, now_s - last_s),
        temp_sd_c=now.temp_sd_c
        if now and thermometer.alone
        else USUAL_SD_C * bool(now),
        near_s=_near_s(ahead),
        plug_open=session.step.plug_open,
    )
    return ThermometerStatus(
        thermometer=thermometer,
        due_in_s=due_in_s,
        ask=ask,
        compared=session.compared,
    )


def _near_s(ahead: Forecast | None) -> float | None:
    """Return how soon the window may open or shut at the earliest; None: not known."""
    if ahead is None:
        return None
    soon = [c.p05_s for c in (ahead.opens, ahead.shuts) if c and c.p05_s is not None]
    return min(soon, default=None)
