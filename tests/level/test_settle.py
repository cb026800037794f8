"""Settle times as distributions: scaling, staying until settled, a short window."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.level.settling.outlasting import (
    HELP_TEXT,
    Help,
    helps,
    outlasts,
)
from bridge.level.settling.settle_time import (
    SettleTime,
    scaled_s,
    stay_until_settled,
    usual,
)
from bridge.level.viscosity import ratio
from bridge.values.outlook import Crossing, Trend
from bridge.values.sheet import EngineRule, Window

WINDOW = Window(low_c=35.0, high_c=45.0)


def test_the_usual_time_is_lognormal_about_the_sheets():
    settle = usual(60.0, 0.2)
    assert settle.p50_s == pytest.approx(60.0)
    assert settle.p05_s == pytest.approx(60.0 * 2.71828 ** (-0.329), rel=0.03)
    assert settle.p95_s == pytest.approx(60.0 * 2.71828**0.329, rel=0.03)


def test_without_spread_it_is_a_plain_time():
    settle = usual(60.0, 0.0)
    assert settle.p05_s == settle.p95_s == pytest.approx(60.0)
    assert (settle.settled_chance(59.0), settle.settled_chance(61.0)) == (0.0, 1.0)


@pytest.mark.parametrize("bad", [(0.0, 0.2), (-1.0, 0.2), (60.0, -0.1), (1e999, 0.2)])
def test_impossible_times_are_refused(bad):
    with pytest.raises(ValueError, match="settle time"):
        usual(*bad)


def test_a_cold_fluid_takes_as_much_longer_as_it_is_thicker():
    cold = scaled_s(60.0, temp_c=20.0, reference_c=40.0)
    assert cold / 60.0 == pytest.approx(ratio(20.0, 40.0))
    # ASTM D341 for 30/6.0 mm2/s: 2.367 times as thick at 20 as at 40 °C
    assert cold / 60.0 == pytest.approx(2.367, abs=0.001)


@given(st.floats(1, 300), st.floats(0.05, 0.6), st.floats(0, 600))
def test_chance_and_quantile_agree(middle, spread, elapsed):
    settle = usual(middle, spread)
    chance = settle.settled_chance(elapsed)
    assert 0.0 <= chance <= 1.0
    if 0.1 < chance < 0.9:
        assert settle.quantile_s(chance) == pytest.approx(elapsed, rel=1e-6)


@given(st.floats(1, 300), st.floats(0, 600))
def test_what_is_left_is_never_negative(middle, elapsed):
    left = usual(middle, 0.3).after(elapsed)
    assert all(p >= 0.0 for p in left.points_s)


def test_staying_averages_over_the_settle_time():
    # inside for 60 s for sure and not a second longer: half the points are shorter
    chance = stay_until_settled(lambda s: 1.0 if s <= 60.0 else 0.0, usual(60.0))
    assert chance == pytest.approx(0.5, abs=0.05)


def test_the_persons_delay_counts():
    stays = lambda s: max(0.0, 1.0 - s / 200.0)  # noqa: E731
    prompt = stay_until_settled(stays, usual(60.0))
    slow = stay_until_settled(stays, usual(60.0), delay_s=20.0)
    assert prompt - slow == pytest.approx(0.1, abs=1e-6)


@pytest.mark.parametrize("doubt", [None, float("nan")])
def test_one_unknown_makes_the_whole_unknown(doubt):
    stays = lambda s: 1.0 if s < 80.0 else doubt  # noqa: E731
    assert stay_until_settled(stays, usual(60.0)) is None


def crossing(p05, p50, p95, chance=1.0):
    return Crossing(p05_s=p05, p50_s=p50, p95_s=p95, chance=chance)


def test_a_long_passage_outlasts_a_short_one_does_not():
    opens = crossing(100.0, 110.0, 120.0)
    settle = usual(60.0)
    assert outlasts(opens, crossing(330, 350, 370), settle) > 0.99
    assert outlasts(opens, crossing(140, 150, 160), settle) < 0.05
    even = outlasts(opens, crossing(155, 170, 185), settle)
    assert even == pytest.approx(0.5, abs=0.1)
    assert outlasts(opens, crossing(155, 170, 185), settle, delay_s=10.0) < even


def test_a_window_that_is_never_left_is_long_enough():
    never = crossing(None, None, None, 0.02)
    assert outlasts(crossing(1, 2, 3), never, usual(60.0)) == pytest.approx(0.98)


@pytest.mark.parametrize(
    ("opens", "shuts"),
    [
        (None, crossing(1, 2, 3)),
        (crossing(1, 2, 3), None),
        (crossing(None, None, None, 0.6), crossing(1, 2, 3)),
        (crossing(1, 2, 3), crossing(100, None, None, 0.7)),
        (crossing(1, 50, 60), crossing(10, 20, 30)),
    ],
)
def test_a_passage_that_is_not_told_is_none(opens, shuts):
    assert outlasts(opens, shuts, usual(60.0)) is None


def test_every_help_has_a_line_and_fits_the_trend():
    assert set(HELP_TEXT) == set(Help)
    assert Help.COOL_FIRST in helps(Trend.WARMING, EngineRule.IDLING)
    assert Help.COOL_FIRST not in helps(Trend.COOLING, EngineRule.OFF)


def test_points_in_order_are_kept():
    settle = SettleTime(points_s=(10.0, 20.0, 30.0))
    assert settle.p50_s == 20.0
    assert settle.settled_chance(20.0) == pytest.approx(0.5)
    assert settle.after(25.0).points_s == (5.0,)
    assert settle.after(35.0).points_s == (0.0,)
