"""The fluid's present temperature and slope, from rounded readings as they come.

Feed a ``Track`` with readings, announced events and what else the car tells;
every call returns a new track and leaves the old one as it was. ``estimate``
and ``forecast.forecast`` read a track. It reads no clock and draws no random
numbers: the same calls give the same digits.

The tuning numbers have no published source: they were chosen by hand and tried on the
warm-ups of ``make show-forecast`` (docs/forecast.md). The unit is in the name or
beside the number.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from bridge.thermal import filter_bank, forecast_check, outliers, standstill
from bridge.thermal.bank_models import GRID, Grid
from bridge.thermal.filter_bank import FF, FS, SS, TT, Bank
from bridge.thermal.prior import Prior, weights_of
from bridge.values.frozen import frozen, replace
from bridge.values.outlook import Estimate, Trend, trend_of

LEARNING_S = 60.0
"""How long after a known change no number is shown."""
ABSORB_EVERY_S = 0.9
"""A code repeated sooner tells nothing new: control units often send one twice."""
REPEAT_SHARE = 0.05
"""A repeated code counts once the fluid may have moved this share of its width."""
PATIENT_S = 10.0
"""A repeated code counts after this time however slowly the fluid moves."""
KNOWING_S = 15.0
"""The bank carries no decision sooner after its start or an announced change,"""
KNOWING_READINGS, KNOWING_BY_HAND = 4, 2
"""nor on fewer readings by the car's sensor, or by a hand thermometer."""
OLD_NEWS_S = 10.0
"""After a silence this long the readings before it are no evidence against the next."""
UNLIKELY_FIT = 1e-7
"""A reading the bank gave a smaller chance (0..1) than this contradicts it."""
MOST_COASTS = 3
"""Contradicting readings in a row that are passed over; one more restarts the bank."""
LONGEST_GAP_S = 1800.0
"""After a gap this long the bank starts from nothing."""
FIRST_SPREAD_C = 0.5
"""Standard deviation added to a first reading for a sensor's unknown noise, degC."""
BACKWARD_TEMP_SD_C, BACKWARD_RATE_SD = 0.1, 0.002
"""Uncertainty added when a clock ran backwards: degC, and degC/s."""
ANNOUNCED_FAST_SD, ANNOUNCED_SLOW_SD = 0.08, 0.06
"""Standard deviation of both parts of the rate after an announced change, degC/s:
between those of an idling and of a driven car at the start (bank_models).
"""
JUMP_FROM, JUMP_OVER = 0.5, 0.2
"""Chance (0..1) of a jump of the heating from which, and below which, it is said."""
CODES_REMEMBERED = 4
"""So many of the last values count as known: flicker between two is no news."""
DRIVEN_WHILE_STANDING = 0.1
"""Factor on the weight of a driven car's heating once the car says that it stands. Not
0: fans, a fast warm-up idle and a heat exchanger change the heating too.
"""


NO_STEPS = outliers.Steps()


class Rounding(StrEnum):
    """How the control unit makes its code from the true value."""

    NEAREST = "nearest"
    DOWN = "down"


class ThermalEvent(StrEnum):
    """What a person or the car announces and the fluid will feel."""

    ENGINE_STARTED = "engine-started"
    ENGINE_STOPPED = "engine-stopped"
    SELECTOR_EXERCISE = "selector-exercise"
    PLUG_OPENED = "plug-opened"


