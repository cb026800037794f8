"""Spikes, gaps and the sensor's resolution."""

import math

import pytest

from bridge.thermal import outliers


def learned(readings):
    steps = outliers.Steps()
    for reading in readings:
        steps = outliers.learn_steps(steps, reading)
    return steps.resolution_c()


@pytest.mark.parametrize("bad", [None, math.nan, math.inf, -math.inf, -91.0, 1e30])
def test_no_number_is_not_usable(bad):
    assert not outliers.usable(bad)


def test_a_number_is_usable():
    assert outliers.usable(-40.0)


@pytest.mark.parametrize(
    ("recent", "temp_c", "gap_s", "expected"),
    [
        ((), 90.0, 1.0, False),
        ((40.0, 40.0, 41.0), 44.9, 1.0, True),
        ((40.0, 40.0, 41.0), 44.2, 1.0, False),
        ((40.0,), 57.0, 60.0, False),
        ((40.0,), 63.0, 600.0, True),
        ((40.0, 99.0, 40.0), 41.0, 1.0, False),
    ],
)
def test_a_spike_is_farther_than_fluid_can_go(recent, temp_c, gap_s, expected):
    assert outliers.is_spike(recent, temp_c, gap_s) is expected


def test_four_odd_readings_that_agree_are_believed():
    assert not outliers.agree((80.0, 80.0, 80.0))
    assert not outliers.agree((80.0, 20.0, 80.0, 20.0))
    assert outliers.agree((20.0, 80.0, 80.5, 80.0, 81.0))


@pytest.mark.parametrize("step", [1.0, 0.5, 0.25, 1 / 16, 0.75, 5 / 9, 0.1, 0.05])
@pytest.mark.parametrize("offset", [-40.0, 0.0, -48.0, -40.02])
def test_resolution_is_learned_from_the_steps(step, offset):
    counts = [90, 90, 91, 90, 91, 92, 94, 93, 96, 97, 97, 98, 101, 102, 103]
    readings = [round(c * step + offset, 6) for c in counts]
    assert learned(readings) == pytest.approx(step, rel=1e-3)


def test_three_decimals_of_fahrenheit_steps_still_give_five_ninths():
    readings = [round((f - 32) / 1.8, 3) for f in (68, 69, 70, 72, 75, 85, 80, 81)]
    assert learned(readings) == pytest.approx(5 / 9, abs=0.003)


def test_two_degrees_skipped_at_first_do_not_make_a_coarse_sensor():
    assert learned([20.0, 22.0, 24.0]) == 1.0
    assert learned([20.0, 22.0, 24.0, 26.0, 28.0, 29.0]) == 1.0


def test_readings_without_a_grid_count_as_fine():
    readings = [20.0 + 0.7 * math.sqrt(n) for n in range(1, 40)]
    assert learned(readings) < 0.01


def test_one_reading_is_judged_by_its_digits():
    assert learned([31.0]) == 1.0
    assert learned([31.5]) == 0.5
    assert learned([31.0625]) == 0.0625
    assert learned([31.3]) == 0.1


@pytest.mark.parametrize("pair", [(1.5, 1.0), (1.0, 1.5), (0.5, 0.0), (0.0, 0.5)])
def test_common_step(pair):
    assert outliers.common_step_c(*pair) == pytest.approx(0.5)
