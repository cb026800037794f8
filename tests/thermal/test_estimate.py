"""The track: readings in, temperature and slope out."""

import math
from dataclasses import FrozenInstanceError

import numpy as np
import pytest

from bridge.thermal import estimator
from bridge.thermal.bank_horizon import driven_share, merge
from bridge.thermal.estimator import Rounding, Sensor, ThermalEvent
from bridge.thermal.lesson import lesson
from bridge.thermal.prior import Prior
from bridge.thermal.surroundings import surroundings
from bridge.values.outlook import Trend


def ramp(rate_c_per_s, *, start_c=20.0, count=300, resolution_c=1.0, sensor=None):
    track = estimator.begin(sensor or Sensor())
    for n in range(count):
        reading = round((start_c + rate_c_per_s * n) / resolution_c) * resolution_c
        track = estimator.observe(track, t_s=float(n), temp_c=reading)
    return track


def test_nothing_is_known_before_the_first_reading():
    track = estimator.begin(Sensor())
    assert track.t_s is None
    assert not track.accepted
    assert not track.learning
    assert track.readings == 0
    assert estimator.estimate(track, now_s=5.0) is None


def test_first_reading_gives_its_temperature_and_no_trend():
    track = estimator.observe(estimator.begin(Sensor()), t_s=3.0, temp_c=25.0)
    seen = estimator.estimate(track, now_s=3.0)
    assert (track.t_s, track.accepted, track.readings) == (3.0, True, 1)
    assert seen.temp_c == pytest.approx(25.0)
    assert seen.temp_sd_c >= 0.5
    assert seen.trend is Trend.UNKNOWN


@pytest.mark.parametrize("resolution_c", [1.0, 0.5, 1 / 16])
@pytest.mark.parametrize("rate", [0.05, 0.02, -0.03])
@pytest.mark.few(3)
def test_a_ramp_is_seen_through_the_rounding(rate, resolution_c):
    track = ramp(rate, resolution_c=resolution_c, count=400, start_c=50.0)
    seen = estimator.estimate(track, now_s=399.0)
    truth = 50.0 + rate * 399
    assert abs(seen.temp_c - truth) <= 3 * seen.temp_sd_c
    assert abs(seen.temp_c - truth) <= 0.3 * resolution_c + 0.05
    assert seen.rate_c_per_s == pytest.approx(rate, rel=0.15)
    assert seen.trend is (Trend.WARMING if rate > 0 else Trend.COOLING)


def test_a_constant_reading_is_steady_and_tells_little_inside_its_step():
    track = ramp(0.0, start_c=40.0, count=600)
    seen = estimator.estimate(track, now_s=599.0)
    assert seen.trend is Trend.STEADY
    assert seen.temp_c == pytest.approx(40.0, abs=0.3)
    assert seen.temp_sd_c > 0.05


def test_doubt_grows_while_nothing_is_read():
    track = ramp(0.03)
    sds = [
        estimator.estimate(track, now_s=299.0 + gap).temp_sd_c
        for gap in (0.0, 2.0, 10.0, 60.0, 600.0)
    ]
    assert sds == sorted(sds)
    assert sds[-1] > 2 * sds[0]


def test_rounding_down_means_half_a_step_more():
    near = ramp(0.03)
    down = ramp(0.03, sensor=Sensor(rounding=Rounding.DOWN))
    gap = (
        estimator.estimate(down, now_s=299.0).temp_c
        - estimator.estimate(near, now_s=299.0).temp_c
    )
    assert gap == pytest.approx(0.5, abs=1e-6)


def test_a_known_resolution_is_taken_as_given():
    # readings that happen to be whole while the sensor counts in sixteenths
    fine = ramp(0.0, start_c=40.0, sensor=Sensor(resolution_c=1 / 16))
    coarse = ramp(0.0, start_c=40.0)
    assert (
        estimator.estimate(fine, now_s=299.0).temp_sd_c
        < estimator.estimate(coarse, now_s=299.0).temp_sd_c
    )


def test_a_noisy_hand_thermometer_is_trusted_less():
    clean = ramp(0.03, resolution_c=1 / 16)
    noisy = ramp(0.03, resolution_c=1 / 16, sensor=Sensor(sd_c=1.0))
    assert (
        estimator.estimate(noisy, now_s=299.0).temp_sd_c
        > 2 * estimator.estimate(clean, now_s=299.0).temp_sd_c
    )


