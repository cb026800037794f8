"""Viscosity against ASTM D341: its equation, a published worked example, ratios."""

import pytest

from bridge.level.viscosity import Fluid, constants, ratio, viscosity_mm2_s

EXAMPLE = Fluid(at_40_mm2_s=32.0, at_100_mm2_s=5.4)
USUAL = Fluid(at_40_mm2_s=30.0, at_100_mm2_s=6.0)


def test_worked_example():
    # published example: 32 at 40 °C and 5.4 at 100 °C give 8.5 at 80 °C, computed
    # there with T = t + 273 (A 9.5259, B 3.7449); with 273.15 A 9.530815, B 3.746578
    assert viscosity_mm2_s(80.0, EXAMPLE) == pytest.approx(8.5, abs=0.05)
    assert constants(EXAMPLE) == pytest.approx((9.530815, 3.746578), abs=1e-6)


@pytest.mark.parametrize(
    ("temp_c", "nu"),
    [(80, 8.533215), (40, 32.0), (100, 5.4), (20, 86.278), (0, 336.00)],
)
def test_example_at_other_temperatures(temp_c, nu):
    assert viscosity_mm2_s(temp_c, EXAMPLE) == pytest.approx(nu, rel=1e-5)


@pytest.mark.parametrize(
    ("temp_c", "nu"),
    [
        (-40, 9994),
        (-20, 1083),
        (0, 224.1),
        (10, 120.8),
        (20, 71.01),
        (30, 44.81),
        (50, 21.09),
        (60, 15.46),
        (80, 9.156),
    ],
)
def test_curve_of_a_usual_fluid(temp_c, nu):
    # from the standard's equation, A = 8.542729, B = 3.353849
    assert viscosity_mm2_s(temp_c, USUAL) == pytest.approx(nu, rel=5e-4)


@pytest.mark.parametrize(
    ("cold", "warm", "times"), [(20, 40, 2.367), (20, 80, 7.756), (10, 80, 13.196)]
)
def test_ratios(cold, warm, times):
    assert ratio(cold, warm, USUAL) == pytest.approx(times, abs=0.001)


def temperature_of(nu):
    low, high = 0.0, 100.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (
            (middle, high) if viscosity_mm2_s(middle, USUAL) > nu else (low, middle)
        )
    return low


def test_outflow_slows_as_the_ratio_says():
    # Hagen-Poiseuille, by a hydraulics library: tube 8 mm x 60 mm, head 100 mm:
    # 54.77 mL/s at 30 mm2/s, 22.82 mL/s at 72; the settling time constants of that
    # tube over 600 cm2 are 109.55 and 262.91 s
    cold_c = temperature_of(72.0)
    assert cold_c == pytest.approx(19.7, abs=0.2)
    assert ratio(cold_c, 40.0, USUAL) == pytest.approx(54.77 / 22.82, rel=1e-3)
    assert ratio(cold_c, 40.0, USUAL) == pytest.approx(262.91 / 109.55, rel=1e-3)
