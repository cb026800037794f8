"""How fast idling warms a gearbox: common practice, no source."""

from __future__ import annotations

from itertools import pairwise

import pytest

from bridge.sheets import load, shipped_sheets
from simulators.car.plant import Heat, Plant
from simulators.car.scenes import make_bench


def crossing_min(plant: Plant, temp_c: float) -> float:
    minutes = 0.0
    while plant.heat.fluid_c < temp_c:
        plant.step(1.0)
        minutes += 1 / 60
    return minutes


def test_a_cold_start_takes_as_long_as_a_mechanic_expects():
    """35 °C after 8-15 min, 35 to 45 in 4-8 min (common practice, no source)."""
    plant = Plant(Heat.soaked(20.0), ambient_c=20.0)
    to_window = crossing_min(plant, 35.0)
    through_window = crossing_min(plant, 45.0)
    assert 8 <= to_window <= 15
    assert 4 <= through_window <= 8


@pytest.mark.parametrize("name", shipped_sheets())
def test_every_shipped_car_warms_as_fast_as_a_car_does(name):
    """1 to 3 °C a minute at the window, idling (common practice, no source)."""
    shipped = load(name)
    plant = make_bench("cold-start", shipped).car.plant
    plant.engine_on = True
    temps = [plant.heat.fluid_c]
    while temps[-1] <= shipped.window.high_c:
        plant.step(60.0)
        temps.append(plant.heat.fluid_c)
    rates = [later - sooner for sooner, later in pairwise(temps)]
    at_window = [
        rate for rate, end in zip(rates, temps[1:], strict=True)
        if end >= shipped.window.low_c
    ]  # fmt: skip
    assert all(1.0 <= rate <= 3.0 for rate in at_window)
    assert max(rates) < 3.6  # nor does it rush there
