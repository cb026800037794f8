"""What else the car tells of the fluid's heating: engine, speed, air. Pure."""

from __future__ import annotations

import math

from bridge.thermal import filter_bank, standstill
from bridge.thermal.estimator import (
    DRIVEN_WHILE_STANDING,
    ThermalEvent,
    Track,
    announce,
    bank_at,
)
from bridge.values.frozen import replace

RUNNING_RPM = 300.0
"""Above it the engine runs by itself: a starter turns it at about 200 rpm and it idles
above 500 (common practice, no source).
"""
IDLE_CHANGE = 0.1
"""A change of idle speed by this share makes the rate uncertain. Set by trial."""
LEAST_RATE_C_PER_S = 0.005
"""Counts as the rate where it is lower (0.3 degC a minute). Set by trial."""
FELT_AT_ONCE = 0.7
"""The share of a change of engine speed that may show in the rate, as a standard
deviation. Set by trial.
"""
STANDING_KMH = 1.0
"""Below it the car stands: SAE J1979 tells the speed in whole km/h."""


def disturb(track: Track) -> Track:
    """Take in that the heating may change now, and that a stop means nothing yet."""
    return replace(track, still=standstill.FRESH)


def surroundings(
    track: Track,
    *,
    t_s: float,
    ambient_c: float | None = None,
    coolant_c: float | None = None,
    engine_rpm: float | None = None,
    speed_kmh: float | None = None,
) -> Track:
    """Take in what else the car tells; None or NaN leaves the last value.

    Ambient says where the fluid may settle; an engine that starts, stops or idles at
    another speed heats it otherwise from then on; a car that says it stands is hardly
    heated as a driven one. The coolant is kept, not used: as a
    hint where fluid settles it made forecasts no better (docs/forecast.md).
    """
    if engine_rpm is not None and math.isfinite(engine_rpm):
        track = _engine_speed(track, t_s, running=engine_rpm > RUNNING_RPM)
        track = _idle_speed(track, t_s, engine_rpm)
    if speed_kmh is not None and math.isfinite(speed_kmh):
        track = _car_speed(track, standing=speed_kmh < STANDING_KMH)
    return replace(
        track,
        ambient_c=_latest(ambient_c, track.ambient_c),
        coolant_c=_latest(coolant_c, track.coolant_c),
    )


def _latest(new: float | None, old: float | None) -> float | None:
    return new if new is not None and math.isfinite(new) else old


def _car_speed(track: Track, *, standing: bool) -> Track:
    """Believe less, or again as much, in a driven car's heating."""
    if track.standing is standing:
        return track
    ratio = DRIVEN_WHILE_STANDING if standing else 1.0 / DRIVEN_WHILE_STANDING
    bank = None if track.bank is None else filter_bank.driven_by(track.bank, ratio)
    return replace(track, standing=standing, bank=bank)


def _engine_speed(track: Track, t_s: float, *, running: bool) -> Track:
    """The first speed only tells the state; a later change is an event."""
    if track.engine is None:
        return replace(track, engine=running)
    if track.engine is running:
        return track
    started = ThermalEvent.ENGINE_STARTED
    event = started if running else ThermalEvent.ENGINE_STOPPED
    return announce(track, t_s=t_s, event=event)


def _idle_speed(track: Track, t_s: float, rpm: float) -> Track:
    """Doubt the rate when the idle speed changes: friction follows it."""
    if rpm <= RUNNING_RPM:
        return replace(track, idle_rpm=None)
    if track.idle_rpm is None:
        return replace(track, idle_rpm=rpm)
    change = abs(rpm / track.idle_rpm - 1.0)
    if change < IDLE_CHANGE:
        return track
    bank = bank_at(track, now_s=max(t_s, track.bank_t_s))
    if bank is None:
        return replace(track, idle_rpm=rpm, still=standstill.FRESH)
    centre = filter_bank.centre_of(bank)
    rate = abs(float(centre[1] + centre[2])) + LEAST_RATE_C_PER_S
    doubt = FELT_AT_ONCE * min(change, 1.0) * rate
    return replace(
        track,
        idle_rpm=rpm,
        still=standstill.FRESH,
        bank=filter_bank.widen(bank, 0.0, doubt),
        bank_t_s=max(t_s, track.bank_t_s),
    )
