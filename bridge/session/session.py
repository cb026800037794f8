"""The session: events in, snapshots out, nothing else.

`apply` returns a new session for each event, `snapshot_at` what there is to show at a
moment, `advance` moves the level step on as well. All are functions of their arguments
alone, so a replayed trace and a live car run the same code and give the same snapshots.
"""

from __future__ import annotations

import math

from bridge.level import sensor_check, sensor_seen
from bridge.level.gate import Facts, ReadingState, judge, verdict
from bridge.level.step import machine
from bridge.level.step.marks import mark, without_go
from bridge.level.step.time_left import too_late
from bridge.level.thermometer import Thermometer
from bridge.level.tilt import can_be, tilt_of
from bridge.protocol.trouble_codes import fluid_sensor_codes
from bridge.session import pace, thermometer_status
from bridge.session.session_facts import (
    REFUSING,
    air_c,
    air_row,
    denied,
    engine_for_s,
    engine_since_s,
    foreseen,
    fresh,
    passed,
    reading_state,
    selector,
    short_of_edge,
    stay_chance,
    still_safe,
    surround,
    tells_stay,
    wait_left_s,
)
from bridge.session.session_state import Session, with_step
from bridge.snapshot import Snapshot
from bridge.thermal import estimator as est
from bridge.thermal.lesson import recall
from bridge.thermal.surroundings import disturb
from bridge.values.carried import Carried
from bridge.values.events import (
    ClockJump,
    Dropout,
    Event,
    LinkChange,
    Mark,
    Marked,
    Measured,
    PersonEvent,
    Tilted,
)
from bridge.values.frozen import replace
from bridge.values.readings import (
    Fault,
    LinkState,
    Reading,
    TroubleCodes,
    VehicleNumber,
)
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.sheet import Confirmation, Role

OBSERVE_SPACING_S = 0.19
"""Readings closer than this tell the estimator nothing new: they are not fed."""


def apply(session: Session, event: Event) -> Session:
    """Return the session after one event."""
    match event:
        case Reading():
            return _apply_reading(session, event)
        case Fault():
            return _apply_fault(session, event)
        case LinkChange():
            return replace(
                session,
                link=event.state,
                link_detail=event.detail,
                link_cause=event.cause,
                untold=frozenset(event.untold),
            )
        case Dropout():
            return replace(
                session, track=est.observe(session.track, t_s=event.t_s, temp_c=None)
            )
        case ClockJump():
            return replace(session, distrust_until_s=event.t_s)
        case Marked() | Tilted() | Measured() | ServiceEvent():
            return _apply_person(session, event)
        case TroubleCodes() | VehicleNumber():
            return _apply_once(session, event)


def _apply_once(session: Session, event: TroubleCodes | VehicleNumber) -> Session:
    """Take what the car is asked for once."""
    if isinstance(event, TroubleCodes):
        return replace(session, codes=event)
    track = recall(session.track, session.lessons, event.text)
    session = replace(session, vin=event, track=track)
    return _of_another_car(session, event)


def _of_another_car(session: Session, event: VehicleNumber) -> Session:
    """Take back what was confirmed on another car than the one that answers now."""
    if not session.carried.is_other_car(event.text):
        return session
    step, carried = session.step, session.carried
    stale = tuple(c for c in step.confirmed if c in carried.given_utc_s)
    kept = tuple(c for c in step.confirmed if c not in stale)
    return replace(
        session,
        step=replace(without_go(step), confirmed=kept, past=()),
        carried=Carried(vin=carried.vin, other_car=True),
    )


def _apply_measured(session: Session, typed: Measured) -> Session:
    """Take a typed reading as the fluid's, or compare it with the car's own."""
    known = session.thermometer
    if known is None or known.accuracy_c != typed.accuracy_c:
        alone = known is not None and known.alone
        known = Thermometer(accuracy_c=typed.accuracy_c, alone=alone)
        session = replace(session, thermometer=known)
    if not (math.isfinite(typed.temp_c) and math.isfinite(typed.t_s)):
        return session
    if known.alone:
        reading = Reading(
            role=Role.FLUID_TEMPERATURE, value=typed.temp_c, t_s=typed.t_s
        )
        return _apply_reading(session, reading)
    compared = thermometer_status.held_against(session, typed)
    agrees = compared is not session.compared and compared and compared.agrees
    history = session.history
    if agrees:
        history = sensor_seen.borne_out(history, typed.t_s)
    return replace(session, compared=compared, history=history)


def _apply_person(session: Session, event: PersonEvent) -> Session:
    """Take what the person tells; angles that cannot be change nothing."""
    if isinstance(event, ServiceEvent):
        session = replace(session, told=(*session.told, event))
        if event.kind is not ServiceKind.IN:
            return session
        history = sensor_seen.poured(session.history, event.t_s)
        return replace(session, history=history)
    if isinstance(event, Measured):
        return _apply_measured(session, event)
    if isinstance(event, Marked):
        return _apply_mark(session, event)
    return _apply_tilt(session, event) if can_be(event) else session


