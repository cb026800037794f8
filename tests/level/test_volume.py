"""Signs, limits and consistency of volumes and heights."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.level import volume as v
from bridge.values.sheet import Window

WINDOW = Window(low_c=35.0, high_c=45.0)
temps = st.floats(-50.0, 150.0)
densities = st.floats(800.0, 1164.0)


def test_too_hot_is_underfilled_too_cold_overfilled():
    hot = v.level_error(50.0, WINDOW, fill_ml=6000.0, area_cm2=500.0)
    cold = v.level_error(30.0, WINDOW, fill_ml=6000.0, area_cm2=500.0)
    assert hot.volume_ml < 0 < cold.volume_ml
    assert hot.height_mm == pytest.approx(hot.volume_ml / 50.0)


def test_the_middle_is_no_error():
    assert v.level_error(40.0, WINDOW, fill_ml=6000.0).volume_ml == pytest.approx(0.0)


def test_without_an_area_there_is_no_height():
    assert v.level_error(44.0, WINDOW, fill_ml=6000.0).height_mm is None


@pytest.mark.parametrize("temp_c", [-50.1, 150.1, math.nan, math.inf])
def test_temperatures_beyond_the_table_are_errors(temp_c):
    with pytest.raises(ValueError, match=r"The temperature .* outside -50 to 150"):
        v.correction(temp_c)


@pytest.mark.parametrize("area", [0.0, -3.0, math.nan, math.inf])
def test_an_impossible_area_is_refused(area):
    with pytest.raises(ValueError, match="area in cm2 must be more than 0"):
        v.height_mm(10.0, area)


def test_an_impossible_fill_pitch_or_tilt_is_refused():
    with pytest.raises(ValueError, match="fill in mL"):
        v.level_error(40.0, WINDOW, fill_ml=0.0)
    with pytest.raises(ValueError, match="pitch in mm"):
        v.tube_mm(1.0, 0.0)
    with pytest.raises(ValueError, match="more than 30"):
        v.tilt_mm(
            v.Tilt(along_deg=31, across_deg=0), v.Opening(forward_mm=1, right_mm=1)
        )


def test_a_raised_opening_overfills_a_lowered_one_underfills():
    nose_up = v.Tilt(along_deg=0.5, across_deg=0.0)
    front = v.tilt_mm(nose_up, v.Opening(forward_mm=100, right_mm=0))
    rear = v.tilt_mm(nose_up, v.Opening(forward_mm=-100, right_mm=0))
    assert front == pytest.approx(-rear)
    assert front > 0


@given(temps, temps, densities)
def test_there_and_back_is_the_same_volume(a, b, density):
    there = v.volume_at(1000.0, from_c=a, to_c=b, density_kg_m3=density)
    back = v.volume_at(there, from_c=b, to_c=a, density_kg_m3=density)
    assert back == pytest.approx(1000.0)


@given(st.floats(-50, 149), densities)
def test_warmer_is_always_larger(temp_c, density):
    assert v.correction(temp_c + 1.0, density) < v.correction(temp_c, density)


@given(st.floats(-1e4, 1e4), st.floats(1, 1e4))
def test_height_and_volume_undo_each_other(ml, area):
    assert v.volume_ml(v.height_mm(ml, area), area) == pytest.approx(ml, abs=1e-6)
