"""Quantities: what is understood, what is refused and how, what is shown."""

import math
import subprocess
import sys

import pint  # noqa: TID251 - the reference the table is held against
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from bridge.units import (
    ABSENT,
    Dimension,
    QuantityError,
    Units,
    example_of,
    linear_to,
    parse_quantity,
    printable,
    show_distance,
    show_duration,
    show_rate,
    show_temperature,
    show_temperature_span,
    show_temperature_step,
    show_torque,
    show_volume,
    temperature_unit,
)
from bridge.units.kinds import KINDS
from tests.everyday import examples

TEMPERATURE = Dimension.TEMPERATURE


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("35 degC", TEMPERATURE, 35.0),
        ("35 °C", TEMPERATURE, 35.0),
        ("35°C", TEMPERATURE, 35.0),
        ("35 ºC", TEMPERATURE, 35.0),
        ("95 degF", TEMPERATURE, 35.0),
        ("95 °F", TEMPERATURE, 35.0),
        ("  122 degF ", TEMPERATURE, 50.0),
        ("308.15 K", TEMPERATURE, 35.0),
        ("−40 °F", TEMPERATURE, -40.0),
        ("3.5e1 degC", TEMPERATURE, 35.0),
        (".5 degC", TEMPERATURE, 0.5),
        ("60 s", Dimension.DURATION, 60.0),
        ("1 min", Dimension.DURATION, 60.0),
        ("1.5 min", Dimension.DURATION, 90.0),
        ("2 hour", Dimension.DURATION, 7200.0),
        ("5.5 L", Dimension.VOLUME, 5.5),
        ("350 mL", Dimension.VOLUME, 0.35),
        ("350 cm³", Dimension.VOLUME, 0.35),
        ("25 N*m", Dimension.TORQUE, 25.0),
        ("25 N·m", Dimension.TORQUE, 25.0),
        ("700 rpm", Dimension.ENGINE_SPEED, 700.0),
        ("10 turn/s", Dimension.ENGINE_SPEED, 600.0),
        ("36 km/h", Dimension.ROAD_SPEED, 36.0),
        ("10 m/s", Dimension.ROAD_SPEED, 36.0),
        ("1.5 turns", Dimension.ANGLE, 540.0),
        ("500 cm2", Dimension.AREA, 500.0),
        # Exact: NIST SP 811, B.8 (1 ft = 0.3048 m, 1 in = 25.4 mm, 1 lbf*in).
        ("1 m2", Dimension.AREA, 1e4),
        ("1 ft2", Dimension.AREA, 929.0304),
        ("1 in3", Dimension.VOLUME, 0.016387064),
        ("100 in-lb", Dimension.TORQUE, 11.298482902763),
        ("18 ft-lb", Dimension.TORQUE, 24.404723070),
        ("18 ft lbs", Dimension.TORQUE, 24.404723070),
        ("18 lb*ft", Dimension.TORQUE, 24.404723070),
        ("25 N m", Dimension.TORQUE, 25.0),
        ("25 N-m", Dimension.TORQUE, 25.0),
        ("700 RPM", Dimension.ENGINE_SPEED, 700.0),
        ("700 1/min", Dimension.ENGINE_SPEED, 700.0),
        ("700 min-1", Dimension.ENGINE_SPEED, 700.0),
        ("95 ° F", TEMPERATURE, 35.0),
        ("1.8 degF", Dimension.TEMPERATURE_STEP, 1.0),
        ("2 K", Dimension.TEMPERATURE_STEP, 2.0),
        ("12600 mV", Dimension.VOLTAGE, 12.6),
    ],
)
def test_understood(text, dimension, value):
    assert parse_quantity(text, dimension) == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "dimension", "said"),
    [
        ("35", TEMPERATURE, '"35" has no unit; write for example "42 degC"'),
        ("", TEMPERATURE, "a temperature (a number, then a unit); write for example"),
        ("warm", TEMPERATURE, '"warm" is not a temperature'),
        ("35,5 degC", TEMPERATURE, "comma; write the decimals after a point"),
        ("nan degC", TEMPERATURE, "not a finite number"),
        ("-inf degC", TEMPERATURE, "not a finite number"),
        ("1e300 degC", TEMPERATURE, "beyond anything a temperature can be"),
        ("1e999 degC", TEMPERATURE, "beyond anything a temperature can be"),
        ("-300 degC", TEMPERATURE, "beyond anything a temperature can be"),
        ("35 C", TEMPERATURE, 'not a unit of a temperature; write "degC"'),
        ("95 F", TEMPERATURE, 'not a unit of a temperature; write "degF"'),
        ("35 degc", TEMPERATURE, 'not a unit that is known here; write "degC"'),
        ("35 Celsius", TEMPERATURE, 'write "degC"'),
        ("35 rpm", TEMPERATURE, '"rpm" is not a unit of a temperature'),
        ("5 delta_degF", TEMPERATURE, "is not a unit of a temperature"),
        ("35 degC/min", TEMPERATURE, "is not a unit of a temperature"),
        ("35 warms", TEMPERATURE, '"warms" is not a unit that is known here'),
        ("35 degC degC", TEMPERATURE, "is not a unit that is known here"),
        ("35 45 degC", TEMPERATURE, "is not a unit that is known here"),
        ("18 kg*m", Dimension.TORQUE, 'not a unit of a torque; write "kgf*m"'),
        ("60 L", Dimension.DURATION, "not a unit of a duration"),
        # pint takes an angle for a pure number and would make 5730 rpm of this.
        (
            "600 Hz",
            Dimension.ENGINE_SPEED,
            'not a unit of an engine speed; write "rpm"',
        ),
        # pint's parser computes: this one would keep it busy for ever.
        ("9**9**9**9 degC", TEMPERATURE, "is not a unit that is known here"),
        ("9 degC**9**9**9**9", TEMPERATURE, "is not a unit that is known here"),
        ("3 \x1b[2J", Dimension.DURATION, r'"\x1b[2J" is not a unit'),
    ],
)
def test_refused_with_a_remedy(text, dimension, said):
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text, dimension)
    assert said in str(caught.value)
    assert "; " in str(caught.value)
    assert str(caught.value).isprintable()


