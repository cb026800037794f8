"""Volume correction against API MPMS 11.1 (2004): worked examples, tables, geometry.

The examples are those of the standard (paragraph numbers beside them), as quoted by
the institute's own public reference code. The plain 54D formula differs from the
2004 procedure by up to 8.7e-6, hence the tolerance of 1e-5.
"""

import pytest

from bridge.level import volume as v
from bridge.values.sheet import Window

SIXTY_F_C = (60.0 - 32.0) / 1.8


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


def density_at_15(density_at_60f: float) -> float:
    """Turn a density at 60 °F into one at 15 °C, by the formula itself."""
    density = density_at_60f
    for _ in range(20):
        density = density_at_60f / v.correction(SIXTY_F_C, density)
    return density


@pytest.mark.parametrize(
    ("density", "temp_c", "factor"),
    [
        (1163.078239292, -49.97, 1.034672971366),  # 11.1.7.2 example 9
        (820.979105095, 150.0, 0.894250233938),  # 11.1.7.2 example 10
    ],
)
def test_metric_examples(density, temp_c, factor):
    assert v.correction(temp_c, density) == pytest.approx(factor, abs=1e-5)


@pytest.mark.parametrize(
    ("density_60f", "temp_f", "factor"),
    [
        (810.55483945, 129.3, 0.969922293864),  # 11.1.6.1 example 8
        (917.442430351, 78.7, 0.992874116475),  # 11.1.6.2 example 8
        (801.061124839, 302.0, 0.892011191342),  # 11.1.6.2 example 9
        (917.505498029, 98.65, 0.985240961815),  # 11.1.6.3 example 9
    ],
)
def test_customary_examples(density_60f, temp_f, factor):
    density = density_at_15(density_60f)
    at_temp = v.correction(celsius(temp_f), density)
    at_base = v.correction(SIXTY_F_C, density)
    assert at_temp / at_base == pytest.approx(factor, abs=1e-5)


TEMPS = (-20, 0, 20, 30, 35, 40, 45, 50, 60, 80, 100)
# computed from 54D; an engineering handbook's beta 0.0007 per °C agrees to 10 %
TABLE = {
    830: (1.026251, 1.011306, 0.996214, 0.988617, 0.984806, 0.980987, 0.977161)
    + (0.973328, 0.965640, 0.950185, 0.934635),
    840: (1.025942, 1.011172, 0.996259, 0.988752, 0.984987, 0.981215, 0.977435)
    + (0.973648, 0.966053, 0.950785, 0.935423),
    850: (1.025639, 1.011041, 0.996303, 0.988885, 0.985165, 0.981437, 0.977702)
    + (0.973960, 0.966455, 0.951370, 0.936194),
    860: (1.025344, 1.010913, 0.996346, 0.989015, 0.985338, 0.981654, 0.977963)
    + (0.974265, 0.966849, 0.951942, 0.936946),
    870: (1.025055, 1.010788, 0.996388, 0.989142, 0.985507, 0.981866, 0.978218)
    + (0.974562, 0.967233, 0.952501, 0.937680),
}


@pytest.mark.parametrize("density", TABLE)
def test_table_of_factors(density):
    told = [v.correction(t, density) for t in TEMPS]
    assert told == pytest.approx(TABLE[density], abs=1e-6)


def test_expansion_constant_is_per_celsius():
    # 0.34878 per °F x 1.8; mixing them would halve the correction
    assert pytest.approx(0.34878 * 1.8, abs=1e-5) == v.K1_PER_C
    assert v.expansion_per_c(850.0) == pytest.approx(7.385882e-4, abs=1e-10)


def test_volumes_between_temperatures():
    moved = [v.volume_at(5500.0, from_c=60, to_c=20)]
    moved.append(v.volume_at(5500.0, from_c=80, to_c=20))
    moved.append(v.volume_at(5500.0, from_c=40, to_c=20))
    assert moved == pytest.approx([5335.0, 5252.0, 5418.0], abs=0.5)


def test_handbook_example_within_a_tenth():
    # engineering handbook: 100 L of oil heated 20 -> 40 °C grow by 1.4 L
    grown = v.volume_at(100_000.0, from_c=20, to_c=40) - 100_000.0
    assert grown == pytest.approx(1400.0, rel=0.10)


@pytest.mark.parametrize(
    ("litres", "window", "ml"),
    [
        (4.0, (35, 45), 30.4),
        (4.0, (30, 50), 60.8),
        (5.5, (35, 45), 41.8),
        (5.5, (40, 45), 21.0),
        (7.0, (35, 45), 53.2),
        (9.0, (30, 50), 136.9),
        (9.0, (40, 45), 34.4),
    ],
)
def test_growth_across_a_window(litres, window, ml):
    low, high = window
    fill = litres * 1000.0
    grown = v.volume_at(fill, from_c=40, to_c=high)
    assert grown - v.volume_at(fill, from_c=40, to_c=low) == pytest.approx(ml, abs=0.06)


@pytest.mark.parametrize(
    ("pitch", "turns", "mm", "ml"),
    [
        (1.0, 1, 1.00, (30.0, 50.0, 70.0)),
        (1.25, 1, 1.25, (37.5, 62.5, 87.5)),
        (1.5, 0.5, 0.75, (22.5, 37.5, 52.5)),
        (1.5, 1, 1.50, (45.0, 75.0, 105.0)),
        (1.5, 3, 4.50, (135.0, 225.0, 315.0)),
        (2.0, 1, 2.00, (60.0, 100.0, 140.0)),
    ],
)
def test_tube_turns(pitch, turns, mm, ml):
    # ISO 261/262 pitches; single start, so lead = pitch
    height = v.tube_mm(turns, pitch)
    assert height == pytest.approx(mm)
    volumes = [v.volume_ml(height, area) for area in (300, 500, 700)]
    assert volumes == pytest.approx(ml)


@pytest.mark.parametrize(
    ("degrees", "mm", "ml"),
    [(1.0, 2.618, 130.9), (0.5, 1.309, 65.5), (0.25, 0.655, 32.7)],
)
def test_tilt_150_mm_off_centre(degrees, mm, ml):
    # plain geometry: rise = distance x tan(angle)
    tilt = v.Tilt(along_deg=degrees, across_deg=0.0)
    height = v.tilt_mm(tilt, v.Opening(forward_mm=150, right_mm=0))
    assert height == pytest.approx(mm, abs=1e-3)
    assert v.volume_ml(height, 500.0) == pytest.approx(ml, abs=0.06)


def test_the_whole_window_is_worth_a_third_of_a_degree():
    window = Window(low_c=35.0, high_c=45.0)
    cold = v.level_error(35.0, window, fill_ml=6000.0, area_cm2=500.0)
    hot = v.level_error(45.0, window, fill_ml=6000.0, area_cm2=500.0)
    assert cold.volume_ml - hot.volume_ml == pytest.approx(45.6, abs=0.1)
    assert cold.height_mm - hot.height_mm == pytest.approx(0.91, abs=0.01)
    tilt = v.Tilt(along_deg=0.35, across_deg=0.0)
    opening = v.Opening(forward_mm=150, right_mm=0)
    assert v.tilt_mm(tilt, opening) == pytest.approx(0.91, abs=0.01)


@pytest.mark.parametrize("api_gravity_density", [799.9, 1164.1])
def test_densities_beyond_the_table_are_errors(api_gravity_density):
    # the standard's own example: a lubricant of 45.08 API (801 is the limit) is refused
    with pytest.raises(ValueError, match="outside 800 to 1164"):
        v.correction(40.0, api_gravity_density)