@pytest.mark.parametrize("bad", [None, math.nan, math.inf, -math.inf])
def test_a_dropout_changes_nothing_but_the_acceptance(bad):
    before = ramp(0.03)
    after = estimator.observe(before, t_s=300.0, temp_c=bad)
    assert not after.accepted
    assert (after.t_s, after.readings) == (before.t_s, before.readings)
    assert estimator.estimate(after, now_s=300.0) == estimator.estimate(
        before, now_s=300.0
    )


def test_a_spike_is_not_believed():
    before = ramp(0.03)
    after = estimator.observe(before, t_s=300.0, temp_c=90.0)
    assert not after.accepted
    assert after.t_s == before.t_s
    assert estimator.estimate(after, now_s=300.0).temp_c < 30.0


def test_four_readings_that_agree_on_a_jump_are_believed():
    track = ramp(0.03)
    for n in range(3):
        track = estimator.observe(track, t_s=300.0 + n, temp_c=60.0)
        assert not track.accepted
    track = estimator.observe(track, t_s=303.0, temp_c=60.0)
    assert track.accepted
    seen = estimator.estimate(track, now_s=303.0)
    assert seen.temp_c == pytest.approx(60.0, abs=0.6)
    assert seen.rate_sd_c_per_s > 0.05


def test_time_going_backwards_is_not_believed_and_widens_doubt():
    before = ramp(0.03)
    after = estimator.observe(before, t_s=100.0, temp_c=29.0)
    assert not after.accepted
    assert after.t_s == before.t_s
    assert (
        estimator.estimate(after, now_s=299.0).temp_sd_c
        > estimator.estimate(before, now_s=299.0).temp_sd_c
    )


def test_a_stuck_sensor_loses_its_warming_and_is_not_called_sure():
    track = ramp(0.06, count=400)
    moving = estimator.estimate(track, now_s=399.0)
    last = round(20.0 + 0.06 * 399)
    for n in range(400, 480):
        track = estimator.observe(track, t_s=float(n), temp_c=float(last))
    stuck = estimator.estimate(track, now_s=479.0)
    assert stuck.rate_c_per_s < 0.5 * moving.rate_c_per_s
    assert stuck.rate_sd_c_per_s > moving.rate_sd_c_per_s


def test_repeats_within_a_second_do_not_count_twice():
    once, often = estimator.begin(Sensor()), estimator.begin(Sensor())
    for n in range(200):
        reading = round(20 + 0.05 * n + 0.3 * math.sin(0.9 * n), 1)
        once = estimator.observe(once, t_s=float(n), temp_c=reading)
        for part in range(5):
            often = estimator.observe(often, t_s=n + part / 5, temp_c=reading)
    one, many = (
        estimator.estimate(once, now_s=200.0),
        estimator.estimate(often, now_s=200.0),
    )
    assert many.temp_sd_c == pytest.approx(one.temp_sd_c, rel=0.3)


def test_learning_lasts_a_minute_after_a_selector_exercise():
    track = ramp(0.03)
    track = estimator.announce(track, t_s=300.0, event=ThermalEvent.SELECTOR_EXERCISE)
    assert track.learning
    assert track.learning_at(359.0)
    assert not track.learning_at(361.0)
    seen = estimator.estimate(track, now_s=300.0)
    assert seen.rate_sd_c_per_s > 0.05


def test_opening_the_plug_does_not_disturb_the_forecast():
    before = ramp(0.03)
    after = estimator.announce(before, t_s=300.0, event=ThermalEvent.PLUG_OPENED)
    assert not after.learning
    assert estimator.estimate(after, now_s=300.0) == estimator.estimate(
        before, now_s=300.0
    )


def test_engine_speed_tells_start_and_stop_but_its_first_value_is_no_event():
    track = surroundings(ramp(0.03), t_s=300.0, engine_rpm=750.0)
    assert not track.learning
    track = surroundings(track, t_s=301.0, engine_rpm=780.0)
    assert not track.learning
    track = surroundings(track, t_s=302.0, engine_rpm=0.0)
    assert track.learning
    assert track.learning_at(361.0)


@pytest.mark.parametrize("bad", [None, math.nan, math.inf])
def test_surroundings_without_a_number_are_not_taken(bad):
    track = surroundings(
        ramp(0.03), t_s=300.0, ambient_c=bad, coolant_c=bad, engine_rpm=bad
    )
    assert (track.ambient_c, track.coolant_c, track.engine) == (None, None, None)