def _apply_tilt(session: Session, event: Tilted) -> Session:
    """Keep the angles; with a limit on the sheet they settle whether it is level."""
    session = replace(session, tilted=event)
    tilt = tilt_of(session.sheet, event)
    if tilt is None or tilt.inside_limit is None:
        return session
    word = Marked(
        mark=Mark.CONFIRMED if tilt.inside_limit else Mark.WITHDRAWN,
        confirms=Confirmation.CAR_LEVEL,
        t_s=event.t_s,
    )
    return _apply_mark(session, word)


def _apply_mark(session: Session, made: Marked) -> Session:
    """Hand a mark to the step; one that makes no sense changes nothing."""
    if made.confirms is Confirmation.SENSOR:
        word_s = made.t_s if made.mark is Mark.CONFIRMED else None
        return replace(session, history=sensor_seen.vouched(session.history, word_s))
    try:
        step = mark(
            session.step,
            session.plan,
            made.mark,
            made.t_s,
            ml=made.ml,
            confirms=made.confirms,
            mm=made.mm,
            band=made.band,
            temp_c=made.temp_c,
            who=made.who,
        )
    except ValueError:
        return session
    session = replace(
        session,
        words_s=thermometer_status.words_after(session.words_s, made),
        carried=session.carried.without(made.confirms),
    )
    if made.mark is Mark.ADDED:
        history = sensor_seen.poured(session.history, made.t_s)
        session = replace(session, history=history)
    if made.mark is Mark.OPENED and step is not session.step:
        track = est.announce(
            session.track, t_s=made.t_s, event=est.ThermalEvent.PLUG_OPENED
        )
        return replace(session, step=step, track=track)
    return with_step(session, step)


def _apply_reading(session: Session, reading: Reading) -> Session:
    if not math.isfinite(reading.value) or not math.isfinite(reading.t_s):
        return session
    faults = {r: f for r, f in session.faults.items() if r is not reading.role}
    session = replace(session, faults=faults)
    if reading.role is Role.FLUID_TEMPERATURE:
        return _apply_fluid(session, reading)
    session = replace(
        _announce(session, reading),
        history=sensor_seen.observe(session.history, reading),
    )
    readings = {**session.readings, reading.role: reading}
    return replace(session, readings=readings, track=surround(session.track, reading))


def _apply_fluid(session: Session, reading: Reading) -> Session:
    last = session.track.t_s
    if last is not None and 0 <= reading.t_s - last < OBSERVE_SPACING_S:
        if not session.believed:
            return session
        return _keep_if_same(session, reading)
    track = est.observe(session.track, t_s=reading.t_s, temp_c=reading.value)
    history = sensor_seen.follow(session.history, session.track, track, reading.t_s)
    if not track.accepted:
        return replace(session, track=track, believed=False, history=history)
    readings = {**session.readings, reading.role: reading}
    history = sensor_seen.observe(history, reading)
    known = replace(session, track=track, readings=readings, history=history)
    return replace(known, believed=True)


def _keep_if_same(session: Session, reading: Reading) -> Session:
    """Let a reading too soon for the estimator refresh the age of an equal one."""
    known = session.readings.get(reading.role)
    if known is None or known.value != reading.value:
        return session
    return replace(session, readings={**session.readings, reading.role: reading})


def _announce(session: Session, reading: Reading) -> Session:
    """Tell the estimator when the engine starts or stops, or the selector is moved."""
    if reading.role is Role.SELECTOR:
        at = session.readings.get(Role.SELECTOR)
        moved = at is not None and at.value != reading.value
        return replace(session, track=disturb(session.track)) if moved else session
    before = session.readings.get(Role.ENGINE_SPEED)
    if reading.role is not Role.ENGINE_SPEED or before is None:
        return session
    was, now = before.value >= 1.0, reading.value >= 1.0
    if was == now:
        return session
    event = est.ThermalEvent.ENGINE_STARTED if now else est.ThermalEvent.ENGINE_STOPPED
    return replace(
        session, track=est.announce(session.track, t_s=reading.t_s, event=event)
    )


def _apply_fault(session: Session, fault: Fault) -> Session:
    if fault.role is None:
        return session
    if denied(session, fault.role) and fault.kind not in REFUSING:
        return session  # a failed request does not take a denial back, a reading does
    return replace(session, faults={**session.faults, fault.role: fault})


