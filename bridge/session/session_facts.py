"""What a session knows at a moment: how the reading stands, what is fresh. Pure."""

from __future__ import annotations

from bridge.level.gate import ReadingState
from bridge.level.settling.settle_time import stay_until_settled
from bridge.level.step import machine
from bridge.level.step.transitions import SELECTOR
from bridge.session.session_state import Session
from bridge.snapshot import Snapshot
from bridge.thermal import estimator as est
from bridge.thermal.cooling_back import cools_back
from bridge.thermal.forecast import EVEN_CHANCE, Forecast
from bridge.thermal.surroundings import surroundings
from bridge.values.conditions import ConditionName, ConditionState, Reason
from bridge.values.outlook import Estimate, Outlook, Passed, Trend
from bridge.values.readings import FaultKind, LinkState, Reading
from bridge.values.sheet import Confirmation, EngineRule, Role

FUTURE_S = 0.5
"""A time this far ahead of now means a wrong clock, not a fresh reading."""
SLOW_STALE_S: dict[Role, float] = {
    Role.COOLANT_TEMPERATURE: 10.0,
    Role.MODULE_VOLTAGE: 20.0,
    Role.ENGINE_RUN_TIME: 20.0,
    Role.AMBIENT_TEMPERATURE: 120.0,
}
"""Roles that are polled less often stay valid for longer."""

REFUSING = (FaultKind.REFUSED, FaultKind.NOT_AVAILABLE, FaultKind.OUT_OF_RANGE)


def reading_state(session: Session, now_s: float) -> ReadingState:
    """Return how the fluid's reading stands at ``now_s``."""
    by_hand = session.thermometer is not None and session.thermometer.alone
    typed = bool(session.assumed) or by_hand
    if session.sheet.signal(Role.FLUID_TEMPERATURE) is None and not typed:
        return ReadingState.NO_SIGNAL
    reading = session.readings.get(Role.FLUID_TEMPERATURE)
    if denied(session, Role.FLUID_TEMPERATURE):
        return ReadingState.REFUSED
    if not session.believed:
        return ReadingState.IMPLAUSIBLE
    if reading is None:
        return ReadingState.NONE
    if reading.t_s <= session.distrust_until_s:
        return ReadingState.CLOCK
    age_s = now_s - reading.t_s
    return (
        ReadingState.LIVE
        if -FUTURE_S <= age_s <= session.stale_s
        else (ReadingState.STALE)
    )


def fresh(session: Session, role: Role, now_s: float) -> float | None:
    """Return a role's value if it is recent enough to count, else None.

    A broken link makes every value unknown at once, however slowly it changes.
    """
    if session.link is not LinkState.LIVE:
        return None
    reading = session.readings.get(role)
    if reading is None:
        return session.assumed.get(role)
    limit_s = max(session.stale_s, SLOW_STALE_S.get(role, session.stale_s))
    old = not -FUTURE_S <= now_s - reading.t_s <= limit_s
    distrusted = reading.t_s <= session.distrust_until_s
    return None if old or distrusted or denied(session, role) else reading.value


def denied(session: Session, role: Role) -> bool:
    """Return whether the unit itself said that it has no such value now.

    A request that merely failed (no data, a cut reply) is not a denial: the last
    value stands until it is too old.
    """
    fault = session.faults.get(role)
    return fault is not None and fault.kind in REFUSING


def selector(session: Session, now_s: float) -> str | None:
    """Return where the car says the selector stands; None: not known now."""
    if fresh(session, Role.SELECTOR, now_s) is None:
        return None
    reading = session.readings[Role.SELECTOR]
    return reading.label or f"{reading.value:g}"


def passed(
    session: Session, now: Estimate | None, ahead: Forecast | None, now_s: float
) -> Passed | None:
    """Return how the window was passed; None while it is not behind.

    Behind means: an idling engine keeps the fluid beyond the upper edge. Where it
    cools a little and will hardly come back so, as a thermostat makes it, it is.
    """
    window, plan = session.lead.window, session.plan
    rpm = fresh(session, Role.ENGINE_SPEED, now_s)
    if now is None or rpm is None or rpm < 1.0 or plan.engine is not EngineRule.IDLING:
        return None
    opens = ahead.opens if ahead else None
    returns = now.trend is Trend.COOLING and not (opens and opens.chance < EVEN_CHANCE)
    if now.temp_c <= window.high_c or returns:
        return None
    back = window.drawn
    goal_c = back.low_c + plan.restart_share * (back.high_c - back.low_c)
    since_s = session.short_of_edge_s
    return Passed(
        edge_c=window.high_c,
        ago_s=None if since_s is None else max(0.0, now_s - since_s),
        back=cools_back(
            now.temp_c, goal_c, fresh(session, Role.AMBIENT_TEMPERATURE, now_s)
        ),
    )


def short_of_edge(session: Session, temp_c: float | None, now_s: float) -> float | None:
    """Return when the fluid was last seen at or below the window's upper edge."""
    if temp_c is None or temp_c > session.lead.window.high_c:
        return session.short_of_edge_s
    return now_s


