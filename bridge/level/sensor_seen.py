"""What has been seen that bears on whether to trust the fluid's sensor. Pure.

The first and the last of each value, whether the fluid's jumped, and what the person
told of it. What follows from that is sensor_check's business.
"""

from __future__ import annotations

from bridge.thermal.estimator import Track
from bridge.values.frozen import frozen, replace
from bridge.values.readings import Reading
from bridge.values.sheet import Role

TURNS_RPM = 300.0
REST_S = 4 * 3600.0
"""After a silence this long (overnight) everything is judged afresh."""
SURE_C_PER_S = 0.06
"""Unread fluid does not change faster than this by itself, plus..."""
ASIDE_C = 4.0
"""...this many degrees for what happens at the sensor in the first moments."""
SILENCE_S = 5.0
BESIDE_S = 10.0
"""An older coolant says nothing of how far the fluid is from it now."""
FITS_AND_STARTS = 4
"""This many rejected readings within..."""
FITS_S = 60.0
"""...a minute are a jump, even if the old value comes back between them."""


@frozen
class SensorSeen:
    """The first and latest value of one role, and its lowest and highest."""

    first: float
    first_s: float
    last: float
    last_s: float
    low: float
    high: float


@frozen
class Jump:
    """A step no fluid makes by itself, and where the value has been since."""

    at_s: float
    from_c: float
    to_c: float
    low_c: float
    high_c: float


@frozen
class SensorHistory:
    """What has been seen of the car since it was first heard."""

    fluid: SensorSeen | None = None
    lately: SensorSeen | None = None
    """The fluid since the engine last started, or since it was first heard."""
    coolant: SensorSeen | None = None
    ambient: SensorSeen | None = None
    first_rpm: float | None = None
    first_run_s: float | None = None
    idling_s: float | None = None
    """Since when the engine has been turning; None: it stands."""
    apart_c: float = 0.0
    """Furthest the fluid has been from the coolant at one moment."""
    now_s: float = 0.0
    jump: Jump | None = None
    """The last one, until a thermometer or the person has explained it."""
    odd_s: tuple[float, ...] = ()
    """When the last rejected readings came."""
    word_s: float | None = None
    """When the person last said that they know why the value is what it is."""
    poured_s: float | None = None
    """When fluid was last poured in, as the person told."""
    agreed_s: float | None = None
    """When a thermometer last agreed."""


NOTHING_SEEN = SensorHistory()


def observe(history: SensorHistory, reading: Reading) -> SensorHistory:
    """Take one accepted reading into account; other roles change nothing."""
    value, t_s = reading.value, reading.t_s
    if history.now_s and t_s - history.now_s > REST_S:
        history = replace(NOTHING_SEEN, jump=history.jump)
    match reading.role:
        case Role.FLUID_TEMPERATURE:
            return _fluid(history, value, t_s)
        case Role.COOLANT_TEMPERATURE:
            return replace(
                history, coolant=_seen(history.coolant, value, t_s), now_s=t_s
            )
        case Role.AMBIENT_TEMPERATURE:
            return replace(
                history, ambient=_seen(history.ambient, value, t_s), now_s=t_s
            )
        case Role.ENGINE_SPEED:
            return _engine(history, value, t_s)
        case Role.ENGINE_RUN_TIME if history.first_run_s is None:
            return replace(history, first_run_s=value)
        case _:
            return history


def _seen(before: SensorSeen | None, value: float, t_s: float) -> SensorSeen:
    if before is None:
        return SensorSeen(
            first=value, first_s=t_s, last=value, last_s=t_s, low=value, high=value
        )
    low, high = min(before.low, value), max(before.high, value)
    return replace(before, last=value, last_s=t_s, low=low, high=high)


def _fluid(history: SensorHistory, value: float, t_s: float) -> SensorHistory:
    apart_c = history.apart_c
    coolant = history.coolant
    if coolant is not None and t_s - coolant.last_s <= BESIDE_S:
        apart_c = max(apart_c, abs(value - coolant.last))
    fluid, jump = _seen(history.fluid, value, t_s), history.jump
    if jump is not None:
        low_c, high_c = min(jump.low_c, value), max(jump.high_c, value)
        jump = replace(jump, low_c=low_c, high_c=high_c)
    lately = _seen(history.lately, value, t_s)
    history = replace(history, fluid=fluid, lately=lately, jump=jump)
    return replace(history, apart_c=apart_c, now_s=t_s)


def _engine(history: SensorHistory, rpm: float, t_s: float) -> SensorHistory:
    first = rpm if history.first_rpm is None else history.first_rpm
    since = None
    if rpm >= TURNS_RPM:
        since = t_s if history.idling_s is None else history.idling_s
    started = since is not None and history.idling_s is None
    lately = None if started else history.lately
    return replace(history, first_rpm=first, idling_s=since, lately=lately)


def follow(
    history: SensorHistory, before: Track, after: Track, t_s: float
) -> SensorHistory:
    """Take in what the estimator made of a reading at ``t_s``: whether it jumped.

    ``before`` and ``after`` are the track without and with the reading.
    """
    if not after.accepted:
        return _odd(history, before, after, t_s)
    if before.t_s is None or not before.recent:
        return history
    from_c, to_c = before.recent[-1], after.recent[-1]
    gap_s = t_s - before.t_s
    broken = after.breaks != before.breaks
    if gap_s > SILENCE_S and before.sensor.sd_c == 0.0:
        broken = abs(to_c - from_c) > ASIDE_C + SURE_C_PER_S * gap_s
    return _jumped(history, t_s, from_c, to_c) if broken else history


def _odd(
    history: SensorHistory, before: Track, after: Track, t_s: float
) -> SensorHistory:
    """Count rejected readings; too many of them are a jump in themselves."""
    if after.odd == () or not before.recent:
        return history
    lately = tuple(t for t in history.odd_s if t_s - t <= FITS_S)
    history = replace(history, odd_s=(*lately, t_s)[-FITS_AND_STARTS:])
    if len(history.odd_s) < FITS_AND_STARTS:
        return history
    return _jumped(history, t_s, before.recent[-1], after.odd[-1])


def _jumped(
    history: SensorHistory, t_s: float, from_c: float, to_c: float
) -> SensorHistory:
    jump = Jump(at_s=t_s, from_c=from_c, to_c=to_c, low_c=to_c, high_c=to_c)
    return replace(history, jump=jump)


def vouched(history: SensorHistory, t_s: float | None) -> SensorHistory:
    """Take the person's word that they know why the value is what it is; None: back."""
    return replace(history, word_s=t_s)


def poured(history: SensorHistory, t_s: float) -> SensorHistory:
    """Take in that fluid was poured in: it may be colder than all else."""
    return replace(history, poured_s=t_s)


def borne_out(history: SensorHistory, t_s: float) -> SensorHistory:
    """Take in that a thermometer agrees with the sensor."""
    return replace(history, agreed_s=t_s, jump=None)