@frozen
class Sensor:
    """What is known of the sensor before the first reading."""

    resolution_c: float = 0.0
    """Step between neighbouring codes; 0: learn it from the readings."""
    rounding: Rounding = Rounding.NEAREST
    sd_c: float = 0.0
    """Extra known noise, for hand thermometers."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Track:
    """All that is known so far; hand it to the functions here rather than read it."""

    sensor: Sensor
    grid: Grid
    prior: Prior | None = None
    t_s: float | None = None
    """Time of the last believed reading; None before the first."""
    accepted: bool = False
    """Whether the last given reading was believed."""
    learning_until_s: float = -math.inf
    readings: int = 0
    """Readings believed so far."""
    bank: Bank | None = None
    bank_t_s: float = 0.0
    absorbed: tuple[float, ...] = ()
    passed: tuple[float, float] | None = None
    """The last believed reading (s, degC) the bank was not told of, if any."""
    patience_s: float = ABSORB_EVERY_S
    recent: tuple[float, ...] = ()
    odd: tuple[float, ...] = ()
    steps: outliers.Steps = NO_STEPS
    coasts: int = 0
    jumping: bool = False
    hindsight: forecast_check.Hindsight = forecast_check.FRESH
    """How well the bank's own forecasts held."""
    begun_s: float = 0.0
    """When the bank last started from nothing but one reading."""
    fresh_readings: int = 0
    """Readings believed since then."""
    knowing_from_s: float = -math.inf
    """Before this the bank carries no decision."""
    breaks: int = 0
    """How often readings contradicted the bank until it gave in."""
    still: standstill.Standstill = standstill.FRESH
    engine: bool | None = None
    idle_rpm: float | None = None
    """Engine speed the bank has got used to; None while it stands."""
    ambient_c: float | None = None
    coolant_c: float | None = None
    standing: bool = False
    """Whether the car itself says that it stands."""

    @property
    def learning(self) -> bool:
        """Whether conditions changed less than about a minute before ``t_s``."""
        return self.t_s is not None and self.learning_at(self.t_s)

    def learning_at(self, now_s: float) -> bool:
        """Return the same for another moment."""
        return now_s < self.learning_until_s

    def knows_at(self, now_s: float) -> bool:
        """Return whether enough was read since the bank started for a decision."""
        by_hand = self.sensor.sd_c > 0.0
        least = KNOWING_BY_HAND if by_hand else KNOWING_READINGS
        return self.fresh_readings >= least and now_s >= self.knowing_from_s

    @property
    def code_c(self) -> float:
        """Step between neighbouring readings, degC, as far as it is known."""
        return self.sensor.resolution_c or self.steps.resolution_c()


def begin(sensor: Sensor, *, prior: Prior | None = None) -> Track:
    """Return a track that knows nothing but its sensor (and earlier jobs)."""
    return Track(sensor=sensor, grid=GRID, prior=prior)


def _interval(track: Track, steps: outliers.Steps, temp_c: float) -> tuple[float, ...]:
    """The true values that give this reading, sensor noise apart."""
    width = track.sensor.resolution_c or steps.resolution_c()
    if track.sensor.rounding is Rounding.DOWN:
        return temp_c, temp_c + width
    return temp_c - 0.5 * width, temp_c + 0.5 * width


def _first_bank(track: Track, low: float, high: float) -> Bank:
    var = (high - low) ** 2 / 12 + FIRST_SPREAD_C**2 + track.sensor.sd_c**2
    weight = weights_of(track.grid, track.prior)
    bank = filter_bank.start(track.grid, 0.5 * (low + high), var, weight)
    return (
        filter_bank.driven_by(bank, DRIVEN_WHILE_STANDING) if track.standing else bank
    )


def observe(track: Track, *, t_s: float, temp_c: float | None) -> Track:
    """Take in one reading (degC) made at ``t_s``; None or NaN is a dropout.

    Spikes and readings from the past are not believed; a reading from the past also
    makes the bank less sure. Takes any float and raises nothing.
    """
    if temp_c is None or not outliers.usable(temp_c) or not outliers.datable(t_s):
        return replace(track, accepted=False)
    if track.t_s is None:
        return _first(track, t_s, temp_c)
    if t_s < track.t_s:
        return _doubt(track)
    sd_c = track.sensor.sd_c
    if not outliers.is_spike(track.recent, temp_c, t_s - track.t_s, sd_c):
        return _watch(_take(replace(track, odd=()), t_s, temp_c), temp_c)
    odd = (*track.odd, temp_c)[-outliers.AGREEING :]
    if outliers.agree(odd, sd_c):
        broken = replace(track, recent=(), odd=(), breaks=track.breaks + 1)
        return _first(broken, t_s, temp_c)
    return replace(track, odd=odd, accepted=False)


