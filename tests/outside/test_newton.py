"""Newton's law of cooling and the first-order step, recovered from exact curves.

The worked examples (cup in a room, cup in degF, bottle in a cold place, three
equal-interval readings, synthetic warm-up) are the textbook and general-reference
figures collected for first-order temperature response; the percentages of the
step response are the 63.2 % rule of any control textbook. Each curve is the
example's own closed form; the estimator sees rounded readings of it, never the
constants.

What is allowed comes from the job, not from what was measured. An error of the
forecast may be a twelfth of the wait: that is the 5 s in 60 s which are asked of
rough simulated curves, and an exact one must not do worse. And at the told moment the
curve may be at most half a degree from the level: temperatures over OBD-II count in
whole degrees (SAE J1979, PID 05), so nobody could see less.
"""

import math

import pytest

from bridge.thermal import estimator, forecast
from bridge.values.outlook import Outlook
from bridge.values.sheet import Window

MINUTE = 60.0


def celsius(fahrenheit):
    return (fahrenheit - 32.0) / 1.8


def newton(start_c, end_c, k_per_min):
    return lambda t_s: end_c + (start_c - end_c) * math.exp(-k_per_min * t_s / MINUTE)


def followed(curve, until_s, *, every_s=2.0, resolution_c=0.01):
    track = estimator.begin(estimator.Sensor(resolution_c=resolution_c))
    for n in range(int(until_s / every_s) + 1):
        reading = round(curve(n * every_s) / resolution_c) * resolution_c
        track = estimator.observe(track, t_s=n * every_s, temp_c=reading)
    return track


def ahead(track, low_c, high_c):
    window = Window(low_c=low_c, high_c=high_c)
    seen = forecast.forecast(track, window, now_s=track.t_s)
    return seen.opens, seen.shuts


def assert_tells(crossing, curve, now_s, level_c, truth_s):
    assert abs(crossing.p50_s - truth_s) <= SHARE * truth_s
    assert abs(curve(now_s + crossing.p50_s) - level_c) <= HALF_STEP_C
    # far ahead the late end may lie beyond the hour: heating may yet change
    late_s = math.inf if crossing.p95_s is None else crossing.p95_s
    assert crossing.p05_s - PRINTED_S <= truth_s <= late_s + PRINTED_S


SHARE = 5.0 / 60.0
HALF_STEP_C = 0.5
PRINTED_S = 0.0005 * MINUTE
"""The worked times are printed to a thousandth of a minute: known no better."""
CUP = newton(86.0, 21.0, 0.026013)
CUP_F = newton(celsius(200.0), celsius(70.0), 0.083527)
BOTTLE_K = math.log(28.0 / 17.0) / 30.0
BOTTLE = newton(celsius(72.0), celsius(44.0), BOTTLE_K)
WARM_UP = newton(20.0, 90.0, 1 / 20.0)


def test_cup_cools_to_50_when_newton_says():
    assert CUP(15 * MINUTE) == pytest.approx(65.0, abs=0.01)
    track = followed(CUP, 15 * MINUTE)
    truth_s = MINUTE * math.log(65.0 / 29.0) / 0.026013 - 15 * MINUTE
    crossing = ahead(track, 40.0, 50.0)[0]
    assert_tells(crossing, CUP, track.t_s, 50.0, truth_s)


def test_cup_in_fahrenheit_reaches_175_and_155():
    # 175 degF at 2.557 min, 155 degF at 5.087 min
    early = followed(CUP_F, 2 * MINUTE, every_s=1.0)
    late = followed(CUP_F, 4 * MINUTE, every_s=1.0)
    cold, warm, hot = celsius(120.0), celsius(155.0), celsius(175.0)
    assert_tells(ahead(early, cold, hot)[0], CUP_F, early.t_s, hot, 0.557 * MINUTE)
    assert_tells(ahead(late, cold, warm)[0], CUP_F, late.t_s, warm, 1.087 * MINUTE)


