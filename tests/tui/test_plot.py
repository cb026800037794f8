"""The trend plot: where curve, gaps, band and forecast are drawn."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.level.step.step_values import Phase, Step
from bridge.snapshot import Snapshot
from bridge.values.sheet import Window
from tests.tui.helpers import staged
from tests.tui.oddities import snapshots
from tests.tui.stage import COOL_DOWN, TOO_COLD_A_DAY, WARM_UP
from tui.live.trend_cells import (
    SPANS_S,
    TIME_STEPS_S,
    Canvas,
    choose_span,
    fit,
    ground,
)
from tui.live.trend_history import History, fan, predicted
from tui.settings import Settings
from tui.widgets.glyphs import ASCII, RICH, choose_glyphs, to_ascii
from tui.widgets.trend import marks_of, time_axis

WINDOW = Window(low_c=42.0, high_c=52.0)


def grid(canvas: Canvas, band: range, rows: int) -> list[str]:
    cells = canvas.cells(band, ASCII)
    assert len(cells) == rows
    return ["".join(sign for sign, _ in row) for row in cells]


def test_a_level_line_is_drawn_at_its_height() -> None:
    frame = fit(40, 10, 180.0, WINDOW, [40.0])
    canvas = Canvas(frame)
    canvas.draw_past([(-frame.past_s, 40.0), (0.0, 40.0)])
    rows = grid(canvas, frame.band(WINDOW), 10)
    drawn = [y for y, row in enumerate(rows) if "*" in row]
    assert drawn == [frame.y(40.0) // 4]
    assert rows[drawn[0]].startswith("*" * 20)
    assert "*" not in rows[drawn[0]][30:]


def test_a_gap_stays_empty() -> None:
    frame = fit(50, 8, 180.0, WINDOW, [30.0])
    canvas = Canvas(frame)
    canvas.draw_past([(-250.0, 30.0), (-200.0, 30.0)])
    canvas.draw_past([(-100.0, 30.0), (-20.0, 30.0)])
    row = next(r for r in grid(canvas, frame.band(WINDOW), 8) if "*" in r)
    assert row.strip().replace("*", "").strip() != row.strip().replace("*", "") or (
        " " in row.strip("* ") or ":" in row.strip("* ")
    )
    middle = int(frame.x(-150.0)) // 2
    assert row[middle] != "*"


def test_the_band_is_where_the_window_is() -> None:
    frame = fit(40, 20, 180.0, WINDOW, [0.0, 80.0])
    band = frame.band(WINDOW)
    per_half_c = frame.span_c / frame.rows / 2
    assert len(band) == pytest.approx(10.0 / per_half_c, abs=1.0)
    top_c = frame.high_c - band[0] * per_half_c
    assert top_c == pytest.approx(52.0, abs=per_half_c)


@given(
    st.lists(st.floats(-60, 160), min_size=1, max_size=20),
    st.integers(1, 60),
    st.integers(1, 30),
    st.sampled_from(SPANS_S),
)
def test_any_curve_stays_on_the_canvas(
    temps: list[float], columns: int, rows: int, ahead_s: float
) -> None:
    frame = fit(columns, rows, ahead_s, WINDOW, temps)
    canvas = Canvas(frame)
    points = [(-10.0 * (len(temps) - k), temp) for k, temp in enumerate(temps)]
    canvas.draw_past(points)
    canvas.draw_future([(10.0 * k, temp) for k, temp in enumerate(temps)])
    band = frame.band(WINDOW)
    assert 0 <= band[0] <= band[-1] < max(rows, band[-1] + 1)
    cells = canvas.cells(band, RICH)
    assert {len(row) for row in cells} == {columns}


def test_history_breaks_where_nothing_was_known() -> None:
    history = History()
    for t in range(10):
        history.add(float(t), 30.0 + t if t not in (4, 5) else None)
    history.add(10.0, nan)
    history.add(11.0, 41.0)
    runs = history.runs(0.0)
    assert [len(run) for run in runs] == [4, 4, 1]
    assert history.end_s == 11.0


def test_history_forgets_after_an_hour_and_starts_anew_if_time_runs_back() -> None:
    history = History()
    for t in range(0, 9000, 10):
        history.add(float(t), 30.0)
    points = sum(len(run) for run in history.runs(-1e9))
    assert 360 <= points <= 370
    history.add(5.0, 20.0)
    assert history.runs(-1e9) == [[(5.0, 20.0)]]


def test_the_forecast_path_runs_through_the_crossings() -> None:
    cold = WARM_UP.snapshot(0.0)
    path = predicted(cold, WINDOW)
    assert path[0] == (0.0, cold.temp_c)
    assert path[1] == (pytest.approx(WARM_UP.t_at(42.0)), 42.0)
    assert path[2] == (pytest.approx(WARM_UP.t_at(52.0)), 52.0)


def test_a_cooling_path_comes_in_from_above() -> None:
    hot = COOL_DOWN.snapshot(0.0)
    assert [temp for _, temp in predicted(hot, WINDOW)] == [hot.temp_c, 52.0, 42.0]


def test_without_crossings_the_path_settles() -> None:
    cold = replace(TOO_COLD_A_DAY.snapshot(100.0), opens=None, shuts=None)
    path = predicted(cold, WINDOW)
    for t_s, temp_c in path:
        assert temp_c == pytest.approx(TOO_COLD_A_DAY.temp_c(100.0 + t_s))


def test_nothing_is_predicted_from_nothing() -> None:
    blank = replace(WARM_UP.snapshot(0.0), temp_c=None)
    assert predicted(blank, WINDOW) == []
    steady = replace(WARM_UP.snapshot(0.0), opens=None, shuts=None, settles_at_c=None)
    assert predicted(steady, WINDOW) == []


def test_the_span_holds_the_crossing_and_does_not_flicker() -> None:
    span = choose_span(SPANS_S[0], 250.0)
    assert span == 360.0
    assert {choose_span(span, 250.0 + d) for d in range(-20, 60)} == {span}
    assert choose_span(span, 3000.0) == 3600.0
    assert choose_span(3600.0, 100.0) == 180.0


@pytest.mark.parametrize(
    ("choice", "encoding", "term", "ascii_only"),
    [
        ("auto", "utf-8", "xterm-256color", False),
        ("auto", "UTF8", "screen", False),
        ("auto", "utf-8", "linux", True),
        ("auto", "utf-8", "vt100", True),
        ("auto", "utf-8", "dumb", True),
        ("auto", "iso8859-1", "xterm", True),
        ("auto", "cp1252", "", True),
        ("unicode", "ascii", "dumb", False),
        ("ascii", "utf-8", "xterm", True),
    ],
)
def test_choice_of_signs(
    choice: str, encoding: str, term: str, ascii_only: bool
) -> None:
    assert choose_glyphs(choice, encoding=encoding, term=term).ascii_only is ascii_only


def test_ascii_spelling() -> None:
    assert to_ascii("−8.0 °C ±0.4, 42–52 …é") == "-8.0 C +/-0.4, 42-52 ...?"


@given(
    st.lists(
        st.tuples(st.floats(width=64), st.floats(width=64)), min_size=1, max_size=6
    )
)
def test_what_is_no_number_has_no_place(points: list[tuple[float, float]]) -> None:
    """Also infinities, and numbers so large that their difference is one."""
    frame = fit(40, 10, 180.0, WINDOW, [40.0])
    canvas = Canvas(frame)
    canvas.draw_past(points)
    canvas.draw_future(points)
    assert len(grid(canvas, frame.band(WINDOW), 10)) == 10


def test_the_fan_lies_between_the_earliest_and_the_latest_path() -> None:
    cold = WARM_UP.snapshot(WARM_UP.t_at(34.0))
    early, late = fan(cold, WINDOW)
    assert cold.opens is not None
    assert cold.shuts is not None
    assert early[1:3] == [(cold.opens.p05_s, 42.0), (cold.shuts.p05_s, 52.0)]
    assert late[1:3] == [(cold.opens.p95_s, 42.0), (cold.shuts.p95_s, 52.0)]
    never = replace(cold, opens=replace(cold.opens, p95_s=None), shuts=None)
    _, flat = fan(never, WINDOW)  # it may stay where it is
    assert {temp_c for _, temp_c in flat} == {cold.temp_c}
    frame = fit(60, 20, 720.0, WINDOW, [34.0])
    canvas = Canvas(frame)
    canvas.draw_fan(early, late)
    rows = grid(canvas, range(-1, 0), 20)
    column = frame.column(cold.opens.p50_s or 0.0)
    assert column is not None
    drawn = [y for y, row in enumerate(rows) if row[column] == "."]
    assert frame.row(42.0) in drawn
    assert frame.row(30.0) not in drawn


def test_half_a_row_of_the_window_is_half_a_block() -> None:
    top, bottom = 3, 6  # half rows: the lower half of row 1, rows 2 and 3's upper half
    band = range(top, bottom + 1)
    assert ground(1, band, RICH) == (RICH.lower, "edge")
    assert ground(2, band, RICH) == (" ", "")
    assert ground(3, band, RICH) == (RICH.upper, "edge")
    assert ground(4, band, RICH) == (" ", "")
    plain = replace(RICH, shaded=False)  # NO_COLOR: the hatch alone stands for it
    assert [ground(y, band, plain)[0] for y in range(5)] == list(f" {RICH.hatch * 3} ")


@pytest.mark.parametrize("span_s", SPANS_S)
@pytest.mark.parametrize("columns", [25, 46, 70, 110])
def test_the_time_axis_has_round_times_and_its_unit(span_s: float, columns: int):
    frame = fit(columns, 8, span_s, WINDOW, [40.0])
    axis = time_axis(frame, 4)
    assert len(axis) == columns + 4
    assert axis.count("min") == 1
    words = axis.replace("−", "-").replace("min", "").split()
    assert "now" in words
    times = [0.0 if w == "now" else 60.0 * float(w) for w in words]
    assert times == sorted(times)
    steps = {b - a for a, b in pairwise(times)}
    assert len(steps) <= 2  # a label at the very end may find no room
    assert min(steps, default=60.0) in TIME_STEPS_S
    for word, at_s in zip(words, times, strict=True):
        column = frame.column(at_s)
        assert column is not None
        at = axis.replace("−", "-").index(word)
        assert abs(at + len(word) // 2 - (4 + column)) <= 3


@pytest.mark.parametrize("unit", ["C", "F"])
async def test_the_plot_has_round_temperatures_and_a_legend(unit, tmp_path) -> None:
    settings = Settings(temperature_unit=unit)
    async with staged(tmp_path, size=(120, 40), settings=settings) as stage:
        text = await stage.play(WARM_UP.snapshot(WARM_UP.t_at(30.0)))
        assert {"read", "likely", "window"} <= set(text.split())
        assert "5 to 95 %" in text
        labels = re.findall(r"^ +([\d.]+)│", text, re.MULTILINE)
        edges = {"42", "52"} if unit == "C" else {"107.6", "125.6"}
        assert edges <= set(labels)
        ticks = [int(label) for label in labels if label not in edges]
        assert ticks
        assert all(tick % 5 == 0 for tick in ticks)


async def test_marks_stand_in_the_plot_as_signs(tmp_path) -> None:
    inside = WARM_UP.snapshot(WARM_UP.t_at(47.0))
    step = Step(phase=Phase.RUNNING_DOWN, opened_at_s=40.0, now_at_s=80.0)
    async with staged(tmp_path, size=(120, 40)) as stage:
        text = await stage.play(replace(inside, step=replace(step, drips_s=(60.0,))))
        assert " opened " in text
        rows = [row for row in text.splitlines() if "│" in row]
        assert "O" in rows[0]
        assert rows[0].index("O") < rows[0].index("┊")


@given(snapshots)
def test_no_snapshot_breaks_the_fan(snapshot: Snapshot) -> None:
    canvas = Canvas(fit(40, 10, 180.0, WINDOW, [40.0]))
    canvas.draw_fan(*fan(snapshot, WINDOW))
    for at_s, sign in marks_of(snapshot, "."):
        canvas.mark(at_s, sign)
    assert len(canvas.cells(range(3), ASCII)) == 10
