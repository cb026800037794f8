"""Whether the fluid's sensor is to be believed: what a cold soak and a warm-up show.

Pure. After a night's rest fluid, coolant and air are one temperature; while the engine
warms up the coolant runs ahead; fluid neither jumps nor stops dead. What does not fit
raises a doubt, and a doubt is a reason (docs/sensor-check.md). Limits: common practice,
no source, unless they say otherwise; wide enough for honest sensors (an air sensor that
still feels the engine, a fluid sensor good to 3 degC).
"""

from __future__ import annotations

import math

from bridge.level.sensor_seen import TURNS_RPM, Jump, SensorHistory, SensorSeen
from bridge.thermal.estimator import Track
from bridge.values.conditions import Reason, SensorDoubt

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
WARMER_C = 15.0
"""After a rest the fluid is no more above the coolant than this."""
DRIVES_C = 15.0
"""Air this far from the fluid moves it while the engine stands."""
UNMOVED_S = 300.0
"""Fluid that something drives moves two codes in this time."""
SLOWEST_S = 7200.0
"""No gearbox cools with a longer time constant while the engine stands."""
AWAY_S = 10.0
"""A flicker does not last so long."""
FINE_C = 0.25
"""Steps finer than this never stand for minutes (converter noise alone moves them)."""
FINE_S = 180.0
AGREED_S = 150.0
"""So long a thermometer that agrees answers for a value that does not move."""
MOVING_S, MOVING_C = 120.0, 1.5
"""After a jump the value must have moved so far over so long, as fluid does."""
POURED_S = 900.0
"""What was poured in explains a drop for so long."""


def doubts(
    history: SensorHistory, track: Track | None = None
) -> tuple[SensorDoubt, ...]:
    """Return every doubt about the fluid's sensor, with its figures.

    ``track``: what the estimator knows; without it nothing is said of a value that
    stops.
    """
    fluid = history.fluid
    if fluid is None or not math.isfinite(fluid.last):
        return ()
    looks = (
        _jump(history, track),
        _offset(history),
        _below_air(history),
        _follows(history),
        _stuck(history, track) or _stopped(history, track),
    )
    return tuple(doubt for doubt in looks if doubt is not None)


def unproven(history: SensorHistory, track: Track) -> bool:
    """Return whether the value must be seen moving before it may decide anything.

    It stays where fluid would rather have moved on; or something drives the fluid (the
    engine that idles, the air while it stands) and it was never seen to move, or never
    apart from the coolant.
    """
    fluid = history.fluid
    if fluid is None or track.sensor.sd_c > 0.0 or _agreed(history):
        return False
    if track.still.doubted or _stands_in_the_cold(history, track):
        return True
    cool = fluid.last <= STUCK_BELOW_C and _driven(history, fluid)
    alike = history.idling_s is not None and history.apart_c <= FOLLOWS_C
    return _unmoved(history, track) or (cool and alike)


def _unmoved(history: SensorHistory, track: Track | None) -> bool:
    """Whether it never left its first code and the one beside it, though driven.

    Since the engine started: what it did before says nothing of a unit that was off.
    """
    fluid = history.lately
    if fluid is None or track is None or track.sensor.sd_c > 0.0 or _agreed(history):
        return False
    moved = fluid.high - fluid.low > 1.01 * track.code_c or _elsewhere(fluid, track)
    return not moved and fluid.last <= STUCK_BELOW_C and _driven(history, fluid)


def _stands_in_the_cold(history: SensorHistory, track: Track) -> bool:
    """Whether the engine stands, the air is far off, and the value does not move.

    Fluid goes towards the air then; what the trend before let expect is no excuse.
    """
    fluid, ambient = history.fluid, history.ambient
    if fluid is None or ambient is None or history.idling_s is not None:
        return False
    apart_c, lasted_s = abs(ambient.last - fluid.last), unmoved_s(history, track)
    if apart_c < DRIVES_C or lasted_s is None:
        return False
    return lasted_s >= max(UNMOVED_S, 2.0 * track.code_c * SLOWEST_S / apart_c)


def _elsewhere(fluid: SensorSeen, track: Track) -> bool:
    """Whether the value has left its first code and stays away: that is no flicker."""
    if track.t_s is None or fluid.last == fluid.first:
        return False
    return track.t_s - track.still.value_since_s >= AWAY_S


def _driven(history: SensorHistory, fluid: SensorSeen) -> bool:
    """Whether fluid at rest would be a wonder: by what is read beside it."""
    if history.idling_s is not None:
        return history.coolant is not None
    ambient = history.ambient
    return ambient is not None and abs(ambient.last - fluid.last) >= DRIVES_C


def _agreed(history: SensorHistory) -> bool:
    return history.agreed_s is not None and history.now_s - history.agreed_s <= AGREED_S


def unmoved_s(history: SensorHistory, track: Track) -> float | None:
    """Return for how long the value has not moved by more than a code; None: it has."""
    still = track.still
    if still.bank is None or track.t_s is None or history.fluid is None:
        return None
    lasted_s = track.t_s - still.since_s
    return lasted_s if lasted_s >= FINE_S else None


def _jump(history: SensorHistory, track: Track | None) -> SensorDoubt | None:
    jump = history.jump
    if jump is None or _explained(history, jump, track):
        return None
    return SensorDoubt(
        reason=Reason.SENSOR_JUMPED,
        words=f"it went from {jump.from_c:.0f} to {jump.to_c:.0f} °C at once",
    )


