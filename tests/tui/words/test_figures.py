"""Numbers to text, against figures from outside the project."""

from __future__ import annotations

import math
from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.words import figures


# NIST SP 811 (2008), B.8 and 4.2.1.1: t/degF = 1.8 t/degC + 32; a difference of
# 1 degC is one of 1.8 degF. Water: 0 degC = 32 degF, 100 degC = 212 degF; both
# scales meet at -40.
@pytest.mark.parametrize(
    ("temp_c", "temp_f"), [(0, 32), (100, 212), (-40, -40), (37, 98.6), (35, 95)]
)
def test_fahrenheit(temp_c: float, temp_f: float) -> None:
    assert figures.in_unit(temp_c, "F") == pytest.approx(temp_f, abs=1e-12)
    assert figures.in_unit(temp_c, "C") == temp_c


def test_differences_have_no_offset() -> None:
    assert figures.difference_in_unit(10.0, "F") == pytest.approx(18.0)
    assert figures.spread(0.5, "C") == "±1.0"
    assert figures.spread(0.5, "F") == "±1.8"
    assert figures.rate(0.05, "F") == "5.4 °F/min"


def test_a_spread_is_rounded_up() -> None:
    assert figures.spread(0.101, "C") == "±0.3"
    assert figures.spread(0.0, "C") == "±0.1"


@pytest.mark.parametrize("value", [None, nan, inf, -inf, 1e6, -300.0])
def test_what_is_no_temperature_is_not_shown(value: float | None) -> None:
    assert figures.temperature(value, "C") == "--"
    assert figures.temperature_number(value, "F") == "--.-"


@pytest.mark.parametrize(
    ("value", "text"),
    [(24.64, "24.6"), (-0.04, "0.0"), (-8.0, "−8.0"), (104.46, "104.5")],
)
def test_temperature_number(value: float, text: str) -> None:
    assert figures.temperature_number(value, "C") == text


@pytest.mark.parametrize(
    ("seconds", "spoken", "clock"),
    [
        (0, "0 s", "0:00"),
        (-3, "0 s", "0:00"),
        (59.99, "59 s", "0:59"),
        (60, "1 min 00 s", "1:00"),
        (250, "4 min 10 s", "4:10"),
        (3599.9, "59 min 59 s", "59:59"),
        (3600, "1 h 00 min", "60:00"),
    ],
)
def test_times(seconds: float, spoken: str, clock: str) -> None:
    assert figures.spoken_time(seconds) == spoken
    assert figures.clock_time(seconds) == clock


@given(st.floats(0, 3600))
def test_a_range_is_only_ever_rounded_outwards(seconds: float) -> None:
    assert minutes(figures.early_time(seconds)) <= seconds
    assert minutes(figures.late_time(seconds)) >= seconds
    assert minutes(figures.late_time(seconds)) - seconds <= 10


def minutes(text: str) -> int:
    left, right = text.split(":")
    return 60 * int(left) + int(right)


@pytest.mark.parametrize(
    ("chance", "text"),
    [
        (0.0, "under 1 %"),
        (0.004, "under 1 %"),
        (0.123, "12 %"),
        (0.996, "over 99 %"),
        (1, "over 99 %"),
    ],
)
def test_percent_is_never_certain_by_rounding(chance: float, text: str) -> None:
    assert figures.percent(chance) == text
    assert figures.percent(nan) == "--"
    assert figures.percent(1.2) == "--"


@given(st.text())
def test_clean_text_is_one_printable_line(text: str) -> None:
    shown = figures.clean(text, 40)
    assert shown.isprintable()
    assert len(shown) <= 40


def test_clean_drops_what_steers_a_terminal() -> None:
    assert figures.clean("a\x1b[2Jb\x07\r\nc\u202ed") == "a [2Jb c d"


@pytest.mark.parametrize("ago_s", [math.nan, math.inf, -1.0])
def test_a_window_passed_nobody_knows_when_is_said_without_a_time(ago_s: float) -> None:
    from bridge.values.outlook import Passed
    from tui.words.outlook_wording import passed

    (said, *_) = passed(Passed(edge_c=50.0, ago_s=ago_s, back=None), "C")
    assert said.startswith("already above 50 °C")
