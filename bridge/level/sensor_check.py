"""Whether the fluid's sensor is to be believed: what a cold soak and a warm-up show.

Pure. After a night's rest fluid, coolant and air are one temperature; while the engine
warms up the coolant runs ahead. What does not fit raises a doubt, and a doubt is a
reason. Limits: common practice, no source; wide enough for honest sensors (an air
sensor that still feels the engine, a fluid sensor good to 3 degC).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from bridge.values.conditions import Reason
from bridge.values.readings import Reading
from bridge.values.sheet import Role

SOAKED_C = 4.0
"""Coolant and air this close together: the car has had its rest."""
OFFSET_C = 8.0
FRESH_RUN_S = 90.0
"""An engine that has run no longer has not warmed anything yet."""
TOGETHER_S = 60.0
"""First readings further apart than this are not compared."""
BELOW_AIR_C = 10.0
FOLLOWS_C = 2.5
MOVED_C = 15.0
"""The coolant must have moved so far before following it means anything."""
STUCK_MOVED_C = 25.0
STUCK_S = 480.0
STUCK_SPAN_C = 0.6
STUCK_BELOW_C = 60.0
"""Warmer fluid may rest for a while: a cooler's thermostat holds it."""
TURNS_RPM = 300.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """One doubt about the sensor, and what it rests on."""

    reason: Reason
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """The first and the latest of one value, and how far it has been."""

    first: float
    first_s: float
    last: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Belief:
    """What has been seen of the car since it was first heard."""

    fluid: Seen | None = None
    coolant: Seen | None = None
    ambient: Seen | None = None
    first_rpm: float | None = None
    first_run_s: float | None = None
    idling_s: float | None = None
    """Since when the engine has been turning; None: it stands."""
    apart_c: float = 0.0
    """Furthest the fluid has been from the coolant at one moment."""
    now_s: float = 0.0


NOTHING_SEEN = Belief()


def observe(belief: Belief, reading: Reading) -> Belief:
    """Take one believed reading into account; others than the known change nothing."""
    value, t_s = reading.value, reading.t_s
    match reading.role:
        case Role.FLUID_TEMPERATURE:
            return _fluid(belief, value, t_s)
        case Role.COOLANT_TEMPERATURE:
            return replace(belief, coolant=_seen(belief.coolant, value, t_s), now_s=t_s)
        case Role.AMBIENT_TEMPERATURE:
            return replace(belief, ambient=_seen(belief.ambient, value, t_s), now_s=t_s)
        case Role.ENGINE_SPEED:
            return _engine(belief, value, t_s)
        case Role.ENGINE_RUN_TIME if belief.first_run_s is None:
            return replace(belief, first_run_s=value)
        case _:
            return belief


def _seen(before: Seen | None, value: float, t_s: float) -> Seen:
    if before is None:
        return Seen(first=value, first_s=t_s, last=value, low=value, high=value)
    return replace(
        before, last=value, low=min(before.low, value), high=max(before.high, value)
    )


def _fluid(belief: Belief, value: float, t_s: float) -> Belief:
    apart_c = belief.apart_c
    if belief.coolant is not None:
        apart_c = max(apart_c, abs(value - belief.coolant.last))
    fluid = _seen(belief.fluid, value, t_s)
    return replace(belief, fluid=fluid, apart_c=apart_c, now_s=t_s)


def _engine(belief: Belief, rpm: float, t_s: float) -> Belief:
    first = rpm if belief.first_rpm is None else belief.first_rpm
    since = None
    if rpm >= TURNS_RPM:
        since = t_s if belief.idling_s is None else belief.idling_s
    return replace(belief, first_rpm=first, idling_s=since)


def doubts(belief: Belief) -> tuple[Doubt, ...]:
    """Return every doubt about the fluid's sensor, with its figures."""
    fluid = belief.fluid
    if fluid is None or not math.isfinite(fluid.last):
        return ()
    looks = (_offset(belief), _below_air(belief), _follows(belief), _stuck(belief))
    return tuple(doubt for doubt in looks if doubt is not None)


def soak_c(belief: Belief) -> float | None:
    """Return what coolant and air had both cooled to; None: no cold soak."""
    fluid, coolant, ambient = belief.fluid, belief.coolant, belief.ambient
    if fluid is None or coolant is None or ambient is None:
        return None
    late = max(abs(s.first_s - fluid.first_s) for s in (coolant, ambient)) > TOGETHER_S
    if late or abs(coolant.first - ambient.first) > SOAKED_C:
        return None
    stood = belief.first_rpm is not None and belief.first_rpm < TURNS_RPM
    fresh = belief.first_run_s is not None and belief.first_run_s <= FRESH_RUN_S
    return 0.5 * (coolant.first + ambient.first) if stood or fresh else None


def _offset(belief: Belief) -> Doubt | None:
    soaked_c, fluid = soak_c(belief), belief.fluid
    if soaked_c is None or fluid is None or abs(fluid.first - soaked_c) <= OFFSET_C:
        return None
    return Doubt(
        reason=Reason.SENSOR_OFFSET,
        words=(
            f"after a cold soak coolant and air were at {soaked_c:.0f} °C, the "
            f"fluid read {fluid.first:.0f} °C"
        ),
    )


def _below_air(belief: Belief) -> Doubt | None:
    fluid, coolant, ambient = belief.fluid, belief.coolant, belief.ambient
    if fluid is None or coolant is None or ambient is None:
        return None
    coldest_c = min(coolant.last, ambient.last)
    if fluid.last >= coldest_c - BELOW_AIR_C:
        return None
    return Doubt(
        reason=Reason.SENSOR_BELOW_AIR,
        words=f"it reads {fluid.last:.0f} °C, all else at least {coldest_c:.0f} °C",
    )


def _follows(belief: Belief) -> Doubt | None:
    fluid, coolant = belief.fluid, belief.coolant
    if fluid is None or coolant is None or belief.apart_c > FOLLOWS_C:
        return None
    moved_c = min(coolant.high - coolant.low, fluid.high - fluid.low)
    if moved_c < MOVED_C:
        return None
    return Doubt(
        reason=Reason.SENSOR_IS_COOLANT,
        words=(
            f"over {moved_c:.0f} °C it was never more than {belief.apart_c:.1f} °C "
            "from the coolant"
        ),
    )


def _stuck(belief: Belief) -> Doubt | None:
    fluid, coolant = belief.fluid, belief.coolant
    if fluid is None or coolant is None or belief.idling_s is None:
        return None
    ran_s = belief.now_s - belief.idling_s
    warmed_c = coolant.last - coolant.first
    moved = fluid.high - fluid.low > STUCK_SPAN_C or fluid.last > STUCK_BELOW_C
    if moved or ran_s < STUCK_S or warmed_c < STUCK_MOVED_C:
        return None
    return Doubt(
        reason=Reason.SENSOR_STUCK,
        words=(
            f"it has read {fluid.last:.0f} °C for {ran_s / 60:.0f} min of idling while "
            f"the coolant went up by {warmed_c:.0f} °C"
        ),
    )