@pytest.fixture(scope="module")
def registry():
    """pint: a general reference library, independent of our table."""
    return pint.UnitRegistry()


PINT_SPELLING = {
    "Nm": "N*m",
    "cm3": "cm**3",
    "cm2": "cm**2",
    "mm2": "mm**2",
    "in2": "in**2",
    "kg/m3": "kg/m**3",
    "g/cm3": "g/cm**3",
    "mm2/s": "mm**2/s",
}


@pytest.mark.parametrize(
    ("unit", "dimension"),
    [(unit, dimension) for dimension in Dimension for unit in KINDS[dimension].factors],
)
def test_table_of_usual_spellings_agrees_with_pint(unit, dimension, registry):
    step = "delta_" if "delta_" in dimension and unit.startswith("deg") else ""
    theirs = registry.parse_units(step + PINT_SPELLING.get(unit, unit))
    factor, offset = linear_to(unit, dimension)
    for number in (0.0, 1.0, 97.25):
        value = registry.Quantity(number, theirs).to(dimension.value).magnitude
        assert number * factor + offset == pytest.approx(value, rel=1e-9, abs=1e-9)


def test_a_torque_and_its_tolerance_have_one_unit():
    # NIST SP 811, B.8: 1 lbf ft = 1.3558179483 N m
    assert show_torque(8.0, Units.METRIC, 0.8) == "8.0 ± 0.8 N·m"
    assert show_torque(8.0, Units.US, 0.8) == "5.9 ± 0.6 lbf·ft"
    assert show_torque(0.35, Units.METRIC, 0.05) == "0.35 ± 0.05 N·m"
    assert show_torque(0.35, Units.US, 0.05) == "3.1 ± 0.4 lbf·in"
    assert show_torque(None, Units.US, 0.05) == ABSENT