def _watch(track: Track, temp_c: float) -> Track:
    """Watch for a value that stands still; a hand thermometer is read too seldom."""
    if track.bank is None or track.t_s is None or track.sensor.sd_c > 0.0:
        return track
    still = standstill.watch(track.still, track.bank, track.t_s, temp_c, track.code_c)
    return replace(track, still=still)


def _doubt(track: Track) -> Track:
    """Keep what is known but trust it less: the clock ran backwards."""
    if track.bank is None:
        return replace(track, accepted=False)
    bank = filter_bank.widen(track.bank, BACKWARD_TEMP_SD_C, BACKWARD_RATE_SD)
    return replace(track, bank=bank, accepted=False)


def _first(track: Track, t_s: float, temp_c: float) -> Track:
    """Start the bank at this reading."""
    steps = outliers.learn_steps(track.steps, temp_c)
    low, high = _interval(track, steps, temp_c)
    return replace(
        track,
        t_s=t_s,
        accepted=True,
        readings=track.readings + 1,
        bank=_first_bank(track, low, high),
        bank_t_s=t_s,
        begun_s=t_s,
        fresh_readings=1,
        knowing_from_s=t_s + KNOWING_S,
        still=standstill.FRESH,
        absorbed=(temp_c,),
        passed=None,
        patience_s=ABSORB_EVERY_S,
        recent=(*track.recent, temp_c)[-outliers.REMEMBERED :],
        steps=steps,
        coasts=0,
        jumping=False,
        hindsight=forecast_check.FRESH,
    )


def _take(track: Track, t_s: float, temp_c: float) -> Track:
    if t_s - track.bank_t_s > LONGEST_GAP_S:
        return _first(replace(track, recent=()), t_s, temp_c)
    if track.t_s is not None and t_s - track.t_s > OLD_NEWS_S:
        track = replace(track, recent=())
    seen = replace(
        track,
        t_s=t_s,
        accepted=True,
        readings=track.readings + 1,
        fresh_readings=track.fresh_readings + 1,
        recent=(*track.recent, temp_c)[-outliers.REMEMBERED :],
        steps=outliers.learn_steps(track.steps, temp_c),
    )
    known = temp_c in track.absorbed
    if known and t_s - track.bank_t_s < track.patience_s:
        return replace(seen, passed=(t_s, temp_c))
    if not known and track.passed is not None:
        # when a code changes, the last moment of the old one matters
        seen = _absorb(seen, *track.passed)
    return _absorb(seen, t_s, temp_c)


def _absorb(track: Track, t_s: float, temp_c: float) -> Track:
    """Let the bank run to the reading and learn from it, or coast past it."""
    bank = track.bank
    if bank is None:
        return _first(track, t_s, temp_c)
    moved = filter_bank.advance(bank, t_s - track.bank_t_s)
    low, high = _interval(track, track.steps, temp_c)
    wiser = filter_bank.believe(moved, low, high, track.sensor.sd_c**2)
    if wiser.fit < UNLIKELY_FIT and track.coasts < MOST_COASTS:
        return replace(
            track, bank=moved, bank_t_s=t_s, coasts=track.coasts + 1, passed=None
        )
    if wiser.fit < UNLIKELY_FIT:
        return _first(replace(track, breaks=track.breaks + 1), t_s, temp_c)
    return _notice_jump(
        replace(
            track,
            bank=wiser,
            bank_t_s=t_s,
            coasts=0,
            absorbed=(*track.absorbed, temp_c)[-CODES_REMEMBERED:],
            passed=None,
            patience_s=_patience_s(wiser, high - low),
            hindsight=forecast_check.look_back(track.hindsight, wiser, t_s),
        )
    )


