"""What a person says of a quantity, held against pint."""

from __future__ import annotations

import pint  # noqa: TID251 - the reference we are held against
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.units import (
    AmbiguousNumberError,
    Dimension,
    QuantityError,
    said,
    said_accuracy,
    said_amount,
    said_number,
    said_odometer,
    said_stick,
    said_temperature,
    said_tilt,
    said_torque,
)

PINT: pint.UnitRegistry[float] = pint.UnitRegistry()
WATERLIKE = 1000.0


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("250", "250"),
        ("0,25", "0.25"),
        ("1,5", "1.5"),
        ("1.5", "1.5"),
        ("1.000,5", "1000.5"),
        ("1,000.5", "1000.5"),
        ("1 000", "1000"),
        ("1\u202f000,5", "1000.5"),
        ("1'000", "1000"),
        ("12,345,678", "12345678"),
        ("1.000.000", "1000000"),
        ("0,250", "0.250"),
        ("1234,567", "1234.567"),
        ("3.785", "3.785"),
        ("-0,3", "-0.3"),
        ("−40", "-40"),
    ],
)
def test_a_number_with_one_reading(text, meant):
    assert said_number(text) == meant


@pytest.mark.parametrize("text", ["1,000", "12,345", "999,999", "-1,250"])
def test_a_number_with_two_readings_is_asked_back(text):
    with pytest.raises(AmbiguousNumberError, match="can be"):
        said_number(text)


@pytest.mark.parametrize(
    "text",
    ["", "x", "1,,0", "1.2.3", "1,00,000", "1 00", "1e3", "nan", "inf", "٣", "."],
)
def test_what_is_no_number(text):
    with pytest.raises(QuantityError):
        said_number(text)


@given(
    value=st.integers(1, 999_999_999),
    fraction=st.integers(0, 99),
    mark=st.sampled_from([(",", "."), (".", ","), (" ", "."), (" ", ","), ("'", ".")]),
)
def test_thousands_and_decimals_of_every_custom(value, fraction, mark):
    thousands, decimal = mark
    text = f"{value:,}".replace(",", thousands) + f"{decimal}{fraction:02d}"
    assert float(said_number(text)) == pytest.approx(value + fraction / 100, rel=1e-12)


UNITS = {
    Dimension.VOLUME: ("L", "mL", "cc", "qt", "pt", "gal", "floz", "dL", "cL"),
    Dimension.MASS: ("kg", "g", "lb"),
    Dimension.TEMPERATURE: ("degC", "degF", "kelvin"),
    Dimension.TORQUE: ("N*m", "lbf*ft", "lbf*in", "kgf*m"),
    Dimension.ANGLE: ("deg", "turn", "rad"),
    Dimension.LENGTH: ("mm", "cm", "in"),
    Dimension.DISTANCE: ("km", "mi"),
}


@given(data=st.data(), dimension=st.sampled_from(list(UNITS)))
def test_any_amount_is_what_pint_makes_of_it(data, dimension):
    unit = data.draw(st.sampled_from(UNITS[dimension]))
    number = data.draw(st.decimals(0, 1000, places=2, allow_nan=False))
    comma = data.draw(st.booleans())
    glue = data.draw(st.sampled_from(["", " ", "  "]))
    text = f"{number}".replace(".", "," if comma else ".") + glue + unit
    meant = PINT.Quantity(float(number), unit).to(dimension.value).magnitude
    assert said(text, dimension) == pytest.approx(meant, rel=1e-9, abs=1e-8)


SPOKEN = [
    ("8 fl oz", Dimension.VOLUME, "8 fluid_ounce"),
    ("8 fl. oz.", Dimension.VOLUME, "8 fluid_ounce"),
    ("5 qts", Dimension.VOLUME, "5 quart"),
    ("2 Quarts", Dimension.VOLUME, "2 quart"),
    ("3 litres", Dimension.VOLUME, "3 liter"),
    ("250 ML", Dimension.VOLUME, "250 milliliter"),
    ("250cc", Dimension.VOLUME, "250 cc"),
    ("3 lbs", Dimension.MASS, "3 pound"),
    ("22 ft-lb", Dimension.TORQUE, "22 force_pound*foot"),
    ("22 lb ft", Dimension.TORQUE, "22 force_pound*foot"),
    ("90 in lb", Dimension.TORQUE, "90 force_pound*inch"),
    ("30 Nm", Dimension.TORQUE, "30 newton*meter"),
    ("30 N·m", Dimension.TORQUE, "30 newton*meter"),
    ("1.5 turns", Dimension.ANGLE, "1.5 turn"),
    ("90°", Dimension.ANGLE, "90 degree"),
    ("76,543.2 miles", Dimension.DISTANCE, "76543.2 mile"),
]