def _explained(history: SensorHistory, jump: Jump, track: Track | None) -> bool:
    """Whether the person said why, and the value has moved as fluid does since."""
    word = history.word_s is not None and history.word_s >= jump.at_s
    pour_s = history.poured_s
    cold = pour_s is not None and pour_s >= jump.at_s - POURED_S
    if not (word or (cold and jump.to_c < jump.from_c)):
        return False
    stopped = track is not None and track.still.stopped
    lasted = history.now_s - jump.at_s >= MOVING_S
    return lasted and jump.high_c - jump.low_c >= MOVING_C and not stopped


def _stopped(history: SensorHistory, track: Track | None) -> SensorDoubt | None:
    if track is None or track.t_s is None or _agreed(history):
        return None
    still, lasted_s = track.still, track.t_s - track.still.since_s
    fine = still.same and track.code_c <= FINE_C and lasted_s >= FINE_S
    if still.bank is None or not (still.stopped or fine):
        return None
    return SensorDoubt(
        reason=Reason.SENSOR_STOPPED,
        words=f"it has stood at {still.value_c:g} °C for {lasted_s:.0f} s",
    )


def soak_c(history: SensorHistory) -> float | None:
    """Return what coolant and air had both cooled to; None: no cold soak.

    None as well once fluid was poured in: it need not have stood in the same place.
    """
    fluid, coolant, ambient = history.fluid, history.coolant, history.ambient
    if history.poured_s is not None:
        return None
    if fluid is None or coolant is None or ambient is None:
        return None
    late = max(abs(s.first_s - fluid.first_s) for s in (coolant, ambient)) > TOGETHER_S
    if late or abs(coolant.first - ambient.first) > SOAKED_C:
        return None
    return 0.5 * (coolant.first + ambient.first) if _rested(history) else None


def _rested(history: SensorHistory) -> bool:
    """Whether the engine had not warmed anything when it was first heard of."""
    stood = history.first_rpm is not None and history.first_rpm < TURNS_RPM
    fresh = history.first_run_s is not None and history.first_run_s <= FRESH_RUN_S
    return stood or fresh


def _offset(history: SensorHistory) -> SensorDoubt | None:
    """The first reading after a rest, until the person or a thermometer answers."""
    fluid = history.fluid
    if fluid is None or history.agreed_s is not None:
        return None
    if history.word_s is not None and fluid.high - fluid.low >= MOVING_C:
        return None
    soaked_c = soak_c(history)
    if soaked_c is None or abs(fluid.first - soaked_c) <= OFFSET_C:
        return _warmer(history, fluid)
    return SensorDoubt(
        reason=Reason.SENSOR_OFFSET,
        words=(
            f"after a cold soak coolant and air were at {soaked_c:.0f} °C, the "
            f"fluid read {fluid.first:.0f} °C"
        ),
    )


def _warmer(history: SensorHistory, fluid: SensorSeen) -> SensorDoubt | None:
    """Fluid far above the coolant at a start after a rest: nothing warmed it."""
    coolant = history.coolant
    if coolant is None or history.poured_s is not None or not _rested(history):
        return None
    late = abs(coolant.first_s - fluid.first_s) > TOGETHER_S
    if late or fluid.first - coolant.first <= WARMER_C:
        return None
    return SensorDoubt(
        reason=Reason.SENSOR_OFFSET,
        words=(
            f"at the start the coolant was at {coolant.first:.0f} °C, the fluid read "
            f"{fluid.first:.0f} °C"
        ),
    )


def _below_air(history: SensorHistory) -> SensorDoubt | None:
    fluid, coolant, ambient = history.fluid, history.coolant, history.ambient
    if fluid is None or coolant is None or ambient is None:
        return None
    coldest_c = min(coolant.last, ambient.last)
    poured_s = history.poured_s
    fresh = poured_s is not None and history.now_s - poured_s <= POURED_S
    if fresh or fluid.last >= coldest_c - BELOW_AIR_C:
        return None
    return SensorDoubt(
        reason=Reason.SENSOR_BELOW_AIR,
        words=f"it reads {fluid.last:.0f} °C, all else at least {coldest_c:.0f} °C",
    )


def _follows(history: SensorHistory) -> SensorDoubt | None:
    fluid, coolant = history.fluid, history.coolant
    if fluid is None or coolant is None or history.apart_c > FOLLOWS_C:
        return None
    moved_c = min(coolant.high - coolant.low, fluid.high - fluid.low)
    if moved_c < MOVED_C:
        return None
    return SensorDoubt(
        reason=Reason.SENSOR_IS_COOLANT,
        words=(
            f"over {moved_c:.0f} °C it was never more than {history.apart_c:.1f} °C "
            "from the coolant"
        ),
    )


def _stuck(history: SensorHistory, track: Track | None) -> SensorDoubt | None:
    """Never moved since it was first read, though something drove it."""
    fluid, coolant = history.fluid, history.coolant
    if fluid is None:
        return None
    if _unmoved(history, track):
        began = history.lately or fluid
        stood_s = history.now_s - began.first_s
        if stood_s >= UNMOVED_S:
            return SensorDoubt(
                reason=Reason.SENSOR_STUCK,
                words=(
                    f"it has read {fluid.last:.0f} °C for {stood_s / 60:.0f} min, "
                    "since the engine started or it was first read"
                ),
            )
    if coolant is None or history.idling_s is None:
        return None
    ran_s = history.now_s - history.idling_s
    warmed_c = coolant.last - coolant.first
    moved = fluid.high - fluid.low > STUCK_SPAN_C or fluid.last > STUCK_BELOW_C
    if moved or ran_s < STUCK_S or warmed_c < STUCK_MOVED_C:
        return None
    return SensorDoubt(
        reason=Reason.SENSOR_STUCK,
        words=(
            f"it has read {fluid.last:.0f} °C for {ran_s / 60:.0f} min of idling while "
            f"the coolant went up by {warmed_c:.0f} °C"
        ),
    )
