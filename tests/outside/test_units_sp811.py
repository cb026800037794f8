"""Conversions against NIST Special Publication 811 (2008 edition), Appendix B.

The publication prints seven significant digits; figures marked "exact" there are
exact by definition, so they are held to the last bits of a float.
"""

import pytest

from bridge.units import (
    Dimension,
    Units,
    parse_quantity,
    show_distance,
    show_torque,
    show_volume,
    temperature_in,
    temperature_step_in,
)

SEVEN_DIGITS = 5e-7

# NIST SP 811, section B.8 (factors for units listed alphabetically): quantity as
# written in a sheet, dimension, the printed factor in our unit.
PRINTED = [
    ("1 qt", Dimension.VOLUME, 9.463529e-01),  # quart (U.S. liquid), in litres
    ("1 gal", Dimension.VOLUME, 3.785412),  # gallon (U.S.), in litres
    ("1 pt", Dimension.VOLUME, 4.731765e-01),  # pint (U.S. liquid), in litres
    ("1 fluid_ounce", Dimension.VOLUME, 2.957353e-02),  # fluid ounce (U.S.), in litres
    ("1 lbf*ft", Dimension.TORQUE, 1.355818),  # pound-force foot, in N·m
    ("1 lbf*in", Dimension.TORQUE, 1.129848e-01),  # pound-force inch, in N·m
    ("1 kgf*m", Dimension.TORQUE, 9.80665),  # kilogram-force metre, exact
    ("1 in", Dimension.LENGTH, 25.4),  # inch, in millimetres, exact
    ("1 ft", Dimension.LENGTH, 304.8),  # foot, in millimetres, exact
    ("1 in2", Dimension.AREA, 6.4516),  # square inch, in cm², exact
    ("1 mi", Dimension.DISTANCE, 1.609344),  # mile, in kilometres, exact
    ("1 mph", Dimension.ROAD_SPEED, 1.609344),  # mile per hour, in km/h, exact
    ("1 min", Dimension.DURATION, 60.0),  # minute, exact
    ("1 h", Dimension.DURATION, 3600.0),  # hour, exact
    ("1 day", Dimension.DURATION, 86400.0),  # day, exact
]


@pytest.mark.parametrize(("text", "dimension", "printed"), PRINTED)
def test_printed_factor(text, dimension, printed):
    assert parse_quantity(text, dimension) == pytest.approx(printed, rel=SEVEN_DIGITS)


# NIST SP 811, section B.8: t/°C = (t/°F - 32)/1.8 and T/K = t/°C + 273.15, both
# exact; the points are those of the trade's windows, and where the scales meet.
POINTS = [(30, 86), (35, 95), (40, 104), (45, 113), (50, 122), (-40, -40), (100, 212)]


@pytest.mark.parametrize(("celsius", "fahrenheit"), POINTS)
def test_fahrenheit_comes_in(celsius, fahrenheit):
    read = parse_quantity(f"{fahrenheit} degF", Dimension.TEMPERATURE)
    assert read == pytest.approx(celsius, abs=1e-9)


@pytest.mark.parametrize(("celsius", "fahrenheit"), POINTS)
def test_fahrenheit_goes_out(celsius, fahrenheit):
    assert temperature_in(celsius, Units.US) == pytest.approx(fahrenheit, abs=1e-9)


@pytest.mark.parametrize("celsius", [-40.0, 0.0, 37.5, 100.0])
def test_kelvin_comes_in(celsius):
    read = parse_quantity(f"{celsius + 273.15:.2f} K", Dimension.TEMPERATURE)
    assert read == pytest.approx(celsius, abs=1e-9)


def test_difference_of_ten_kelvin_is_eighteen_fahrenheit_degrees():
    # NIST SP 811, section B.8, "degree Fahrenheit (temperature interval)": 1/1.8 K.
    assert temperature_step_in(10.0, Units.US) == pytest.approx(18.0, rel=1e-12)


def test_litres_go_out_as_quarts():
    # NIST SP 811, B.8: 1 qt (U.S. liquid) = 9.463529 E-04 m³, so 5.5 L = 5.8118 qt.
    assert show_volume(5.5, Units.US) == "5.81 qt"
    assert show_volume(0.946352946, Units.US) == "1.00 qt"


def test_torque_goes_out_as_pound_force_feet():
    # NIST SP 811, B.8: 1 lbf·ft = 1.355818 N·m, so 25 N·m = 18.4391 lbf·ft.
    assert show_torque(25.0, Units.US) == "18.4 lbf·ft"
    read = parse_quantity("18 lbf·ft", Dimension.TORQUE)
    assert read == pytest.approx(18 * 1.355818, rel=SEVEN_DIGITS)


def test_kilometres_go_out_as_miles():
    # NIST SP 811, B.8: 1 mi = 1.609344 km exactly, so 60000 km = 37282.27 mi.
    assert show_distance(60000.0, Units.US) == "37282 mi"
