"""The figure counted down to: smooth, never far from the bounds, never too late."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.session.pace import CATCH_UP_S, MOST_AGAINST, NEWS, NOT_YET, paced, shown
from bridge.values.outlook import Crossing


def told(middle_s: float, width: float = 0.5) -> Crossing:
    return Crossing(
        p05_s=middle_s * (1 - width / 2),
        p50_s=middle_s,
        p95_s=middle_s * (1 + width / 2),
        chance=0.99,
    )


def run(forecasts: list[Crossing | None], *, cautious: bool = False) -> list[float]:
    pace, out = NOT_YET, []
    for n, crossing in enumerate(forecasts):
        pace = paced(pace, crossing, now_s=0.25 * n, cautious=cautious)
        seen = shown(pace, crossing)
        if seen is not None and seen.p50_s is not None:
            assert (seen.p05_s or 0.0) <= seen.p50_s
            assert seen.p95_s is None or seen.p50_s <= seen.p95_s
            out.append(seen.p50_s)
    return out


def test_a_perfect_forecast_ticks_exactly() -> None:
    for n, left_s in enumerate(run([told(250.0 - 0.25 * k) for k in range(100)])):
        assert left_s == pytest.approx(250.0 - 0.25 * n)


def test_a_stroke_within_the_bounds_is_taken_up_smoothly() -> None:
    strokes = [told(250.0 - 0.25 * k + (12.0 if k > 40 else 0.0)) for k in range(600)]
    seen = run(strokes)
    against = [b - a + 0.25 for a, b in pairwise(seen)]
    # 12 s are taken up by and by, at first by their share of a tick
    assert max(map(abs, against)) <= 12.0 * 0.25 / CATCH_UP_S + 1e-9
    assert seen[-1] == pytest.approx(strokes[-1].p50_s, abs=0.5)


def test_news_moves_the_figure_to_the_forecast_at_once() -> None:
    assert run([told(250.0), told(100.0)])[1] == 100.0
    assert run([told(100.0), told(250.0)])[1] == 250.0


def test_bounds_that_pass_the_figure_by_a_little_move_it_smoothly() -> None:
    # cooling, once a minute: each reading moves the forecast by half a minute
    strokes = [
        told(300.0 - 0.25 * k + 30.0 * (k // 240 % 2), width=0.15) for k in range(960)
    ]
    seen = run(strokes)
    against = [abs(b - a + 0.25) for a, b in pairwise(seen)]
    assert max(against) <= 0.25 * MOST_AGAINST + 1e-9
    for crossing, left_s in zip(strokes, seen, strict=True):
        assert crossing.p05_s / NEWS - 1.0 <= left_s <= crossing.p95_s * NEWS + 1.0


@given(st.lists(st.floats(20, 3600), min_size=2, max_size=50))
def test_a_countdown_is_never_far_beyond_the_bounds(values: list[float]) -> None:
    seen = run([told(v) for v in values])
    for left_s, told_s in zip(values, seen, strict=True):
        late_s, early_s = told(left_s).p95_s, told(left_s).p05_s
        assert told_s <= NEWS * late_s + 1e-9
        assert told_s >= early_s / NEWS - 0.25 * (1.0 + MOST_AGAINST) - 1e-9


@given(st.lists(st.floats(0.1, 3600), min_size=1, max_size=50))
def test_shutting_is_never_shown_later_than_forecast(forecasts: list[float]) -> None:
    for left_s, seen in zip(
        forecasts, run([told(f) for f in forecasts], cautious=True), strict=True
    ):
        assert seen <= left_s


@given(st.lists(st.floats(0.1, 3600), min_size=1, max_size=50))
def test_the_early_end_is_never_shown_later_than_forecast(values: list[float]) -> None:
    pace = NOT_YET
    for n, left_s in enumerate(values):
        crossing = told(left_s)
        pace = paced(pace, crossing, now_s=0.25 * n, cautious=False)
        assert shown(pace, crossing).p05_s <= crossing.p05_s + 1e-9


def test_a_rough_forecast_that_learns_is_followed_soon() -> None:
    # found in the demo: 1137 s at first, 440 s half a minute later, truly 450
    rough = [told(1137.0 - 23.0 * min(0.25 * k, 30.0), width=1.9) for k in range(240)]
    seen = run(rough)
    assert seen[-1] == pytest.approx(rough[-1].p50_s, abs=10.0)
    pace, later = NOT_YET, [*reversed(rough), *rough[:1] * 80]
    for n, crossing in enumerate(later):
        pace = paced(pace, crossing, now_s=0.25 * n, cautious=False)
    assert pace.early_s == pytest.approx(rough[0].p05_s, abs=7.0)


def test_a_pause_or_no_forecast_starts_afresh() -> None:
    pace = paced(NOT_YET, told(99.0), now_s=0.0, cautious=False)
    assert paced(pace, told(150.0), now_s=11.0, cautious=False).middle_s == 150.0
    gone = paced(pace, None, now_s=0.25, cautious=False)
    assert gone.middle_s is None
    assert shown(gone, None) is None
