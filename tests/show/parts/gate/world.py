"""What is true of a simulated level-setting job, for the gate's figures.

A thermal plant with a random body, air, window and heating, and how its surplus
really runs down. Ranges: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from bridge.level.viscosity import Fluid, ratio
from bridge.values.sheet import EngineRule, Sheet, Window
from simulators.car.plant import Body, Heat, Plant

AMBIENTS = {"cold": (-10.0, 8.0), "mild": (12.0, 25.0), "hot": (28.0, 40.0)}
SPAN_S = 1500
"""How long a job lasts at most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """Everything that is true of one job; the core is told little of it."""

    climate: str
    sheet: Sheet
    true_c: np.ndarray
    """The fluid, each second."""
    read_c: np.ndarray
    """What the control unit says; NaN is no answer."""
    settle_factor: float
    """True settle time over the sheet's, viscosity apart."""
    fluid: Fluid
    b: float
    steep: float
    marks: bool
    """Whether this person marks drips."""
    react: tuple[float, float, float]
    """Seconds: to open, to close, extra if not yet under the car."""
    obeys_streaming: bool


def _body(rng: np.random.Generator) -> Body:
    power = float(np.exp(rng.uniform(math.log(250), math.log(1400))))
    return Body(
        fluid_j_per_k=float(rng.uniform(9e3, 16e3)),
        case_j_per_k=float(rng.uniform(12e3, 28e3)),
        fluid_case_w_per_k=float(rng.uniform(40, 160)),
        case_air_w_per_k=float(rng.uniform(4, 14)),
        exchanger_w_per_k=float(rng.uniform(0, 40)),
        churning_w=power,
        sensor_lag_s=float(rng.uniform(1, 6)),
    )


def _window(rng: np.random.Generator, ambient_c: float, *, cooling: bool) -> Window:
    width = float(rng.uniform(4, 20))
    low = max(float(rng.uniform(26, 50)), ambient_c + float(rng.uniform(2, 12)))
    low = round(low + (4.0 if cooling else 0.0))
    return Window(low_c=low, high_c=low + round(width, 1))


def _curve(
    rng: np.random.Generator, window: Window, ambient_c: float, *, cooling: bool
) -> np.ndarray:
    """Fluid and sensor, each second; somebody may change the heating on the way."""
    if cooling:
        start = window.high_c + float(rng.uniform(2, 10))
        case = start - float(rng.uniform(0, 8))
    else:
        start = max(ambient_c, window.low_c - float(rng.uniform(6, 22)))
        case = max(ambient_c, start - float(rng.uniform(0, 6)))
    coolant = start + float(rng.uniform(0, 30))
    heat = Heat(fluid_c=start, case_c=case, coolant_c=coolant, sensor_c=start)
    plant = Plant(heat, ambient_c=ambient_c, body=_body(rng))
    plant.engine_on = not cooling
    change_s = rng.uniform(60, SPAN_S) if rng.random() < 0.15 else math.inf
    factor = float(rng.uniform(0.6, 1.6))
    out = np.empty((SPAN_S, 2))
    for t in range(SPAN_S):
        out[t] = plant.heat.fluid_c, plant.heat.sensor_c
        if change_s <= t:
            body = plant.body
            plant.body = replace(body, churning_w=body.churning_w * factor)
            change_s = math.inf
        plant.step(1.0)
    return out


def make_job(rng: np.random.Generator, climate: str) -> Job:
    """Return one random job."""
    cooling = rng.random() < 0.2
    ambient_c = float(rng.uniform(*AMBIENTS[climate]))
    window = _window(rng, ambient_c, cooling=cooling)
    curve = _curve(rng, window, ambient_c, cooling=cooling)
    noise = rng.choice([0.02, 0.05, 0.15]) * rng.standard_normal(SPAN_S)
    read = np.round(curve[:, 1] + noise)
    read[rng.random(SPAN_S) < 0.02] = np.nan
    sheet = Sheet(
        name="simulated",
        source="a random plant",
        window=window,
        engine=EngineRule.OFF if cooling else EngineRule.IDLING,
        settle_time_s=float(rng.uniform(30, 120)),
    )
    hyperbolic = rng.random() < 0.5
    thick = float(rng.uniform(26, 38))
    return Job(
        climate=climate,
        sheet=sheet,
        true_c=curve[:, 0],
        read_c=read,
        settle_factor=float(np.exp(rng.normal(0, 0.2))),
        fluid=Fluid(at_40_mm2_s=thick, at_100_mm2_s=float(rng.uniform(5.2, 7.4))),
        b=float(rng.uniform(0.3, 1.0)) if hyperbolic else 0.0,
        steep=float(np.exp(rng.uniform(1.2, 3.4)) if hyperbolic else rng.uniform(2, 6)),
        marks=rng.random() < 0.6,
        react=(
            float(4.0 * np.exp(rng.normal(0, 0.4))),
            float(4.0 * np.exp(rng.normal(0, 0.4))),
            float(rng.uniform(10, 30)),
        ),
        obeys_streaming=rng.random() < 0.8,
    )


def true_settle_s(job: Job, opened_s: float) -> float:
    """When the surplus has truly settled, seconds after opening."""
    temp_c = float(np.interp(opened_s, np.arange(SPAN_S), job.true_c))
    times = ratio(temp_c, job.sheet.window.middle_c, job.fluid)
    return job.sheet.settle_time_s * job.settle_factor * times
