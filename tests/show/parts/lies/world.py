"""What is true of a gearbox, and what units that lie, and honest ones, say of it.

Truth is a thermal plant of random body and air, or a recorded warm-up; a unit says of
it what its family says. Everything is seeded. Ranges: common practice, no source.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from bridge.values.events import Mark, Marked
from bridge.values.sheet import Window
from simulators.car.plant import Heat, Plant
from tests.show.parts.gate.world import _body

SPAN_S = 1200
IDLE_RPM = 780.0
WARMUPS = Path(__file__).resolve().parents[3] / "data" / "warmup"
CODES_C = (1.0, 0.5, 0.1)
Floats = np.ndarray


@dataclass(frozen=True, kw_only=True)
class Case:
    """One car and what its unit says, each second (or each ``dt_s``)."""

    family: str
    window: Window
    true_c: Floats
    says_c: Floats
    """NaN: no answer."""
    code_c: float
    dt_s: float = 1.0
    rpm: Floats | None = None
    """None: taken for granted, as in a replay."""
    coolant_c: Floats | None = None
    ambient_c: float | None = None
    evidence: bool = True
    """Whether anything but the value itself, or how it moves, could give it away."""
    told: tuple[Marked, ...] = ()
    selector: Floats | None = None
    honest: bool = field(default=False)


def rounded(values: Floats, code_c: float) -> Floats:
    """Return what a unit with this step makes of values."""
    return np.round(np.floor(values / code_c + 0.5) * code_c, 3)


@dataclass(frozen=True, kw_only=True)
class Truth:
    """A gearbox idling from the 20th second on, after a night's rest or not."""

    fluid_c: Floats
    sensor_c: Floats
    coolant_c: Floats
    rpm: Floats
    ambient_c: float


def warming(
    rng: np.random.Generator, *, start_c: float | None = None, span_s: int = SPAN_S
) -> Truth:
    """A random gearbox that warms up at idle; ``start_c``: warm already."""
    while True:
        ambient_c = float(rng.uniform(-5, 30))
        truth = run(rng, Plant(_heat(ambient_c, start_c), ambient_c=ambient_c), span_s)
        if truth.fluid_c[-1] - truth.fluid_c[0] > 22.0:
            return truth


def _heat(ambient_c: float, start_c: float | None) -> Heat:
    if start_c is None:
        return Heat.soaked(ambient_c)
    return Heat(fluid_c=start_c, case_c=start_c - 3.0, coolant_c=86.0, sensor_c=start_c)


def run(
    rng: np.random.Generator,
    plant: Plant,
    span_s: int,
    *,
    engine: Callable[[int], bool] = lambda t: t >= 20,
    stir: Callable[[int, Plant], None] = lambda _t, _p: None,
) -> Truth:
    """Let a plant of random body run; ``stir`` may meddle with it each second."""
    plant.body = _body(rng)
    rows = np.empty((span_s, 4))
    for t in range(span_s):
        plant.engine_on = engine(t)
        stir(t, plant)
        heat = plant.heat
        rpm = IDLE_RPM if plant.engine_on else 0.0
        rows[t] = heat.fluid_c, heat.sensor_c, heat.coolant_c, rpm
        plant.step(1.0)
    fluid, sensor, coolant, speed = rows.T
    return Truth(
        fluid_c=fluid,
        sensor_c=sensor,
        coolant_c=coolant,
        rpm=speed,
        ambient_c=plant.ambient_c,
    )


def cooling(rng: np.random.Generator, span_s: int = 1500) -> Truth:
    """A gearbox hot from a drive that cools, the engine off."""
    ambient_c, hot_c = float(rng.uniform(0, 20)), float(rng.uniform(60, 75))
    heat = Heat(fluid_c=hot_c, case_c=hot_c - 25, coolant_c=88.0, sensor_c=hot_c)
    plant = Plant(heat, ambient_c=ambient_c)
    return run(rng, plant, span_s, engine=lambda _: False)


def window_in(rng: np.random.Generator, truth: Truth) -> Window:
    """A window 8 to 12 degC wide that the truth passes, some way from both ends."""
    low, high = sorted((float(truth.fluid_c[0]), float(truth.fluid_c[-1])))
    width = min(float(rng.uniform(8, 12)), 0.5 * (high - low))
    spare = max(high - low - width, 0.0)
    at = round(low + spare * float(rng.uniform(0.25, 0.75)))
    return Window(low_c=at, high_c=at + width)


def first(flags: Floats) -> int:
    """The first second at which something is so."""
    return int(np.argmax(flags))


def case(rng: np.random.Generator, family: str, truth: Truth, **more: object) -> Case:
    """A case that says the truth, with all a car tells, to be spoilt by its family."""
    code_c = float(rng.choice(CODES_C))
    made = Case(
        family=family,
        window=window_in(rng, truth),
        true_c=truth.fluid_c,
        says_c=rounded(truth.sensor_c, code_c),
        code_c=code_c,
        rpm=truth.rpm,
        coolant_c=truth.coolant_c,
        ambient_c=truth.ambient_c,
    )
    return replace(made, **more)  # type: ignore[arg-type]


def recorded(number: int) -> tuple[Floats, Floats]:
    """Times and coolant of a recorded warm-up (tests/data/README.md)."""
    path = WARMUPS / f"warmup-{number:02d}.csv"
    with path.open() as file:
        rows = [(float(a), float(b)) for a, b in list(csv.reader(file))[1:] if b]
    return np.array([r[0] for r in rows]), np.array([r[1] for r in rows])


def finer(t_s: Floats, temp_c: Floats) -> Floats:
    """The recorded curve without its steps: straight between the middles of its codes,
    smoothed over 23 s; so that it can be rounded anew, finer than it was recorded."""
    turns = np.flatnonzero(np.diff(temp_c)) + 1
    starts = np.concatenate([[0], turns])
    ends = np.concatenate([turns - 1, [len(temp_c) - 1]])
    middles = 0.5 * (t_s[starts] + t_s[ends])
    grid = np.arange(t_s[0], t_s[-1])
    straight = np.interp(grid, middles, temp_c[starts])
    bell = np.hanning(23)
    return np.convolve(np.pad(straight, 11, mode="edge"), bell / bell.sum(), "valid")


POURED = Marked(mark=Mark.ADDED, ml=300.0, t_s=0.0)