def _patience_s(bank: Bank, width_c: float) -> float:
    """How long a code may repeat before it tells something new.

    The bank keeps a normal distribution where the truth is a slice of one. Feeding it
    the same code over and over would pull it to the middle of the code and make it
    too sure, so the fluid must first have had time to move REPEAT_SHARE of the code.
    """
    centre = filter_bank.centre_of(bank)
    rate = abs(float(centre[1] + centre[2]))
    return min(max(REPEAT_SHARE * width_c / (rate + 1e-9), ABSORB_EVERY_S), PATIENT_S)


def _notice_jump(track: Track) -> Track:
    """Go back to learning when a jump of the heating has become the likeliest."""
    bank = track.bank
    if bank is None:
        return track
    share = float((bank.weight @ track.grid.jump).sum())
    if not track.jumping and share > JUMP_FROM:
        until = max(track.learning_until_s, track.bank_t_s + LEARNING_S)
        return replace(track, jumping=True, learning_until_s=until)
    if track.jumping and share < JUMP_OVER:
        return replace(track, jumping=False)
    return track


def _bank_at(track: Track, now_s: float) -> Bank | None:
    """The bank run on to ``now_s`` without a reading."""
    if track.bank is None:
        return None
    return filter_bank.advance(track.bank, min(now_s - track.bank_t_s, 86_400.0))


def bank_at(track: Track, *, now_s: float) -> Bank | None:
    """Return the bank run on to ``now_s``; None before the first reading."""
    return _bank_at(track, now_s)


def announce(track: Track, *, t_s: float, event: ThermalEvent) -> Track:
    """Take in an event at ``t_s``: the slope starts afresh from there."""
    if not math.isfinite(t_s):
        return track
    engine = _ENGINE_AFTER.get(event, track.engine)
    bank = _bank_at(track, max(t_s, track.bank_t_s))
    track = replace(track, still=standstill.FRESH)
    if bank is None or event is ThermalEvent.PLUG_OPENED:
        return replace(track, engine=engine)
    return replace(
        track,
        engine=engine,
        knowing_from_s=max(track.knowing_from_s, t_s + KNOWING_S),
        bank=filter_bank.forget_slope(bank, ANNOUNCED_FAST_SD, ANNOUNCED_SLOW_SD),
        bank_t_s=max(t_s, track.bank_t_s),
        hindsight=forecast_check.forget_claims(track.hindsight),
        learning_until_s=max(track.learning_until_s, t_s + LEARNING_S),
    )


_ENGINE_AFTER = {
    ThermalEvent.ENGINE_STARTED: True,
    ThermalEvent.ENGINE_STOPPED: False,
}


def estimate(
    track: Track, *, now_s: float, before: Trend = Trend.UNKNOWN
) -> Estimate | None:
    """Return temperature and slope at ``now_s`` >= ``track.t_s``, with their sd.

    None before the first believed reading. ``before``: the trend that was told last.
    """
    bank = _bank_at(track, now_s)
    if bank is None:
        return None
    centre = filter_bank.centre_of(bank)
    off = bank.mean - centre[:, None]
    p, w = bank.cov, bank.weight
    rate_off = off[:, 1] + off[:, 2]
    temp_var = float((w * (p[:, TT] + off[:, 0] ** 2)).sum())
    spread = p[:, FF] + 2 * p[:, FS] + p[:, SS]
    rate_var = float((w * (spread + rate_off**2)).sum())
    rate, rate_sd = float(centre[1] + centre[2]), math.sqrt(max(rate_var, 0.0))
    return Estimate(
        temp_c=float(centre[0]),
        temp_sd_c=math.sqrt(max(temp_var, 0.0)),
        rate_c_per_s=rate,
        rate_sd_c_per_s=rate_sd,
        trend=trend_of(rate, rate_sd, before),
    )
