"""The thermal plant: physics that holds, and the figures the scenes promise."""

from __future__ import annotations

import math
import re
from itertools import pairwise
from pathlib import Path

import pytest

from bridge.sheets import load, shipped_sheets
from bridge.values.errors import UsageError
from bridge.values.sheet import EngineRule, Role, Sheet, Window
from simulators.car.plant import Body, Heat, Plant, settles_at
from simulators.car.scenes import SCENES, make_bench

ROOT = Path(__file__).parents[2]
WINDOWS = [(35, 45), (30, 50), (20, 40), (40, 45), (43, 47), (70, 80), (88, 92)]


def test_a_soaked_car_with_its_engine_off_stays_as_it_is():
    plant = Plant(Heat.soaked(12.0), ambient_c=12.0)
    plant.engine_on = False
    plant.step(3600)
    assert plant.heat == Heat.soaked(12.0)


def test_cooling_follows_newtons_law():
    """One lump losing heat to air: the gap falls by 1/e in C/UA (check-values, 5)."""
    body = Body(
        fluid_case_w_per_k=1e-9, exchanger_w_per_k=0.0, fluid_air_w_per_k=40.0,
        sensor_lag_s=0.0,
    )  # fmt: skip
    plant = Plant(
        Heat(fluid_c=80.0, case_c=20.0, coolant_c=20.0, sensor_c=80.0),
        ambient_c=20.0, body=body,
    )  # fmt: skip
    plant.engine_on = False  # a quarter of the air flow is left
    tau_s = body.fluid_j_per_k / 10.0
    plant.step(tau_s)
    assert (plant.heat.fluid_c - 20.0) / 60.0 == pytest.approx(math.exp(-1), rel=1e-3)


@pytest.mark.parametrize(("taus", "share"), [(1, 0.63212), (2, 0.86466), (3, 0.95021)])
def test_the_sensor_is_a_first_order_lag(taus, share):
    """Step response of a first-order lag: 63.2 %, 86.5 %, 95.0 % (check-values, 5)."""
    body = Body(sensor_lag_s=4.0, fluid_j_per_k=1e12)
    heat = Heat(fluid_c=40.0, case_c=40.0, coolant_c=40.0, sensor_c=20.0)
    plant = Plant(heat, ambient_c=40.0, body=body)
    plant.engine_on = False
    plant.step(4.0 * taus)
    assert (plant.heat.sensor_c - 20.0) / 20.0 == pytest.approx(share, abs=1e-4)


def test_the_result_does_not_depend_on_the_size_of_the_steps():
    one, many = (Plant(Heat.soaked(20.0), ambient_c=20.0) for _ in range(2))
    one.step(600.0)
    for _ in range(6000):
        many.step(0.1)
    assert one.heat.fluid_c == pytest.approx(many.heat.fluid_c, abs=0.05)


def test_time_does_not_run_backwards():
    with pytest.raises(ValueError, match="-1"):
        Plant(Heat.soaked(20.0), ambient_c=20.0).step(-1)


def test_colder_air_means_a_cooler_end():
    ends = [settles_at(Body(), ambient_c=t, engine_on=True) for t in (-20, 0, 20)]
    assert ends == sorted(ends)
    assert settles_at(Body(), ambient_c=20, engine_on=False) == pytest.approx(20)


def sheet(low, high, engine=EngineRule.IDLING):
    window = Window(low_c=float(low), high_c=float(high))
    return Sheet(name="s", source="test", window=window, engine=engine)


def course(scene, low, high, engine=EngineRule.IDLING, minutes=90, seed=0):
    """The true fluid every two seconds on a bench of that scene."""
    car = make_bench(scene, sheet(low, high, engine), seed=seed).car
    car.plant.engine_on = car.engine_running
    temps = [car.fluid_c]
    for _ in range(30 * minutes):
        car.plant.step(2.0)
        temps.append(car.fluid_c)
    return car, temps


@pytest.mark.parametrize(("low", "high"), WINDOWS)
@pytest.mark.parametrize("seed", [0, 7])
@pytest.mark.few(4)
def test_cold_start_passes_through_every_window(low, high, seed):
    car, temps = course("cold-start", low, high, seed=seed)
    assert car.engine_running
    assert temps[0] <= min(20.0, low - 5)
    assert max(temps) > high + 5


def test_the_documents_times_are_those_of_the_shipped_sheets():
    page = (ROOT / "docs" / "bench.md").read_text("utf-8")
    told = re.search(r"window in (\d+) to (\d+) min and .* in (\d+) to (\d+) \(", page)
    up_low, up_high, in_low, in_high = map(float, told.groups())
    ways = []
    for one in map(load, shipped_sheets()):
        low, high = one.window.low_c, one.window.high_c
        read = one.signal(Role.FLUID_TEMPERATURE) is not None
        if not (read and one.has_level_step and one.engine is EngineRule.IDLING):
            continue
        _, temps = course("cold-start", low, high)
        opens = next(n for n, c in enumerate(temps) if c >= low) / 30
        shuts = next(n for n, c in enumerate(temps) if c > high) / 30
        assert up_low <= opens <= up_high, one.name
        assert in_low <= shuts - opens <= in_high, one.name
        ways.append(opens)
    assert max(ways) > up_high - 1.0
    assert min(ways) < up_low + 1.0


@pytest.mark.parametrize(("low", "high"), WINDOWS)
@pytest.mark.parametrize("engine", EngineRule)
@pytest.mark.few(4)
def test_warm_day_begins_inside_every_window(low, high, engine):
    car, temps = course("warm-day", low, high, engine, minutes=1)
    assert low < temps[0] < high
    assert car.engine_running == (engine is EngineRule.IDLING)


@pytest.mark.parametrize(("low", "high"), WINDOWS)
@pytest.mark.parametrize("engine", EngineRule)
@pytest.mark.few(4)
def test_hot_cools_through_every_window(low, high, engine):
    car, temps = course("hot", low, high, engine)
    assert car.engine_running == (engine is EngineRule.IDLING)
    assert temps[0] > high + 5
    assert min(temps) < low - 2
    assert all(later <= sooner + 1e-9 for sooner, later in pairwise(temps))


@pytest.mark.parametrize(("low", "high"), WINDOWS)
@pytest.mark.parametrize("engine", EngineRule)
@pytest.mark.few(4)
def test_deep_cold_never_reaches_any_window(low, high, engine):
    _car, temps = course("deep-cold", low, high, engine, minutes=240)
    assert max(temps) < low - 2


def test_engine_off_sheets_keep_the_engine_off_everywhere():
    for scene in SCENES:
        assert make_bench(scene, sheet(35, 45, EngineRule.OFF)).car.engine_rpm == 0


def test_idle_speed_lies_inside_the_sheets_limits():
    for low, high in ((500, 1100), (600, 700), (900, 1200)):
        car = make_bench("cold-start", Sheet(
            name="s", source="t", window=Window(low_c=35.0, high_c=45.0),
            idle_low_rpm=float(low), idle_high_rpm=float(high),
        )).car  # fmt: skip
        for second in range(60):
            car.advance(second)
            assert low < car.engine_rpm < high


def test_an_unknown_scene_is_refused():
    with pytest.raises(UsageError, match="midsummer"):
        make_bench("midsummer", None)
