"""When it is due again: months, distance, severe use, whichever comes first."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.service.due import First, months_later, next_due
from bridge.values.service_sheet import Interval

DAY = date(2026, 11, 25)
BOTH = Interval(distance_km=60_000.0, months=48)


@pytest.mark.parametrize(
    ("day", "months", "then"),
    [
        (date(2023, 1, 31), 1, date(2023, 2, 28)),
        (date(2024, 1, 31), 1, date(2024, 2, 29)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2024, 2, 29), 48, date(2028, 2, 29)),
        (date(1896, 2, 29), 48, date(1900, 2, 28)),  # 1900 is no leap year
        (date(1996, 2, 29), 48, date(2000, 2, 29)),  # 2000 is one
        (date(2026, 8, 31), 13, date(2027, 9, 30)),
        (date(2026, 12, 15), 1, date(2027, 1, 15)),
        (date(2026, 11, 25), 0, date(2026, 11, 25)),
        (date(9999, 11, 30), 1, date(9999, 12, 30)),
    ],
)
def test_calendar_months(day, months, then):
    assert months_later(day, months) == then


def test_past_the_calendar_is_refused():
    with pytest.raises(ValueError, match="year 10000 is beyond"):
        months_later(date(9999, 12, 1), 1)
    for months in (-1, 1201):
        with pytest.raises(ValueError, match="must be 0 to 1200"):
            months_later(DAY, months)


@given(st.dates(date(1900, 1, 1), date(2200, 1, 1)), st.integers(0, 240))
def test_never_late_nor_over_three_days_early(day, months):
    then = months_later(day, months)
    assert (then.year * 12 + then.month) - (day.year * 12 + day.month) == months
    assert 0 <= day.day - then.day <= 3
    assert then.day == day.day or (then + timedelta(days=1)).day == 1


def test_both_limits():
    due = next_due(BOTH, DAY, odometer_km=81_250.0)
    assert due.on == date(2030, 11, 25)
    assert (due.distance_km, due.odometer_km) == (60_000.0, 141_250.0)
    assert due.first is First.EITHER
    assert due.reached_on is None
    assert due.severe_factor is None
    assert due.remind_on == due.on


def test_severe_use_halves_both():
    due = next_due(BOTH, DAY, odometer_km=81_250.0, severe=True)
    assert (due.on, due.odometer_km) == (date(2028, 11, 25), 111_250.0)
    assert due.severe_factor == 0.5


def test_the_sheets_own_factor_counts():
    interval = Interval(distance_km=50_000.0, months=10, severe_factor=0.3)
    due = next_due(interval, DAY, severe=True)
    assert due.distance_km == pytest.approx(15_000.0)
    assert due.on == months_later(DAY, 3)  # 0.3 x 10, whatever floats say
    odd = next_due(Interval(months=25), DAY, severe=True)
    assert odd.on == months_later(DAY, 12)  # half a month is dropped: never late


def test_whichever_comes_first():
    often = next_due(BOTH, DAY, yearly_km=30_000.0)
    assert often.reached_on == DAY + timedelta(days=730)  # 2 x 365.2425, whole days
    assert (often.first, often.remind_on) == (First.DISTANCE, often.reached_on)
    seldom = next_due(BOTH, DAY, yearly_km=5_000.0)
    assert (seldom.first, seldom.remind_on) == (First.DATE, seldom.on)
    parked = next_due(BOTH, DAY, yearly_km=0.0)
    assert (parked.reached_on, parked.first) == (None, First.EITHER)
    hardly = next_due(BOTH, DAY, yearly_km=0.001)
    assert (hardly.reached_on, hardly.remind_on) == (None, hardly.on)


def test_one_limit_or_none():
    distance = next_due(Interval(distance_km=1000.0), DAY)
    assert (distance.on, distance.first) == (None, First.DISTANCE)
    assert (distance.odometer_km, distance.remind_on) == (None, None)
    time = next_due(Interval(months=24), DAY, odometer_km=5.0, yearly_km=5_000.0)
    assert (time.distance_km, time.odometer_km) == (None, None)
    assert (time.first, time.reached_on) == (First.DATE, None)
    assert next_due(Interval(), DAY) is None


@pytest.mark.parametrize("factor", [0.0, -0.5, 1.1, float("nan")])
def test_an_impossible_factor_is_refused_only_when_used(factor):
    interval = Interval(months=12, severe_factor=factor)
    assert next_due(interval, DAY).on == date(2027, 11, 25)
    with pytest.raises(ValueError, match="severe use factor"):
        next_due(interval, DAY, severe=True)


@pytest.mark.parametrize("km", [-1.0, 3_000_001.0, float("nan"), float("inf")])
def test_impossible_distances_are_refused(km):
    with pytest.raises(ValueError, match="An odometer reading of"):
        next_due(BOTH, DAY, odometer_km=km)
    with pytest.raises(ValueError, match="A yearly distance of"):
        next_due(BOTH, DAY, yearly_km=km)
    with pytest.raises(ValueError, match="An interval of"):
        next_due(Interval(distance_km=km), DAY)


@given(
    st.integers(1, 1200), st.floats(1.0, 1e6), st.floats(0.05, 1.0), st.floats(1.0, 1e5)
)
def test_severe_is_never_later(months, km, factor, yearly):
    interval = Interval(distance_km=km, months=months, severe_factor=factor)
    usual = next_due(interval, DAY, odometer_km=10.0, yearly_km=yearly)
    severe = next_due(interval, DAY, odometer_km=10.0, yearly_km=yearly, severe=True)
    assert severe.on <= usual.on
    assert severe.odometer_km <= usual.odometer_km
    assert severe.remind_on <= usual.remind_on
    assert usual.remind_on == min(usual.on, usual.reached_on or date.max)


def test_an_interval_in_days_counts_days():
    # 1 January and 50 days: 20 February; half of it, 25 days: 26 January.
    told = Interval(days=50)
    assert next_due(told, date(2025, 1, 1)).on == date(2025, 2, 20)
    assert next_due(told, date(2025, 1, 1), severe=True).on == date(2025, 1, 26)
