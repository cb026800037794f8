"""Uncertainties against the worked figures of JCGM 100:2008 (GUM).

The examples' figures are from memory of the published guide, clause beside each.
"""

import math

import pytest

from bridge.service import amounts
from bridge.service.amounts import (
    Amount,
    Jug,
    MeasuredAmount,
    TempSpan,
    Terms,
    corrected,
    together,
)

AT_20 = TempSpan(low_c=20.0, high_c=20.0, name="known")


def test_bounds_are_rectangular():
    # 4.3.7, example 1: expansion of copper known within 0.40e-6 per degC: u = 0.23e-6
    jug = Jug(graduation_ml=0.0, left_most_ml=0.0, scale_half=0.40e-6)
    terms = Terms(jug=jug, thermometer_half_c=0.0)
    one = corrected(MeasuredAmount(ml=1.0, temp_c=20.0), terms, AT_20)
    assert one.sd_ml == pytest.approx(0.23e-6, abs=0.005e-6)


def test_ten_resistors_shared_standard():
    # 5.2.2, example: ten resistors of 1000 ohm, each with u = 100 milliohm from one
    # standard: in series 1 ohm, not the 0.32 ohm of independent ones
    shared = together([Amount(ml=1000.0, scale_sd_ml=0.1)] * 10)
    assert shared.ml == pytest.approx(10_000.0)
    assert shared.sd_ml == pytest.approx(1.0)
    independent = together([Amount(ml=1000.0, reading_sd_ml=0.1)] * 10)
    assert independent.sd_ml == pytest.approx(0.32, abs=0.005)


def test_end_gauge_combination():
    # H.1.4, end gauge: 25, 9.7, 2.9 and 16.6 nm combine to 32 nm
    gauge = Amount(
        ml=0.0,
        reading_sd_ml=25.0,
        scale_sd_ml=9.7,
        temp_sd_ml=2.9,
        density_sd_ml=16.6,
    )
    assert gauge.sd_ml == pytest.approx(32.0, abs=0.5)


def test_a_kitchen_jug_by_hand():
    # 5500 mL drained at 60 degC, corrected to 20 degC, by hand from 54D at 850 kg/m3:
    # V20/V60 = 0.970042 -> 5335.2 mL. Three jugs full of 2 L with marks of 50 mL:
    # 25/sqrt(3) x sqrt(3) = 25 mL; left behind up to 20 mL, so 10/sqrt(3)
    # = 5.77 mL about 10 mL (4.3.8, 0.970 of it at 20 degC); scale 2 %:
    # 106.70/sqrt(3) = 61.61 mL; 3 degC x 7.78e-4 per degC (54D's mean slope at 60)
    # x 5335 mL = 12.4 mL, over sqrt(3) = 7.2 mL; density 15 kg/m3: alpha is
    # proportional to 1/rho, 40 degC x 7.6e-4 x 15/850 x 5335 = 2.86, over sqrt(3) 1.65
    one = corrected(
        MeasuredAmount(ml=5500.0, temp_c=60.0), amounts.USUAL, amounts.DRAINED
    )
    assert one.ml == pytest.approx(5335.2, abs=0.1)
    assert one.reading_sd_ml == pytest.approx(25.0, abs=0.01)
    assert one.lost_ml == pytest.approx(9.70, abs=0.01)
    assert one.left_sd_ml == pytest.approx(9.70 / math.sqrt(3.0), abs=0.01)
    assert one.scale_sd_ml == pytest.approx(61.61, abs=0.01)
    assert one.temp_sd_ml == pytest.approx(7.2, abs=0.1)
    assert one.density_sd_ml == pytest.approx(1.65, abs=0.1)
    assert one.sd_ml == pytest.approx(67.1, abs=0.2)
    assert one.expanded_ml == pytest.approx(2 * one.sd_ml)