@pytest.mark.parametrize(("text", "dimension", "meant"), SPOKEN)
def test_units_as_they_are_said(text, dimension, meant):
    number, unit = meant.split(" ")
    there = PINT.Quantity(float(number), unit).to(dimension.value).magnitude
    assert said(text, dimension) == pytest.approx(there, rel=1e-9)


@given(text=st.text(max_size=30), bare=st.sampled_from(["", "L"]))
def test_any_text_is_an_amount_or_one_sentence(text, bare):
    try:
        amount = said_amount(text, density_kg_m3=850.0, bare=bare, bare_temp="degC")
    except QuantityError as problem:
        words = str(problem)
        assert "\n" not in words
    else:
        assert 0.0 < amount.ml <= 40_000.0


@pytest.mark.parametrize("read", [said_temperature, said_odometer, said_torque])
def test_a_bare_number_is_refused(read):
    with pytest.raises(QuantityError, match="has no unit"):
        read("38")
    with pytest.raises(QuantityError, match="has no unit"):
        said_amount("250", density_kg_m3=850.0)


def test_the_unit_a_prompt_named_is_taken_only_where_none_is_typed():
    assert said_amount("250", density_kg_m3=850.0, bare="mL").ml == 250.0
    assert said_amount("0.25 L", density_kg_m3=850.0, bare="mL").ml == 250.0
    eight = said_amount("8 fl oz", density_kg_m3=850.0, bare="qt").ml
    assert eight == pytest.approx(8 * 29.5735295625)  # NIST SP 811, B.8: US fluid ounce


def test_ounces_are_asked_back():
    for text in ("8 oz", "8 ounces", "8oz."):
        with pytest.raises(QuantityError, match="volume or a weight"):
            said_amount(text, density_kg_m3=850.0, bare="qt")


def test_a_mass_is_the_volume_at_the_density_s_temperature():
    amount = said_amount("2.8 kg at 40 C", density_kg_m3=WATERLIKE)
    assert (amount.ml, amount.temp_c, amount.kg) == (pytest.approx(2800.0), 15.0, 2.8)


def test_an_amount_at_a_temperature():
    amount = said_amount("4,8 L at 95 °F", density_kg_m3=850.0)
    assert (amount.ml, amount.temp_c) == (4800.0, 35.0)
    with pytest.raises(QuantityError, match="a gearbox temperature"):
        said_amount("4.8 L at 350 C", density_kg_m3=850.0)


@pytest.mark.parametrize("text", ["0 L", "-1 L", "41 L", "1,000 L", "4.8 degC", "L"])
def test_amounts_that_cannot_be(text):
    with pytest.raises(QuantityError):
        said_amount(text, density_kg_m3=850.0, bare="L")


@pytest.mark.parametrize(
    ("text", "km"),
    [
        ("123456 km", 123456.0),
        ("123,456 km", 123456.0),  # no odometer shows thousandths
        ("123.456 km", 123456.0),
        ("123 456 km", 123456.0),
        ("123456,7 km", 123456.7),
        ("1,234,567 km", 1234567.0),
    ],
)
def test_an_odometer(text, km):
    assert said_odometer(text) == km


@pytest.mark.parametrize("text", ["123.45 km", "-1 km", "9999999 km", "12 kg"])
def test_what_is_no_odometer(text):
    with pytest.raises(QuantityError):
        said_odometer(text)


@pytest.mark.parametrize("text", ["0.3 -0.1", "0,3 -0,1", "0.3° -0.1°", "+0.3 -0.1"])
def test_a_tilt(text):
    assert said_tilt(text) == (0.3, -0.1)


@pytest.mark.parametrize("text", ["", "1", "a b", "31 0", "0 nan", "1 2 3", "1,000 2"])
def test_tilts_that_cannot_be(text):
    with pytest.raises(QuantityError):
        said_tilt(text)


@pytest.mark.parametrize(
    ("text", "temp_c"),
    [("38.5 C", 38.5), ("38,5°C", 38.5), ("100 F", 37.7778), ("311.65 K", 38.5)],
)
def test_a_thermometer_reads(text, temp_c):
    assert said_temperature(text) == pytest.approx(temp_c, abs=0.001)


@pytest.mark.parametrize("text", ["", "warm", "300 C", "-60 C", "38 L"])
def test_what_no_thermometer_reads(text):
    with pytest.raises(QuantityError):
        said_temperature(text, bare="degC")


def test_a_thermometer_is_good_for():
    assert said_accuracy("±2") == 2.0
    assert said_accuracy("3.6 F") == pytest.approx(2.0)
    for text in ("20", "good", "", "1,000", "2 L"):
        with pytest.raises(QuantityError):
            said_accuracy(text)


def test_a_stick_is_read_in_either_unit():
    assert said_stick("-0.5 in") == pytest.approx(-12.7)  # NIST SP 811, B.8: inch
    with pytest.raises(QuantityError):
        said_stick("900 mm")
