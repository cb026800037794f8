"""The countdowns: sense, words by what is known, and bars."""

from __future__ import annotations

from dataclasses import replace
from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.snapshot import Snapshot
from bridge.values.outlook import Crossing
from bridge.values.readings import LinkState
from tests.tui.stage import crossing
from tui.widgets.glyphs import ASCII, RICH
from tui.widgets.timeline import bar, scale_for
from tui.words.screen.countdown import Countdown, counting, silence, sound, staying

FOUR_TEN = Crossing(p05_s=221.0, p50_s=250.9, p95_s=288.0, chance=0.99)


def test_the_sentences() -> None:
    made = counting("opens", FOUR_TEN, "later")
    assert made.sentences[0] == "opens in 4 min 10 s, likely between 3:40 and 4:50"
    assert made.sentences[-1] == "opens in 4:10"
    assert (made.label, made.big, made.big_unit) == ("opens in", "4:10", "")
    assert sorted(map(len, made.sentences), reverse=True) == [
        len(s) for s in made.sentences
    ]


def test_wide_bounds_are_told_as_bounds_and_the_early_end_leads() -> None:
    wide = Crossing(p05_s=41.0, p50_s=70.0, p95_s=118.0 + 60.0, chance=0.97)
    made = counting("opens", wide, "later")
    assert made.sentences[0] == "opens between 0:41 and 3:00, most likely in about 70 s"
    assert (made.label, made.big) == ("opens not before", "0:41")


def test_an_open_end_tells_the_early_end_and_the_likely_time() -> None:
    odd = Crossing(p05_s=41.0, p50_s=250.0, p95_s=None, chance=0.82)
    made = counting("opens", odd, "later")
    told = "opens not before 0:41, most likely in about 4 min (chance 82 %)"
    assert made.sentences[0] == told
    assert made.late_s is None


def test_a_low_chance_tells_the_early_end_and_what_may_be_instead() -> None:
    low = Crossing(p05_s=40.0, p50_s=None, p95_s=None, chance=0.31)
    made = counting("opens", low, "later", "may not reach the window at idle")
    told = "opens not before 0:40, may not reach the window at idle"
    assert made.sentences[:2] == (f"{told} (chance 31 %)", told)
    assert made.big == "0:40"


@pytest.mark.parametrize(
    ("shuts", "told"),
    [
        (Crossing(p05_s=80.0, p50_s=300.0, p95_s=2000.0, chance=0.97), "1 min"),
        (Crossing(p05_s=47.0, p50_s=None, p95_s=None, chance=0.4), "45 s"),
        (Crossing(p05_s=None, p50_s=None, p95_s=None, chance=0.02), "1 h"),
    ],
)
def test_inside_it_tells_how_long_the_fluid_stays_at_least(
    shuts: Crossing, told: str
) -> None:
    made = staying(shuts, "later")
    assert made.sentences[-1] == f"stays at least {told}"
    assert made.label == "stays at least"


def test_over_ten_minutes_the_big_figure_is_whole_minutes() -> None:
    made = counting("shuts", crossing(755.0), "later")
    assert (made.big, made.big_unit) == ("12", "min")


def test_no_forecast_says_when_there_will_be_one() -> None:
    seen = Snapshot(t_s=12.0, link=LinkState.LIVE, figures_in_s=33.0)
    made = counting("opens", None, silence(seen))
    assert made.sentences[0] == "opens: first figure in 33 s"
    assert (made.big, made.early_s) == ("", None)
    rare = replace(seen, figures_in_s=None)
    assert silence(rare) == "first figure after another reading or two"


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


@given(st.floats(0, 3600), st.floats(0, 3600), st.floats(0, 3600), st.integers(1, 200))
def test_a_bar_is_as_wide_as_asked(a: float, b: float, c: float, width: int) -> None:
    early, middle, late = sorted((a, b, c))
    event = Countdown(label="", early_s=early, middle_s=middle, late_s=late)
    drawn = "".join(t for t, _ in bar(event, scale_for(event), width, RICH))
    assert len(drawn) == width
    assert RICH.middle in drawn