def test_bottle_reaches_50_fahrenheit_at_92_minutes():
    # asked at the hour, half an hour and 2.4 degC before
    assert BOTTLE(60 * MINUTE) == pytest.approx(celsius(54.32), abs=0.01)
    track = followed(BOTTLE, 60 * MINUTE, every_s=5.0)
    crossing = ahead(track, celsius(45.0), celsius(50.0))[0]
    truth_s = (92.61 - 60.0) * MINUTE
    assert_tells(crossing, BOTTLE, track.t_s, celsius(50.0), truth_s)


def test_three_readings_and_the_final_value():
    # 70, 60, 53 degF at equal intervals end at 36.667 degF
    end_f = (70 * 53 - 60**2) / (70 + 53 - 2 * 60)
    assert end_f == pytest.approx(36.667, abs=0.001)
    k_per_min = math.log((60 - end_f) / (53 - end_f)) / 10.0
    curve = newton(celsius(70.0), celsius(end_f), k_per_min)
    assert curve(20 * MINUTE) == pytest.approx(celsius(53.0), abs=0.01)
    track = followed(curve, 60 * MINUTE, every_s=4.0)
    told = forecast.forecast(track, Window(low_c=-9.0, high_c=-4.0), now_s=track.t_s)
    # its own doubt must cover the error, and must not be so large as to say nothing:
    # the last reading is 6 degC above the end
    off = abs(told.settles_at_c - celsius(end_f))
    assert off <= 2.0 * told.settles_at_sd_c
    assert told.settles_at_sd_c < 3.0


@pytest.mark.parametrize(
    ("level_c", "at_min"),
    [(30.0, 3.083), (35.0, 4.823), (40.0, 6.729), (45.0, 8.837), (50.0, 11.192)],
)
@pytest.mark.few(2)
def test_warm_up_reaches_each_level(level_c, at_min):
    track = followed(WARM_UP, at_min * MINUTE - 60.0, resolution_c=1 / 16)
    crossing = ahead(track, level_c, level_c + 10.0)[0]
    assert_tells(crossing, WARM_UP, track.t_s, level_c, at_min * MINUTE - track.t_s)


def test_35_to_45_lasts_four_minutes():
    track = followed(WARM_UP, 4.823 * MINUTE - 90.0, resolution_c=1 / 16)
    opens, shuts = ahead(track, 35.0, 45.0)
    lasts_s = shuts.p50_s - opens.p50_s
    assert lasts_s == pytest.approx(4.01 * MINUTE, rel=SHARE)


@pytest.mark.parametrize(
    ("taus", "share"),
    [(1, 0.63212), (2, 0.86466), (3, 0.95021), (4, 0.98168), (5, 0.99326)],
)
@pytest.mark.few(1)
def test_step_response_is_followed_at_one_degree(taus, share):
    # tau 10 min, step from 20 by 70 degC, seen through a sensor of whole degrees
    curve = newton(20.0, 90.0, 1 / 10.0)
    track = followed(curve, taus * 10 * MINUTE, every_s=1.0, resolution_c=1.0)
    seen = estimator.estimate(track, now_s=track.t_s)
    assert seen.temp_c == pytest.approx(20.0 + 70.0 * share, abs=HALF_STEP_C)
    assert abs(seen.temp_c - (20.0 + 70.0 * share)) <= 3 * seen.temp_sd_c


def test_a_level_beyond_the_final_value_may_never_come():
    track = followed(WARM_UP, 25 * MINUTE, resolution_c=1 / 16)
    told = forecast.forecast(track, Window(low_c=95.0, high_c=99.0), now_s=track.t_s)
    assert told.outlook is Outlook.MAY_NEVER
    assert told.opens is not None
    assert told.opens.p95_s is None
    assert abs(told.settles_at_c - 90.0) <= 2.0 * told.settles_at_sd_c
    # 20 degC are still missing then: knowing the end to a quarter of that is news
    assert told.settles_at_sd_c < 5.0
