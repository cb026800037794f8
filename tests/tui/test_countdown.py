"""The countdowns: sense, words, bars, and a tick that runs smoothly."""

from __future__ import annotations

from itertools import pairwise
from math import nan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.values.outlook import Crossing
from tests.tui.stage import crossing
from tui.live.countdown import Countdown, Tick, counting, sound, steady
from tui.widgets.glyphs import ASCII, RICH
from tui.widgets.timeline import bar, scale_for

FOUR_TEN = Crossing(p05_s=221.0, p50_s=250.9, p95_s=288.0, chance=0.99)


def test_the_sentences() -> None:
    made = counting("opens", FOUR_TEN, 250.9, "cannot tell")
    assert made.sentences[0] == "opens in 4 min 10 s, likely between 3:40 and 4:50"
    assert made.sentences[-1] == "opens in 4:10"
    assert (made.label, made.big, made.big_unit) == ("opens in", "4:10", "")
    assert sorted(map(len, made.sentences), reverse=True) == [
        len(s) for s in made.sentences
    ]


def test_over_ten_minutes_the_big_figure_is_whole_minutes() -> None:
    made = counting("shuts", crossing(755.0), 755.0, "cannot tell")
    assert (made.big, made.big_unit) == ("12", "min")


def test_no_forecast_says_so() -> None:
    made = counting("opens", None, None, "cannot tell yet")
    assert made.sentences[0] == "opens: cannot tell yet"
    assert (made.big, made.early_s) == ("", None)


@pytest.mark.parametrize(
    "bad",
    [
        Crossing(p05_s=nan, p50_s=10.0, p95_s=20.0, chance=0.9),
        Crossing(p05_s=-1.0, p50_s=10.0, p95_s=20.0, chance=0.9),
        Crossing(p05_s=30.0, p50_s=10.0, p95_s=20.0, chance=0.9),
        Crossing(p05_s=5.0, p50_s=None, p95_s=20.0, chance=0.9),
        Crossing(p05_s=5.0, p50_s=10.0, p95_s=20.0, chance=nan),
        Crossing(p05_s=5.0, p50_s=10.0, p95_s=20.0, chance=1.5),
        None,
    ],
)
def test_a_crossing_that_makes_no_sense_is_none(bad: Crossing | None) -> None:
    assert sound(bad) is None


def test_beyond_the_horizon_is_not_known() -> None:
    far = Crossing(p05_s=3000.0, p50_s=3500.0, p95_s=9000.0, chance=0.6)
    good = sound(far)
    assert good is not None
    assert (good.p50_s, good.p95_s) == (3500.0, None)


def test_a_perfect_forecast_ticks_exactly() -> None:
    tick: Tick | None = None
    for k in range(100):
        tick = steady(tick, 0.2 * k, 250.0 - 0.2 * k, cautious=False)
        assert tick.left_s == pytest.approx(250.0 - 0.2 * k)


def test_jitter_is_not_seen_as_ticking_back() -> None:
    tick: Tick | None = None
    shown = []
    for k in range(200):
        jitter = 2.0 if k % 2 else -2.0
        tick = steady(tick, 0.2 * k, 250.0 - 0.2 * k + jitter, cautious=False)
        shown.append(tick.left_s)
    assert all(b < a for a, b in pairwise(shown))
    assert all(abs(s - (250.0 - 0.2 * k)) <= 2.5 for k, s in enumerate(shown))


def test_a_changed_forecast_is_shown_at_once() -> None:
    tick = steady(Tick(t_s=0.0, left_s=250.0), 0.2, 200.0, cautious=False)
    assert tick.left_s == 200.0


@settings(deadline=None)
@given(st.lists(st.floats(0, 3600), min_size=1, max_size=50))
def test_shutting_is_never_shown_later_than_forecast(forecasts: list[float]) -> None:
    tick: Tick | None = None
    for k, left_s in enumerate(forecasts):
        tick = steady(tick, 0.2 * k, left_s, cautious=True)
        assert tick.left_s <= left_s


@settings(deadline=None)
@given(st.lists(st.floats(0, 3600), min_size=1, max_size=50))
def test_the_shown_value_stays_near_the_forecast(forecasts: list[float]) -> None:
    tick: Tick | None = None
    for k, left_s in enumerate(forecasts):
        tick = steady(tick, 0.2 * k, left_s, cautious=False)
        assert abs(tick.left_s - left_s) <= max(1.5, 0.03 * left_s) + 1e-9


def test_a_pause_or_a_jump_back_in_time_starts_afresh() -> None:
    for t_s in (-1.0, 11.0):
        assert (
            steady(Tick(t_s=0.0, left_s=99.0), t_s, 100.0, cautious=True).left_s == 100
        )


@pytest.mark.parametrize("glyphs", [RICH, ASCII])
def test_the_bar_stands_where_the_times_are(glyphs: object) -> None:
    event = Countdown(label="", early_s=100.0, middle_s=150.0, late_s=199.0)
    drawn = "".join(text for text, _ in bar(event, 300.0, 30, glyphs))
    assert len(drawn) == 30
    assert drawn.index(glyphs.middle) == 15
    assert drawn.index(glyphs.range_bar) == 10
    assert drawn.rindex(glyphs.range_bar) == 19


def test_a_bar_with_an_open_end_says_so() -> None:
    event = Countdown(label="", early_s=1800.0, middle_s=None, late_s=None)
    drawn = "".join(text for text, _ in bar(event, 3600.0, 40, RICH))
    assert drawn.endswith("▶")
    assert scale_for(event) == 3600.0


@pytest.mark.parametrize(("late", "scale"), [(59.0, 60.0), (61.0, 120.0), (700, 1200)])
def test_the_scale_holds_the_longest_time(late: float, scale: float) -> None:
    events = (
        Countdown(label="", early_s=10.0, middle_s=20.0, late_s=30.0),
        Countdown(label="", early_s=10.0, middle_s=20.0, late_s=late),
    )
    assert scale_for(*events) == scale


@settings(deadline=None)
@given(st.floats(0, 3600), st.floats(0, 3600), st.floats(0, 3600), st.integers(1, 200))
def test_a_bar_is_as_wide_as_asked(a: float, b: float, c: float, width: int) -> None:
    early, middle, late = sorted((a, b, c))
    event = Countdown(label="", early_s=early, middle_s=middle, late_s=late)
    drawn = "".join(t for t, _ in bar(event, scale_for(event), width, RICH))
    assert len(drawn) == width
    assert RICH.middle in drawn


def test_a_jump_says_why_for_a_while_and_a_smooth_tick_does_not():
    calm = steady(None, 0.0, 100.0, cautious=False)
    calm = steady(calm, 1.0, 99.2, cautious=False)
    assert calm.revision_s is None
    jumped = steady(calm, 2.0, 140.0, cautious=False)
    assert jumped.revision_s == pytest.approx(42.0, abs=0.5)
    later = steady(jumped, 9.0, 133.0, cautious=False)
    assert later.revision_s == jumped.revision_s
    assert steady(later, 11.0, 131.0, cautious=False).revision_s is None


def test_the_sentence_names_the_revision():
    told = counting("opens", crossing(100.0), 100.0, "", revised_s=42.0)
    assert "readings say 42 s later" in told.sentences[0]
    told = counting("shuts", crossing(100.0), 100.0, "", revised_s=-30.0)
    assert "30 s sooner" in told.sentences[0]
