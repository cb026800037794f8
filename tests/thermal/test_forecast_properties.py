"""What must hold for any readings whatever."""

import math

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from bridge.thermal import bank_horizon, bank_models, estimator, filter_bank, forecast
from bridge.thermal.estimator import Sensor
from bridge.values.sheet import Window
from tests.everyday import examples

WINDOW = Window(low_c=35.0, high_c=45.0)
floats = st.floats(allow_nan=True, allow_infinity=True)
walks = st.lists(
    st.tuples(st.floats(0.05, 60.0), st.floats(-1.5, 1.5)), min_size=1, max_size=25
)


def walked(walk, *, shift_s=0.0, shift_c=0.0, resolution_c=0.5):
    track = estimator.begin(Sensor(resolution_c=resolution_c))
    t_s, temp_c = 0.0, 36.0
    for gap_s, change_c in walk:
        # in binary fractions, so that a shift in time is exact: a minute stays one
        t_s, temp_c = t_s + math.ceil(gap_s * 64.0) / 64.0, temp_c + change_c
        reading = round(temp_c / resolution_c) * resolution_c
        track = estimator.observe(track, t_s=t_s + shift_s, temp_c=reading + shift_c)
    return track


def numbers(told):
    out = [told.inside_chance, *told.stays]
    for crossing in (told.opens, told.shuts):
        if crossing is not None:
            out += [crossing.p05_s, crossing.p50_s, crossing.p95_s, crossing.chance]
    return [math.inf if n is None else n for n in out]


@examples(40)
@given(walks, st.floats(0.0, 300.0))
def test_quantiles_are_ordered_and_chances_are_chances(walk, later_s):
    track = walked(walk)
    told = forecast.forecast(track, WINDOW, now_s=track.t_s + later_s)
    for crossing in (told.opens, told.shuts):
        if crossing is None:
            continue
        q = [
            math.inf if x is None else x
            for x in (crossing.p05_s, crossing.p50_s, crossing.p95_s)
        ]
        assert 0.0 <= q[0] <= q[1] <= q[2]
        assert 0.0 <= crossing.chance <= 1.0
    assert 0.0 <= told.inside_chance <= 1.0
    assert list(told.stays) == sorted(told.stays, reverse=True)
    assert all(0.0 <= chance <= 1.0 for chance in told.stays)


@examples(20)
@given(walks, st.integers(-40, 40), st.integers(-5000, 5000))
@example([(1.0, 0.0), (0.99999, 0.0), (60.0, 0.0)], 0, -30)
def test_shifting_time_or_temperature_and_window_changes_nothing(walk, by_c, by_s):
    plain = walked(walk)
    moved = walked(walk, shift_s=float(by_s), shift_c=float(by_c))
    window = Window(low_c=35.0 + by_c, high_c=45.0 + by_c)
    one = forecast.forecast(plain, WINDOW, now_s=plain.t_s)
    two = forecast.forecast(moved, window, now_s=moved.t_s)
    assert one.outlook is two.outlook
    assert numbers(one) == pytest.approx(numbers(two), rel=1e-5, abs=1e-5)


@examples(20)
@given(walks)
def test_two_runs_agree_to_the_last_digit(walk):
    one, two = walked(walk), walked(walk)
    assert forecast.forecast(one, WINDOW, now_s=one.t_s) == forecast.forecast(
        two, WINDOW, now_s=two.t_s
    )


@examples(60)
@given(st.lists(st.tuples(floats, floats), max_size=12))
def test_no_float_whatever_raises(readings):
    track = estimator.begin(Sensor())
    for t_s, temp_c in readings:
        track = estimator.observe(track, t_s=t_s, temp_c=temp_c)
    if track.t_s is not None:
        told = forecast.forecast(track, WINDOW, now_s=track.t_s)
        assert 0.0 <= told.inside_chance <= 1.0
        seen = estimator.estimate(track, now_s=track.t_s)
        assert math.isfinite(seen.temp_c)
        assert math.isfinite(seen.temp_sd_c)


@pytest.mark.parametrize("dt_s", [1e-4, 0.2, 1.0, 17.3, 60.0, 3600.0])
def test_the_chains_conserve_chance(dt_s):
    change = bank_models.step(bank_models.GRID, dt_s)
    assert change.moods.sum(axis=1) == pytest.approx(1.0, abs=1e-9)
    assert change.paths.sum(axis=0) == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("dt_s", [0.2, 1.0, 60.0])
def test_two_half_steps_of_the_noise_make_a_whole_one(dt_s):
    grid = bank_models.GRID
    half, whole = bank_models.step(grid, dt_s / 2), bank_models.step(grid, dt_s)
    twice = half.cov @ half.noise + half.noise
    assert np.allclose(twice, whole.noise, rtol=1e-6, atol=1e-18)
    assert np.allclose(half.cov @ half.cov, whole.cov, rtol=1e-9)


def test_the_series_of_the_noise_meets_its_closed_form():
    k = np.array([1e-3])
    below = bank_models.unit_noise(k, 0.999999)
    above = bank_models.unit_noise(k, 1.000001)
    for small, big in zip(below, above, strict=True):
        assert small == pytest.approx(big, rel=1e-4)


def test_a_truncated_bell_has_the_textbook_moments():
    # N(0, 1) between -1 and 2: mean and variance by numerical integration
    x = np.linspace(-1.0, 2.0, 200_001)
    density = np.exp(-0.5 * x * x) / math.sqrt(2 * math.pi)
    dx = x[1] - x[0]
    area = float(((density[1:] + density[:-1]) / 2).sum() * dx)
    mean = float((x * density).sum() * dx / area)
    var = float(((x - mean) ** 2 * density).sum() * dx / area)
    got = filter_bank.truncated(np.array([[0.0]]), np.array([[1.0]]), -1.0, 2.0)
    assert [float(v[0, 0]) for v in got] == pytest.approx([area, mean, var], rel=1e-4)


def test_far_in_the_tail_the_interval_still_pulls_the_right_way():
    for mean in (-60.0, -8.0, 8.0, 60.0):
        chance, seen, left = filter_bank.truncated(
            np.array([[mean]]), np.array([[1.0]]), -0.5, 0.5
        )
        assert chance[0, 0] >= 0.0
        assert abs(seen[0, 0]) <= 0.5 + 1e-9
        assert 0.0 < left[0, 0] <= 1.0


def test_noise_ahead_agrees_with_stepping_there():
    # one mode for ever: the tables must give what single steps give
    calm = bank_models.build(
        bank_models.BankSettings(
            slow_density=(1e-9, 1e-9),
            fast_density=(1e-6, 1e-6),
            stay_s=(1e12, 1e12),
            driven=(False, False),
            jump_every_s=1e15,
        )
    )
    table = bank_horizon.tables(calm)
    last = len(bank_horizon.HORIZONS_S) - 1
    for h in (5, 40, last):
        change = bank_models.step(calm, float(bank_horizon.HORIZONS_S[h]))
        stepped = pytest.approx(change.noise[:, filter_bank.TT, 0], rel=1e-6)
        assert table.calm_noise[:, 0, h] == stepped
        assert table.stirred_noise[:, 0, h] == stepped
