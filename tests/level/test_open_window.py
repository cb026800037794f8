"""A window with one end: when to act, what is missed, and what is not told."""

from __future__ import annotations

import pytest

from bridge.level.step import machine
from bridge.level.step.judgement import size_of_error
from bridge.level.step.plan import Plan
from bridge.level.step.step_values import Phase, StepView, TempSeen
from bridge.sheets.reading.assemble import examine, parse_sheet
from bridge.thermal import estimator
from bridge.thermal.forecast import forecast
from bridge.units import Units, show_temperature_span
from bridge.values.conditions import Verdict
from bridge.values.outlook import Trend
from bridge.values.sheet import OPEN_C, EngineRule, Window
from simulators.car.plant import Body, Heat, Plant

FROM_35 = Window(low_c=35.0, high_c=OPEN_C)
UP_TO_50 = Window(low_c=-OPEN_C, high_c=50.0)
SHEET = """
[gearbox]
name = "open"
source = "invented for this test"

[level]
window = {window}
"""


def sheet_text(window: str) -> str:
    return SHEET.format(window=window)


@pytest.mark.parametrize(
    ("written", "window"),
    [('["35 degC", ""]', FROM_35), ('["", "50 degC"]', UP_TO_50)],
)
def test_an_open_end_is_read(written: str, window: Window) -> None:
    assert parse_sheet(sheet_text(written), "a.toml").window == window


@pytest.mark.parametrize("written", ['["", ""]', '["35 degC", " "]', '[35, ""]'])
def test_a_window_without_any_end_or_with_a_blank_one_is_refused(written: str) -> None:
    sheet, mistakes = examine(sheet_text(written), "a.toml")
    assert sheet is None
    assert len(mistakes) == 1


def track_of(start_c: float, *, engine_on: bool, seconds: int) -> estimator.Track:
    """Return what is known after so many seconds of a simulated gearbox."""
    soaked = Heat(
        fluid_c=start_c, case_c=start_c - 3, coolant_c=start_c, sensor_c=start_c
    )
    plant = Plant(soaked, ambient_c=15.0, body=Body())
    plant.engine_on = engine_on
    track = estimator.begin(estimator.Sensor())
    for t in range(seconds):
        plant.step(1.0)
        track = estimator.observe(
            track, t_s=float(t), temp_c=round(plant.heat.sensor_c, 1)
        )
    return track


def test_the_countdown_to_the_one_end_is_that_of_a_closed_window() -> None:
    """The other end is out of reach, so it must not change when this one is met."""
    warming = track_of(28.0, engine_on=True, seconds=180)
    far = Window(low_c=35.0, high_c=110.0)
    open_, closed = (forecast(warming, w, now_s=179.0) for w in (FROM_35, far))
    assert open_.opens is not None
    assert open_.opens.p50_s == pytest.approx(closed.opens.p50_s, rel=0.02)
    assert open_.shuts is not None
    assert open_.shuts.p50_s is None
    cooling = track_of(58.0, engine_on=False, seconds=180)
    low = Window(low_c=5.0, high_c=50.0)
    open_, closed = (forecast(cooling, w, now_s=179.0) for w in (UP_TO_50, low))
    assert open_.opens.p50_s == pytest.approx(closed.opens.p50_s, rel=0.02)


def test_inside_it_the_countdown_is_to_its_one_end() -> None:
    warming = track_of(40.0, engine_on=True, seconds=180)
    now = forecast(warming, UP_TO_50, now_s=179.0)
    closed = forecast(warming, Window(low_c=5.0, high_c=50.0), now_s=179.0)
    assert now.opens.p50_s == 0.0
    assert now.shuts.p50_s == pytest.approx(closed.shuts.p50_s, rel=0.05)
    assert now.inside_chance > 0.99


def view(temp_c: float, trend: Trend = Trend.WARMING) -> StepView:
    return StepView(verdict=Verdict.NO_GO, temp_c=temp_c, temp_sd_c=0.1, trend=trend)


def test_only_the_end_there_is_can_be_missed() -> None:
    step = machine.begin(0.0)
    hot = machine.advance(step, Plan(window=FROM_35), view(120.0), 1.0)
    assert hot.phase is not Phase.MISSED
    over = machine.advance(step, Plan(window=UP_TO_50), view(51.0), 1.0)
    assert over.phase is Phase.MISSED
    back = view(45.0, Trend.COOLING)
    assert machine.advance(over, Plan(window=UP_TO_50), back, 2.0).phase is Phase.MISSED
    back = view(42.0, Trend.COOLING)
    after = machine.advance(over, Plan(window=UP_TO_50), back, 2.0)
    assert after.phase is not Phase.MISSED
    off = Plan(window=FROM_35, engine=EngineRule.OFF)
    cold = machine.advance(step, off, view(33.0, Trend.COOLING), 1.0)
    assert cold.phase is Phase.MISSED


def test_no_size_of_error_is_told_where_no_temperature_is_meant() -> None:
    closed = TempSeen(at_s=0.0, temp_c=40.0, sd_c=0.1)
    open_ = Plan(window=FROM_35, fill_ml=9000.0)
    assert size_of_error(closed, open_) is None
    named = Plan(window=FROM_35, fill_ml=9000.0, close_at_c=40.0)
    error = size_of_error(closed, named)
    assert error is not None
    assert error.volume_ml == pytest.approx(0.0, abs=1e-6)


def test_it_is_written_without_the_end_it_lacks() -> None:
    spans = [
        show_temperature_span(w.low_c, w.high_c, units)
        for w in (FROM_35, UP_TO_50)
        for units in Units
    ]
    assert spans == ["35 °C or more", "95 °F or more", "up to 50 °C", "up to 122 °F"]