def test_usual_spellings_do_not_import_pint():
    code = (
        "import sys; from bridge.units import *;"
        "parse_quantity('95 degF', Dimension.TEMPERATURE);"
        "assert 'pint' not in sys.modules;"
        "parse_quantity('1 fortnight', Dimension.DURATION);"
        "assert 'pint' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


@pytest.mark.parametrize("dimension", list(Dimension))
def test_example_is_understood(dimension):
    assert math.isfinite(parse_quantity(example_of(dimension), dimension))


@examples(300)
@given(text=st.text(max_size=60), dimension=st.sampled_from(list(Dimension)))
@example(text="1 " + "a" * 50, dimension=Dimension.DURATION)
@example(text="1" * 60, dimension=Dimension.DURATION)
def test_any_text_gives_a_finite_number_or_one_sentence(text, dimension):
    _finite_or_refused(text, dimension)


UNIT_WORDS = st.sampled_from(
    [
        *(unit for kind in KINDS.values() for unit in kind.factors),
        # What pint knows and no sheet means: logarithms, pure numbers, constants.
        *("dB", "dBm", "pH", "neper", "percent", "count", "radian", "Hz", "e", "c"),
        *("delta_degC", "kilodegC", "degree_Reaumur", "year", "fortnight"),
    ]
)


@examples(300)
@given(
    number=st.floats(allow_nan=True, allow_infinity=True),
    words=st.lists(UNIT_WORDS, min_size=1, max_size=3),
    glue=st.sampled_from(["*", "/", "**", "^", " ", "·"]),
    dimension=st.sampled_from(list(Dimension)),
)
def test_any_unit_gives_a_finite_number_or_one_sentence(number, words, glue, dimension):
    _finite_or_refused(f"{number} {glue.join(words)}", dimension)


def _finite_or_refused(text, dimension):
    try:
        value = parse_quantity(text, dimension)
    except QuantityError as refusal:
        said = str(refusal)
    else:
        said = ""
        assert math.isfinite(value)
    assert said.isprintable()


@pytest.mark.parametrize(
    ("shown", "wanted"),
    [
        (show_temperature(38.44, Units.METRIC), "38.4 °C"),
        (show_temperature(35.0, Units.US), "95.0 °F"),
        (show_temperature(35.4, Units.METRIC, digits=0), "35 °C"),
        (show_temperature(-0.04, Units.METRIC), "0.0 °C"),
        (show_temperature_step(0.5, Units.METRIC), "0.5 °C"),
        (show_temperature_step(0.5, Units.US), "0.9 °F"),
        (show_temperature_span(35.0, 45.0, Units.METRIC), "35 to 45 °C"),
        (show_temperature_span(35.0, 45.0, Units.US), "95 to 113 °F"),
        (show_temperature_span(43.5, 47.0, Units.METRIC), "43.5 to 47.0 °C"),
        (show_rate(2.4 / 60, Units.METRIC), "+2.4 °C/min"),
        (show_rate(-2.0 / 60, Units.US), "-3.6 °F/min"),
        (show_rate(0.0001, Units.METRIC), "0.0 °C/min"),
        (show_volume(5.5, Units.METRIC), "5.50 L"),
        (show_volume(0.35, Units.METRIC), "350 mL"),
        (show_volume(0.9999, Units.METRIC), "1.00 L"),
        (show_torque(25.0, Units.METRIC), "25.0 N·m"),
        (show_distance(60000.0, Units.METRIC), "60000 km"),
        (show_duration(0.0), "0 s"),
        (show_duration(59.6), "1 min 00 s"),
        (show_duration(185.0), "3 min 05 s"),
        (show_duration(3725.0), "1 h 02 min"),
        (temperature_unit(Units.US), "°F"),
    ],
)
def test_shown(shown, wanted):
    assert shown == wanted


@pytest.mark.parametrize("missing", [None, math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("units", list(Units))
@pytest.mark.parametrize(
    "show",
    [
        show_temperature,
        show_temperature_step,
        show_rate,
        show_volume,
        show_torque,
        show_distance,
    ],
)
def test_no_number_is_shown_as_absent(show, units, missing):
    assert show(missing, units) == ABSENT


@pytest.mark.parametrize("missing", [None, math.nan, math.inf, -1.0])
def test_no_duration_is_shown_as_absent(missing):
    assert show_duration(missing) == ABSENT


def test_printable_spells_out_and_cuts():
    assert printable("a\x1bb\nc") == r"a\x1bb\nc"
    assert len(printable("x" * 500)) == 60