def surround(track: est.Track, reading: Reading) -> est.Track:
    """Let the estimator know what else the car tells."""
    t_s, value = reading.t_s, reading.value
    if reading.role is Role.AMBIENT_TEMPERATURE:
        return surroundings(track, t_s=t_s, ambient_c=value)
    if reading.role is Role.COOLANT_TEMPERATURE:
        return surroundings(track, t_s=t_s, coolant_c=value)
    if reading.role is Role.ENGINE_SPEED:
        return surroundings(track, t_s=t_s, engine_rpm=value)
    if reading.role is Role.VEHICLE_SPEED:
        return surroundings(track, t_s=t_s, speed_kmh=value)
    return track


def stay_chance(
    session: Session, now: Estimate | None, ahead: Forecast | None, now_s: float
) -> float | None:
    """Return the chance of staying inside until the surplus has settled."""
    if now is None or ahead is None:
        return None
    settle = machine.remaining(session.step, session.plan, now.temp_c, now_s)
    return stay_until_settled(ahead.stay_chance, settle)


def tells_stay(ahead: Forecast | None, stay: float | None) -> bool:
    """Return whether a low chance of staying is news, and not want of knowledge.

    Bounds too wide for a countdown may still say that it will hardly stay.
    """
    if ahead is None:
        return False
    unlikely = stay is not None and stay < EVEN_CHANCE
    return ahead.outlook is Outlook.TELLING or (
        ahead.outlook is Outlook.ROUGH and unlikely
    )


def foreseen(now: Estimate | None, ahead: Forecast | None, chance: float) -> Snapshot:
    """Return the part of a snapshot that the estimate and the forecast fill.

    ``chance``: the sheet's, of staying inside, 0..1.
    """
    return Snapshot(
        t_s=0.0,
        link=LinkState.CONNECTING,
        temp_c=now.temp_c if now else None,
        temp_sd_c=now.temp_sd_c if now else None,
        rate_c_per_s=now.rate_c_per_s if now else None,
        trend=now.trend if now else Trend.UNKNOWN,
        opens=ahead.opens if ahead else None,
        shuts=ahead.shuts if ahead else None,
        stays_s=ahead.stays_s(chance) if ahead else None,
        outlook=ahead.outlook if ahead else Outlook.CANNOT_TELL,
        figures_in_s=ahead.figures_in_s if ahead else None,
        settles_at_c=ahead.settles_at_c if ahead else None,
    )


def engine_since_s(session: Session, seen: Snapshot, now_s: float) -> float | None:
    """Return since when the engine has been as the sheet wants it; None: it is not.

    A moment in which that is not known begins the time anew, and so does the person's
    word: before it nobody stood for the engine.
    """
    met = any(
        c.name is ConditionName.ENGINE and c.state is ConditionState.MET
        for c in seen.conditions
    )
    if not met:
        return None
    return now_s if session.engine_since_s is None else session.engine_since_s


def engine_for_s(session: Session, now_s: float) -> float | None:
    """Return for how long the engine has been as the sheet wants it."""
    since_s = session.engine_since_s
    return None if since_s is None else max(0.0, now_s - since_s)


def wait_left_s(session: Session, now_s: float) -> float | None:
    """Return how much of the sheet's wait is left; None: it has not begun."""
    for_s = engine_for_s(session, now_s)
    if session.lead.wait_s <= 0.0:
        return 0.0
    return None if for_s is None else max(0.0, session.lead.wait_s - for_s)


AIR_GIVE_C = 0.5
"""So far past a row's end the air the car reads is still taken to be in it: half a step
of its sensor, so that the window does not flutter (common practice, no source)."""


def air_c(session: Session, now_s: float) -> float | None:
    """Return the outside air: the person's word, else what the car reads now."""
    said = session.step.air_c
    return fresh(session, Role.AMBIENT_TEMPERATURE, now_s) if said is None else said


def air_row(session: Session, now_s: float) -> int | None:
    """Return which of the sheet's windows by the air holds; None: none, or not known.

    With the plug out it stays what it was when it was opened.
    """
    rows, step = session.sheet.air_windows, session.step
    now_c = air_c(session, now_s)
    if step.plug_open or not rows:
        return step.air_row
    if now_c is None:
        return None
    if step.air_row is not None and step.air_c is None:
        here = rows[step.air_row].air
        if here.low_c - AIR_GIVE_C <= now_c <= here.high_c + AIR_GIVE_C:
            return step.air_row
    spans = enumerate(row.air for row in rows)
    return next((n for n, air in spans if air.low_c <= now_c <= air.high_c), None)


def still_safe(session: Session, seen: Snapshot) -> tuple[Confirmation, ...]:
    """Return what stays confirmed: a name given before the car stirred counts no more.

    Whoever sits at the brake is told anew when the selector has left its place or was
    not in it; so is who saw to the drive, once its engine has turned by itself.
    """
    gone = set()
    if any(r in SELECTOR for r in seen.reasons):
        gone.add(Confirmation.BRAKE_HELD)
    if Reason.ENGINE_RUNNING in seen.reasons:
        gone.add(Confirmation.DRIVE_SAFE)
    return tuple(c for c in session.step.confirmed if c not in gone)
