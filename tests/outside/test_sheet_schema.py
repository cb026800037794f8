"""The format's JSON Schema, judged by a general-purpose validator (jsonschema).

Draft 2020-12: https://json-schema.org/draft/2020-12/schema. Whatever the reader takes
the schema must take; what the schema refuses the reader must refuse.
"""

import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from bridge.sheets import find_sheet, parse_sheet, shipped_sheets
from bridge.sheets.keys.all_keys import SECTIONS, TELLS
from bridge.sheets.keys.key_kinds import KeyKind, spell_unit
from bridge.sheets.schema_sizes import above, below
from bridge.sheets.sheet_schema import _key, schema_text, sheet_schema
from bridge.values.errors import SheetError
from tests.everyday import examples
from tests.service import test_circuits
from tests.service.mistakes.service_mistakes import SERVICE_MISTAKES, TEXT
from tests.session import test_air_window, test_phases
from tests.sheets.test_profile_fuzz import EVERY_KEY, VALUES, toml_of, with_value
from tests.sheets.test_profile_mistakes import BASE, MISTAKES

SCHEMA = sheet_schema()
JUDGE = Draft202012Validator(SCHEMA)
SHIPPED = Path(__file__).parents[2] / "profiles" / "sheet.schema.json"


def complaints(text: str) -> list[str]:
    return [error.message for error in JUDGE.iter_errors(tomllib.loads(text))]


def test_the_schema_is_one():
    Draft202012Validator.check_schema(SCHEMA)


def test_the_shipped_file_is_the_generated_one():
    # Make it anew with: sumpgate sheet schema > profiles/sheet.schema.json
    assert SHIPPED.read_text("utf-8") == schema_text()


def test_every_key_is_told_with_an_example_that_the_schema_takes():
    for name, keys in SECTIONS.items():
        section = SCHEMA["properties"][name]
        assert section["description"] == TELLS[name]
        properties = section.get("items", section)["properties"]
        assert set(properties) == set(keys)
        for key, told in properties.items():
            assert told["description"].endswith(".")
            one = {**told, "$defs": SCHEMA["$defs"]}
            for example in (
                *told["examples"],
                *[told[k] for k in told if k == "default"],
            ):
                assert Draft202012Validator(one).is_valid(example), (name, key)


@pytest.mark.parametrize("name", shipped_sheets())
def test_shipped_sheets_fit_the_schema(name):
    assert complaints(find_sheet(name).read_text("utf-8")) == []


LEFT_TO_THE_READER = {
    "two sizes are compared, or a size is reckoned from others": {
        '["45 degC", "35 degC"]',
        '["45 degC", "95 degF"]',
        '["35 degC", "95 degF"]',
        '["900 rpm", "600 rpm"]',
        'protocol = "6"\n[fluid]\nviscosity_40 = "6 mm2/s"\nviscosity_100 = "30 mm2/s"',
        'method = "overflow-tube"\nclose_at = "60 degC"',
        "first_byte = 4",
        "first_byte = 0",
        "length = 3",
        "data_length = 5",
        "offset = -273.0",
        '"-60 degC"',
        '"40 degC"',
        '_tolerance = "40 N*m"',
        "count = 4\nsequence = [1, 3, 2]",
        'stages = ["40 N*m"]',
        'angle = "90 deg"\nangle_tolerance = "90 deg"',
        'tolerance = "5 L"',
        'pitch = "1 mm"',
        '["9 degC", "30 degC"]',
        '["30 degC", "10 degC"]',
        'service_fill_tolerance = "1.2 L"',
        'name = "w"\nclose_at = "80 degC"',
        'window = ["149 degC", ""]',
    },
    "one item names another, or has the name of another": {
        'method = "overflow-tube"\nselector = "X"',
        'name = "long case"',
        'name = "drain plug"',
        'name = "pan"',
        'only_for = ["long-case"]',
        'only_for = ["other make"]',
        'fastener = "drian plug"',
        'fastener = "xyz"',
        'name = "tube"\nfastener = "overflow tube"',
        '["P", "2"]\nhold',
        '"0x0" = "R"',
        'circuit = "gearbox"\n\n[[signal]]',
        'circuit = "final drive"\n\n[[signal]]',
        '"warm check"',
    },
    "the last of a list: a schema counts from the first": {
        'name = "w"\nends = "told"',
        'name = "w"\nends = "warm"',
    },
    "a size in another unit than the key's own, or with an exponent": {
        '["95 degC", "1e9 degC"]',
        '"3 h"',
        'angle = "9 turns"',
        'hold = "3 h"',
        'time = "4 days"',
        'service_fill = "45 gal"',
    },
    "units there are without end; a schema lists those that are often confused": {
        '["35 hot", "45 hot"]',
        'unit = "warms"',
    },
    "JSON has no such number: no nan, and 34.0 is 34": {
        "stay_chance = nan",
        "turns_back = nan",
        "service = 34.0",
    },
}
"""The listed mistakes that no schema can see, by why."""


BY_THE_WAY = {
    test_air_window: test_air_window.RIME.read_text("utf-8"),
    test_circuits: test_circuits.GILL.read_text("utf-8"),
    test_phases: test_phases.TEXT,
}
"""Mistakes in windows by the air, circuits and phases, and the sheet without them."""


