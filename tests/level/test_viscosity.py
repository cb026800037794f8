"""Limits and shape of the viscosity curve."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.level.viscosity import USUAL, Fluid, ratio, viscosity_mm2_s


@pytest.mark.parametrize("pair", [(6.0, 30.0), (30.0, 30.0), (3.0, 1.9), (math.nan, 6)])
def test_fluids_that_cannot_be_are_refused(pair):
    with pytest.raises(ValueError, match="data sheet"):
        Fluid(at_40_mm2_s=pair[0], at_100_mm2_s=pair[1])


@pytest.mark.parametrize("temp_c", [-51.0, 151.0, math.nan])
def test_temperatures_out_of_range_are_refused(temp_c):
    with pytest.raises(ValueError, match="from -50 to 150"):
        viscosity_mm2_s(temp_c)


def test_thinner_than_the_equation_holds_is_refused():
    thin = Fluid(at_40_mm2_s=8.0, at_100_mm2_s=2.2)
    with pytest.raises(ValueError, match="thinner than 2"):
        viscosity_mm2_s(120.0, thin)


def test_a_fluid_is_as_thick_as_itself():
    assert ratio(37.0, 37.0) == 1.0


@given(st.floats(-50, 120), st.floats(0.1, 20))
def test_colder_is_thicker(temp_c, by_c):
    assert viscosity_mm2_s(temp_c, USUAL) > viscosity_mm2_s(temp_c + by_c, USUAL)


@given(st.floats(-20, 100), st.floats(-20, 100))
def test_ratios_undo_each_other(a, b):
    assert ratio(a, b) * ratio(b, a) == pytest.approx(1.0)