def test_events_before_any_reading_are_survived():
    track = estimator.begin(Sensor())
    for event in ThermalEvent:
        track = estimator.announce(track, t_s=0.0, event=event)
    track = estimator.observe(track, t_s=1.0, temp_c=20.0)
    assert estimator.estimate(track, now_s=1.0) is not None


def test_an_older_track_stays_as_it_was():
    track = ramp(0.03)
    told = estimator.estimate(track, now_s=310.0)
    kept = track.bank.mean.copy(), track.bank.cov.copy(), track.bank.weight.copy()
    later = estimator.observe(track, t_s=300.0, temp_c=29.0)
    estimator.announce(later, t_s=301.0, event=ThermalEvent.ENGINE_STOPPED)
    assert estimator.estimate(track, now_s=310.0) == told
    for old, now in zip(
        kept, (track.bank.mean, track.bank.cov, track.bank.weight), strict=True
    ):
        assert np.array_equal(old, now)
    with pytest.raises(FrozenInstanceError):
        track.t_s = 5.0


def test_a_long_gap_starts_over_instead_of_guessing():
    track = estimator.observe(ramp(0.03), t_s=299.0 + 4000.0, temp_c=25.0)
    assert track.accepted
    assert estimator.estimate(track, now_s=4299.0).rate_sd_c_per_s > 0.05


@pytest.mark.slow
def test_memory_does_not_grow():
    track = ramp(0.01, count=50)

    def size(track):
        return len(track.recent) + len(track.odd) + len(track.absorbed)

    for n in range(50, 3000):
        track = estimator.observe(track, t_s=n / 5, temp_c=20 + (n * 7 % 11) / 16)
    assert size(track) <= 16


def test_no_lesson_from_a_minute():
    assert lesson(ramp(0.03, count=30)) is None


def test_a_lesson_shapes_the_next_job():
    first = ramp(0.03, count=900, resolution_c=1 / 16)
    prior = lesson(first)
    assert prior.jobs == 1
    for chances in (prior.paths, prior.noises, prior.modes):
        assert sum(chances) == pytest.approx(1.0)
        assert min(chances) > 0.0
    second = estimator.begin(Sensor(), prior=prior)
    for n in range(150):
        reading = round((20 + 0.03 * n) * 16) / 16
        second = estimator.observe(second, t_s=float(n), temp_c=reading)
    plain = ramp(0.03, count=150, resolution_c=1 / 16)
    assert (
        estimator.estimate(second, now_s=149.0).rate_sd_c_per_s
        < estimator.estimate(plain, now_s=149.0).rate_sd_c_per_s
    )
    assert lesson(second).jobs == 2


def test_a_lesson_of_another_shape_is_ignored():
    odd = Prior(paths=(1.0,), noises=(1.0,), modes=(1.0,))
    one = estimator.observe(estimator.begin(Sensor(), prior=odd), t_s=0.0, temp_c=20.0)
    two = estimator.observe(estimator.begin(Sensor()), t_s=0.0, temp_c=20.0)
    assert estimator.estimate(one, now_s=9.0) == estimator.estimate(two, now_s=9.0)


def test_a_suspended_computer_is_survived():
    track = estimator.announce(ramp(0.03), t_s=1e9, event=ThermalEvent.ENGINE_STOPPED)
    track = estimator.observe(track, t_s=1e9 + 1.0, temp_c=22.0)
    assert estimator.estimate(track, now_s=1e9 + 1.0).temp_c == pytest.approx(
        22.0, abs=3.0
    )


def test_a_car_that_says_it_stands_is_hardly_heated_as_a_driven_one() -> None:
    def driven(track: estimator.Track) -> float:
        bank = estimator.bank_at(track, now_s=300.0)
        assert bank is not None
        return driven_share(track.grid, merge(bank))

    free = ramp(0.03)
    stands = surroundings(free, t_s=300.0, speed_kmh=0.0)
    moves = surroundings(stands, t_s=300.0, speed_kmh=30.0)
    assert driven(stands) < 0.3 * driven(free)
    assert driven(moves) == pytest.approx(driven(free))
    early = surroundings(estimator.begin(estimator.Sensor()), t_s=0.0, speed_kmh=0.0)
    told = estimator.observe(early, t_s=0.0, temp_c=20.0)
    untold = estimator.observe(
        estimator.begin(estimator.Sensor()), t_s=0.0, temp_c=20.0
    )
    assert driven(told) < 0.3 * driven(untold)
