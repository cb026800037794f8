"""Simulated temperature curves for the forecast's figures.

These are not the product's equations: three to five thermal nodes with friction
that falls as the oil thins, thermostats with lag, an exchanger the thermostat
opens, fans that switch, and changes of heating nobody announces. All curves of a
family are integrated side by side (Euler, 1 s). Orders of magnitude of heat
capacities and conductances: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

SPAN_S = 7200
"""Truth is known this long; readings stop earlier (see READ_S)."""
READ_S = 3600
Array = np.ndarray
IDLE_RPM = 750.0
Drawn = tuple[Array, Array, Array, Array, Array]
"""Truth, moments of change, ambient, coolant and engine speed of some curves."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """One curve: readings up to now, and the truth every second."""

    name: str
    family: str
    t_s: Array
    temp_c: Array
    """Readings; NaN is a dropout."""
    true_c: Array
    """What the sensor feels, at 0, 1, 2... s; None of it is known to anyone."""
    resolution_c: float
    changes_s: tuple[float, ...] = ()
    ambient_c: float | None = None
    coolant_c: Array | None = None
    rpm: Array | None = None
    """Engine speed every second; None: the engine stands still."""


def _uniform(rng: np.random.Generator, low: float, high: float, n: int) -> Array:
    return rng.uniform(low, high, n)


def _changes(rng: np.random.Generator, n: int, share: float) -> tuple[Array, Array]:
    """Moment and factor of a change of heating in a share of the curves."""
    when = np.where(rng.random(n) < share, rng.uniform(200, 2400, n), np.inf)
    factor = np.where(
        rng.random(n) < 0.5, rng.uniform(0.3, 0.7, n), rng.uniform(1.4, 2.5, n)
    )
    return when, factor


def _valve(opening: Array, temp: Array, at: Array, width: float, lag: float) -> Array:
    """A wax thermostat: opens over ``width`` degrees, follows with a lag."""
    wanted = np.clip((temp - at) / width, 0.0, 1.0)
    return opening + (wanted - opening) / lag


def _switch(state: Array, temp: Array, on: Array, off: Array) -> Array:
    return np.where(temp > on, 1.0, np.where(temp < off, 0.0, state))


def gearbox(
    rng: np.random.Generator, n: int, changing: float = 0.35, stop_c: float = np.inf
) -> Drawn:
    """Fluid, case, converter, coolant, engine block; idling; exchanger and fan.

    ``stop_c``: the engine is switched off for good when the fluid is this warm.
    """
    ambient = _uniform(rng, -10, 40, n)
    fluid = ambient + np.where(rng.random(n) < 0.3, _uniform(rng, 5, 30, n), 0.0)
    case, hot, coolant = fluid.copy(), fluid.copy(), fluid + _uniform(rng, 0, 30, n)
    block = coolant.copy()
    power = _uniform(rng, 250, 900, n)
    thin = _uniform(rng, 0.0, 1.0, n)
    c_fluid, c_case = _uniform(rng, 6e3, 14e3, n), _uniform(rng, 8e3, 25e3, n)
    c_hot = _uniform(rng, 1e3, 3e3, n)
    k_case, k_air = _uniform(rng, 80, 400, n), _uniform(rng, 3, 10, n)
    k_hot = _uniform(rng, 40, 120, n)
    k_cool = _uniform(rng, 10, 100, n) * (rng.random(n) < 0.6)
    opens_at = _uniform(rng, 55, 85, n)
    heat = _uniform(rng, 3e3, 6e3, n)
    fan_on = _uniform(rng, 94, 102, n)
    idle_falls = _uniform(rng, 30, 300, n)
    high_idle = _uniform(rng, 1.0, 1.6, n)
    when, factor = _changes(rng, n, changing)
    fan, radiator, exchanger = np.zeros(n), np.zeros(n), np.zeros(n)
    runs = np.ones(n)
    out, cool, rpm = (np.empty((SPAN_S, n)) for _ in range(3))
    for t in range(SPAN_S):
        out[t], cool[t] = fluid, coolant
        radiator = _valve(radiator, coolant, np.full(n, 84.0), 10.0, 15.0)
        exchanger = _valve(exchanger, fluid, opens_at, 8.0, 25.0)
        fan = _switch(fan, coolant, fan_on, fan_on - 5)
        idle = 1.0 + (high_idle - 1.0) * np.exp(-np.maximum(t - idle_falls, 0) / 20)
        runs = np.where(fluid >= stop_c, 0.0, runs)
        idle = idle * runs
        rpm[t] = IDLE_RPM * idle
        made = power * idle * (1 + thin * np.exp(-(fluid - 20) / 25))
        made = made * np.where(t >= when, factor, 1.0)
        flow = k_hot * (hot - fluid)
        swap = k_cool * (0.08 + 0.92 * exchanger) * (coolant - fluid)
        to_case = k_case * (fluid - case)
        air = k_air * (1 + 0.5 * fan) * (case - ambient)
        lost = (40 + 500 * radiator * (1 + 1.5 * fan)) * 0.3 * (coolant - ambient)
        wall = 300 * (block - coolant)
        hot = hot + (made - flow) / c_hot
        fluid = fluid + (flow + swap - to_case) / c_fluid
        case = case + (to_case - air) / c_case
        coolant = coolant + (wall - swap - lost) / 3e4
        block = block + (heat * idle - wall - 8 * (block - ambient)) / 6e4
    return out, when, ambient, cool, rpm


def slow_idle(rng: np.random.Generator, n: int, changing: float = 0.15) -> Drawn:
    """Sump, case, bell housing and pump of a gearbox: 20 to 90 degC in 20..60 min."""
    ambient = _uniform(rng, 10, 28, n)
    sump = ambient + _uniform(rng, 0, 6, n)
    case, bell, pump = sump.copy(), sump.copy(), sump.copy()
    minutes = _uniform(rng, 20, 60, n)
    over = _uniform(rng, 8, 60, n)
    c_sump, c_case = _uniform(rng, 7e3, 11e3, n), _uniform(rng, 10e3, 20e3, n)
    c_bell = _uniform(rng, 4e3, 10e3, n)
    total = c_sump + c_case + c_bell
    # the losses that let it just reach 90 degC after so many minutes
    k_air = total * np.log((90 - ambient + over) / over) / (minutes * 60)
    power = k_air * (90 + over - ambient)
    k_case, k_bell = _uniform(rng, 150, 500, n), _uniform(rng, 15, 60, n)
    opens_at = _uniform(rng, 78, 95, n)
    breeze = _uniform(rng, 0.0, 0.02, n)
    when, factor = _changes(rng, n, changing)
    gust, exchanger = np.zeros(n), np.zeros(n)
    out = np.empty((SPAN_S, n))
    for t in range(SPAN_S):
        out[t] = sump
        gust = gust * (1 - 1 / 200) + rng.normal(0, breeze) * np.sqrt(2 / 200)
        exchanger = _valve(exchanger, sump, opens_at, 8.0, 25.0)
        made = power * (1 + gust) * np.where(t >= when, factor, 1.0)
        flow = 80 * (pump - sump)
        to_case, to_bell = k_case * (sump - case), k_bell * (case - bell)
        pump = pump + (made - flow) / 2e3
        sump = sump + (flow - to_case - 60 * exchanger * (sump - 85)) / c_sump
        case = case + (to_case - to_bell - 0.7 * k_air * (case - ambient)) / c_case
        bell = bell + (to_bell - 0.3 * k_air * (bell - ambient)) / c_bell
    still = np.full((SPAN_S, n), IDLE_RPM)
    return out, when, ambient, np.full((SPAN_S, n), np.nan), still


def coolant_idle(rng: np.random.Generator, n: int, changing: float = 0.15) -> Drawn:
    """Coolant, head, block and oil of an engine left idling; thermostat and fan."""
    ambient = _uniform(rng, -5, 30, n)
    start = ambient + np.where(rng.random(n) < 0.5, _uniform(rng, 0, 30, n), 0.0)
    head, block, oil, water = start.copy(), start.copy(), start.copy(), start.copy()
    heat = _uniform(rng, 2e3, 5e3, n)
    c_head, c_block = _uniform(rng, 8e3, 16e3, n), _uniform(rng, 2e4, 5e4, n)
    c_oil, c_water = _uniform(rng, 6e3, 1e4, n), _uniform(rng, 1e4, 2.2e4, n)
    k_head, k_block = _uniform(rng, 150, 500, n), _uniform(rng, 80, 300, n)
    heater = np.where(rng.random(n) < 0.4, _uniform(rng, 5, 40, n), 0.0)
    opens_at = _uniform(rng, 80, 92, n)
    fan_on = _uniform(rng, 95, 104, n)
    high_idle, idle_falls = _uniform(rng, 1.0, 1.6, n), _uniform(rng, 20, 240, n)
    when, factor = _changes(rng, n, changing)
    wobble = _uniform(rng, 0.0, 0.03, n)
    sway, fan, radiator = np.zeros(n), np.zeros(n), np.zeros(n)
    out, rpm = np.empty((SPAN_S, n)), np.empty((SPAN_S, n))
    for t in range(SPAN_S):
        out[t] = water
        sway = sway * (1 - 1 / 60) + rng.normal(0, wobble) * np.sqrt(2 / 60)
        radiator = _valve(radiator, water, opens_at, 10.0, 12.0)
        fan = _switch(fan, water, fan_on, fan_on - 6)
        idle = 1.0 + (high_idle - 1.0) * np.exp(-np.maximum(t - idle_falls, 0) / 15)
        rpm[t] = IDLE_RPM * idle
        made = heat * idle * (1 + sway) * np.where(t >= when, factor, 1.0)
        up, side = k_head * (head - water), k_block * (water - block)
        film = 60 * (block - oil)
        lost = (heater + 250 * radiator * (1 + 2 * fan)) * (water - ambient)
        head = head + (0.7 * made - up) / c_head
        water = water + (up - side - lost) / c_water
        block = block + (0.3 * made + side - film - 8 * (block - ambient)) / c_block
        oil = oil + (film - 5 * (oil - ambient)) / c_oil
    return out, when, ambient, np.full((SPAN_S, n), np.nan), rpm


def cooling(rng: np.random.Generator, n: int, changing: float = 0.3) -> Drawn:
    """Fluid, case and frame after the engine stopped; a fan or a door now and then."""
    ambient = _uniform(rng, -10, 35, n)
    fluid = ambient + _uniform(rng, 30, 80, n)
    case = fluid - _uniform(rng, -5, 15, n)
    frame = ambient + _uniform(rng, 0, 0.6, n) * (case - ambient)
    c_fluid, c_case = _uniform(rng, 6e3, 14e3, n), _uniform(rng, 8e3, 25e3, n)
    k_case, k_air = _uniform(rng, 15, 120, n), _uniform(rng, 6, 30, n)
    k_frame = _uniform(rng, 5, 25, n)
    when, factor = _changes(rng, n, changing)
    out = np.empty((SPAN_S, n))
    for t in range(SPAN_S):
        out[t] = fluid
        # free convection: the losses grow with the fifth root of the difference
        free = np.maximum(np.abs(case - ambient) / 40, 1e-3) ** 0.25
        air = k_air * free * np.where(t >= when, factor, 1.0) * (case - ambient)
        to_case, to_frame = k_case * (fluid - case), k_frame * (case - frame)
        fluid = fluid - to_case / c_fluid
        case = case + (to_case - to_frame - air) / c_case
        frame = frame + (to_frame - 4 * (frame - ambient)) / 3e4
    none = np.full((SPAN_S, n), np.nan)
    return out, when, ambient, none, none


FAMILIES: dict[str, Callable[..., Drawn]] = {
    "gearbox": gearbox,
    "slow idle": slow_idle,
    "coolant idle": coolant_idle,
    "cooling": cooling,
}


RESOLUTIONS: dict[str, tuple[float, ...]] = {
    "gearbox": (1.0, 0.5, 1 / 16),
    "slow idle": (1.0,),
    "coolant idle": (1.0,),
    "cooling": (1.0, 0.5, 1 / 16),
}
"""Coolant over OBD-II (PID 05) comes in whole degrees; gearboxes vary."""
NOISES: dict[str, tuple[float, ...]] = {
    "gearbox": (0.01, 0.03, 0.08, 0.2),
    "slow idle": (0.01, 0.03, 0.08),
    "coolant idle": (0.01, 0.03, 0.08),
    "cooling": (0.01, 0.03, 0.08, 0.2),
}
"""Before rounding, degC. The shared coolant curves hardly ever flicker between two
codes, so an idling sensor's noise is small against its step.
"""


def _stamps(rng: np.random.Generator, family: str) -> Array:
    """Uneven reading times: mostly one to three a second, some a minute apart."""
    period = rng.choice([0.33, 0.5, 1.0, 1.0, 1.0, 1.3])
    if family == "cooling" and rng.random() < 0.25:
        period = 60.0
    gaps = period * (1 + 0.15 * rng.standard_normal(int(READ_S / period)))
    stamps = np.cumsum(np.maximum(gaps, 0.05))
    return stamps[stamps < READ_S]


def _read(
    rng: np.random.Generator,
    true_c: Array,
    stamps: Array,
    resolution: float,
    family: str,
) -> Array:
    """A control unit that refreshes now and then, rounds, and is silent at times."""
    refresh = rng.choice([0.05, 0.1, 1.0, 2.0])
    felt = np.interp(np.floor(stamps / refresh) * refresh, np.arange(SPAN_S), true_c)
    noise = rng.choice(NOISES[family]) * rng.standard_normal(len(stamps))
    # what is refreshed once has one noise
    same = np.floor(stamps / refresh).astype(int)
    first = np.maximum.accumulate(
        np.where(np.diff(same, prepend=-1) > 0, np.arange(len(same)), 0)
    )
    codes = np.round((felt + noise[first]) / resolution) * resolution
    codes[rng.random(len(codes)) < 0.05] = np.nan
    codes[0] = np.round(true_c[0] / resolution) * resolution
    return codes


def _lagged(true_c: Array, lag_s: float) -> Array:
    """What a sensor with a time constant feels."""
    out = true_c.copy()
    gain = 1.0 / (1.0 + lag_s)
    for t in range(1, len(out)):
        out[t] = out[t - 1] + gain * (true_c[t] - out[t - 1])
    return out


def curves(
    family: str, count: int, seed: int, changing: float | None = None
) -> list[Curve]:
    """Return ``count`` curves; the same seed gives the same curves.

    ``changing``: share whose heating changes unannounced; None: the family's own.
    """
    rng = np.random.default_rng([seed, list(FAMILIES).index(family)])
    drawn = FAMILIES[family](rng, count, *([] if changing is None else [changing]))
    names = [f"{family} {seed}/{i}" for i in range(count)]
    return [_curve(rng, family, name, drawn, i) for i, name in enumerate(names)]


def _curve(
    rng: np.random.Generator, family: str, name: str, drawn: Drawn, i: int
) -> Curve:
    truth, when, ambient, coolant, rpm = drawn
    resolution = float(rng.choice(RESOLUTIONS[family]))
    felt = _lagged(truth[:, i], rng.uniform(0, 20))
    stamps = _stamps(rng, family)
    return Curve(
        name=name,
        family=family,
        t_s=stamps,
        temp_c=_read(rng, felt, stamps, resolution, family),
        true_c=felt,
        resolution_c=resolution,
        changes_s=(float(when[i]),) if np.isfinite(when[i]) else (),
        ambient_c=float(ambient[i]),
        coolant_c=coolant[:, i] if np.isfinite(coolant[0, i]) else None,
        rpm=rpm[:, i] if np.isfinite(rpm[0, i]) else None,
    )


class _Trip:
    """Chance of one job on one car: what is the car's comes out the same every time.

    The first draws of a gearbox are the day's: ambient, and how warm it stands.
    """

    def __init__(self, car: np.random.Generator, trip: np.random.Generator) -> None:
        self._car, self._trip, self._drawn = car, trip, 0

    def uniform(self, low: object, high: object, size: int | None = None) -> Array:
        self._drawn += 1
        source = self._trip if self._drawn <= 3 else self._car
        return source.uniform(low, high, size)

    def random(self, size: int | None = None) -> Array:
        theirs = self._drawn <= 1 or (size or 1) > 1
        return (self._trip if theirs else self._car).random(size)

    def choice(self, among: object) -> object:
        return self._car.choice(among)

    def standard_normal(self, size: int | None = None) -> Array:
        return self._trip.standard_normal(size)


def repeats(seed: int, times: int) -> list[Curve]:
    """Return several jobs on one gearbox: another day, the same car and sensor."""
    out = []
    for job in range(times):
        rng = _Trip(
            np.random.default_rng([seed, 1]), np.random.default_rng([seed, 2, job])
        )
        drawn = gearbox(rng, 1, 0.0)
        out.append(_curve(rng, "gearbox", f"car {seed}, job {job}", drawn, 0))
    return out