def test_wrong_sheets_are_refused():
    assert complaints(BASE) == []
    assert complaints(TEXT) == []
    passed = []
    listed = [(BASE, *m[:2]) for m in MISTAKES]
    listed += [(TEXT, *m[:2]) for m in SERVICE_MISTAKES]
    for of_ways, base in BY_THE_WAY.items():
        assert complaints(base) == []
        listed += [(base, *pair) for pair in of_ways.MISTAKES.values()]
    for base, good, bad in listed:
        assert good in base
        try:
            fits = JUDGE.is_valid(tomllib.loads(base.replace(good, bad, 1)))
        except tomllib.TOMLDecodeError:
            continue
        if fits:
            passed.append(bad)
    assert sorted(passed) == sorted(set().union(*LEFT_TO_THE_READER.values()))


@pytest.mark.parametrize(
    ("good", "bad"),
    [
        ('engine = "idling"', 'engine = "running"'),
        ("stay_chance = 0.9", "stay_chance = 2"),
        ('window = ["35 degC", "45 degC"]', 'window = ["35", "45"]'),
        ('window = ["35 degC", "45 degC"]\n', ""),
        ("service = 0x22", "service = 0x2E"),
        ('[[signal]]\nrole = "sel', '[[signal]]\nrolle = "sel'),
        ('lines = ["Hot fluid."]', 'lines = "Hot fluid."'),
        ('source = "invented for tests"', 'source = ""'),
        ('source = "invented for tests"', 'source = "a\\u0007b"'),
        ('window = ["35 degC", "45 degC"]', 'window = ["35 C", "45 C"]'),
        ('window = ["35 degC", "45 degC"]', 'window = ["35 s", "45 s"]'),
        ('settle_time = "60 s"', 'settle_time = "-60 s"'),
        ('unit = "degC"\n', ""),
        ("identifier = 0x1157", "identifier = 0xF405"),
        ('request_id = "7E1"', 'request_id = "7DF"'),
        ('request_id = "7E1"', 'request_id = "123"'),
        ('request_id = "7E1"\nreply_id = "7E9"', 'request_id = "712"'),
        ("factor = 1.0", "factor = 0"),
        ('role = "selector"', 'role = "fluid-temperature"'),
        ('role = "selector"', 'role = "selector"\nunit = "V"'),
        ('role = "selector"', 'role = "selector"\naccuracy = "2 degC"'),
        ('window = ["35 degC", "45 degC"]', 'window = ["", ""]'),
        ('window = ["35 degC", "45 degC"]', 'window = ["35 degC", "151 degC"]'),
        ('window = ["35 degC", "45 degC"]', 'window = ["-1 degC", "45 degC"]'),
        ('settle_time = "60 s"', 'settle_time = "0.0 min"'),
        ('idle_speed = ["500 rpm"', 'idle_speed = ["199.9 rpm"'),
        ("not_available = [0xFF]", "not_available = [-1]"),
        ('"1" = "R"', '"R" = "R"'),
        ('"1" = "R"', '"256" = "R"'),
        ('"1" = "R"', '"0x100" = "R"'),
        ('"1" = "R"', '"-1" = "R"'),
        ('protocol = "6"', 'protocol = "7"'),
        ('reply_id = "7E9"', 'reply_id = "7EA"'),
        ("factor = 1.0", "factor = 1e-9"),
    ],
)
def test_a_mistake_that_an_editor_shows(good, bad):
    assert good in BASE
    assert complaints(BASE.replace(good, bad, 1))


@pytest.mark.parametrize(("section", "key"), EVERY_KEY)
@examples(30)
@given(value=VALUES)
@pytest.mark.slow
def test_the_schema_refuses_nothing_that_the_reader_takes(section, key, value):
    text = with_value(section, key, toml_of(value))
    try:
        parse_sheet(text, "any.toml")
    except SheetError:
        return
    assert complaints(text) == []


@examples(100)
@given(number=st.floats(-1e6, 1e6), space=st.sampled_from(["", " ", "  "]))
def test_quantities_with_any_number(number, space):
    text = BASE.replace('"35 degC"', f'"{number!r}{space}degC"')
    try:
        parse_sheet(text, "any.toml")
    except SheetError:
        return
    assert complaints(text) == []


@examples(300)
@given(number=st.integers(-3000, 4000), most=st.integers(0, 2000))
def test_whole_numbers_beyond_a_limit(number, most):
    def fits(pattern: str) -> bool:
        return re.fullmatch(pattern, str(abs(number))) is not None

    assert fits(above(most)) == (abs(number) > most)
    assert fits(below(most + 1)) == (abs(number) < most + 1)


def test_a_key_is_refused_by_its_limits_where_the_reader_refuses_it():
    # In the key's own unit, without decimals: both must say the same.
    for section, keys in SECTIONS.items():
        for key, told in keys.items():
            if told.kind is not KeyKind.QUANTITY or not told.dimension:
                continue
            judge = Draft202012Validator({**_key(told), "$defs": SCHEMA["$defs"]})
            for number in (-3000, -1, 0, 1, 19, 151, 501, 4000, 10**7, 2 * 10**9):
                inside = told.low <= number <= told.high
                assert judge.is_valid(f"{number} {spell_unit(told.dimension)}") == (
                    inside or (0 < told.low - number < 1 and number > 0)
                ), (section, key, number)