def snapshot_at(session: Session, *, now_s: float, t0_s: float = 0.0) -> Snapshot:
    """Return what can be said at ``now_s``; ``t0_s`` is the time that counts as 0."""
    state = reading_state(session, now_s)
    fluid = session.readings.get(Role.FLUID_TEMPERATURE)
    live = state is ReadingState.LIVE and session.link is LinkState.LIVE
    was = session.trend
    now = est.estimate(session.track, now_s=now_s, before=was) if live else None
    aims = live and not session.lead.wants_air
    ahead = thermometer_status.expect(session, now_s) if aims else None
    stay = stay_chance(session, now, ahead, now_s)
    tilt = tilt_of(session.sheet, session.tilted)
    raw_c = fluid.value if fluid else None
    doubts = sensor_check.doubts(session.history, session.track)
    shown = foreseen(now, ahead, session.lead.stay_chance)
    facts = Facts(
        link=session.link,
        reading=state,
        raw_c=thermometer_status.gate_raw_c(session, raw_c, now),
        temp_c=now.temp_c if now else None,
        inside_chance=thermometer_status.gate_inside(session, now, ahead, now_s),
        waiting=not session.track.knows_at(now_s)
        or sensor_check.unproven(session.history, session.track),
        stay_chance=stay,
        telling=tells_stay(ahead, stay),
        too_late=not session.step.plug_open and too_late(shown, session.plan),
        engine_rpm=fresh(session, Role.ENGINE_SPEED, now_s),
        speed_kmh=fresh(session, Role.VEHICLE_SPEED, now_s),
        engine_told=thermometer_status.word(session, Confirmation.ENGINE, now_s),
        standing_told=thermometer_status.word(session, Confirmation.STANDING, now_s),
        doubts=thermometer_status.reasons(session, doubts),
        sensor_code=bool(fluid_sensor_codes(session.codes)),
        voltage_v=fresh(session, Role.MODULE_VOLTAGE, now_s),
        selector=selector(session, now_s),
        confirmed=session.step.confirmed,
        tilt=tilt,
        air_c=air_c(session, now_s),
        engine_for_s=engine_for_s(session, now_s),
    )
    conditions = judge(facts, session.lead)
    answer, reasons = verdict(conditions)
    return replace(
        shown,
        t_s=now_s - t0_s,
        lead=session.lead,
        wait_left_s=wait_left_s(session, now_s),
        link=session.link,
        link_detail=session.link_detail,
        link_cause=session.link_cause,
        untold=tuple(sorted(session.untold)),
        raw_c=raw_c,
        age_s=max(0.0, now_s - fluid.t_s) if fluid else None,
        verdict=answer,
        reasons=reasons,
        conditions=conditions,
        stay_chance=stay,
        passed=passed(session, now, ahead, now_s),
        engine_rpm=facts.engine_rpm,
        speed_kmh=facts.speed_kmh,
        coolant_c=fresh(session, Role.COOLANT_TEMPERATURE, now_s),
        ambient_c=fresh(session, Role.AMBIENT_TEMPERATURE, now_s),
        voltage_v=facts.voltage_v,
        selector=facts.selector,
        selector_wanted=session.sheet.selector_position,
        step=session.step,
        carried=session.carried,
        told=session.told,
        log=session.log,
        tilt=tilt,
        faults=tuple(session.faults.items()),
        codes=session.codes,
        vin=session.vin,
        doubts=doubts,
        unmoved_s=sensor_check.unmoved_s(session.history, session.track),
        thermometer_status=thermometer_status.standing(session, now, ahead, now_s),
    )


def advance(
    session: Session, *, now_s: float, t0_s: float = 0.0
) -> tuple[Session, Snapshot]:
    """Return the session with its level step moved on to now, and the snapshot."""
    step = thermometer_status.forget_old_words(session, now_s)
    session = with_step(session, replace(step, air_row=air_row(session, now_s)))
    seen = snapshot_at(session, now_s=now_s, t0_s=t0_s)
    session, seen = _count_down(session, seen, now_s)
    step = replace(session.step, confirmed=still_safe(session, seen))
    step = machine.advance(step, session.plan, seen, now_s)
    session = replace(session, engine_since_s=engine_since_s(session, seen, now_s))
    session = with_step(session, step)
    return session, replace(seen, step=step, log=session.log)


def _count_down(
    session: Session, seen: Snapshot, now_s: float
) -> tuple[Session, Snapshot]:
    """Let the figures of the countdowns, and the trend, move smoothly."""
    opens = pace.paced(session.opens_pace, seen.opens, now_s=now_s, cautious=False)
    shuts = pace.paced(session.shuts_pace, seen.shuts, now_s=now_s, cautious=True)
    return (
        replace(
            session,
            opens_pace=opens,
            shuts_pace=shuts,
            trend=seen.trend,
            short_of_edge_s=short_of_edge(session, seen.temp_c, now_s),
        ),
        replace(
            seen,
            opens=pace.shown(opens, seen.opens),
            shuts=pace.shown(shuts, seen.shuts),
        ),
    )
