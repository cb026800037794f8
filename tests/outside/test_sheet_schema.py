"""The format's JSON Schema, judged by a general-purpose validator (jsonschema).

Draft 2020-12: https://json-schema.org/draft/2020-12/schema. Whatever the reader takes
the schema must take; what the schema refuses the reader must refuse.
"""

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from bridge.sheets import find_sheet, parse_sheet, shipped_sheets
from bridge.sheets.keys.all_keys import SECTIONS, TELLS
from bridge.sheets.sheet_schema import schema_text, sheet_schema
from bridge.values.errors import SheetError
from tests.everyday import examples
from tests.service.mistakes.service_mistakes import SERVICE_MISTAKES, TEXT
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


WITHIN_A_SCHEMA = 0.7
"""Share of the listed mistakes a schema can see; the rest: sizes, other sections."""


def test_wrong_sheets_are_refused():
    assert complaints(BASE) == []
    assert complaints(TEXT) == []
    seen = 0
    listed = [(BASE, *m[:2]) for m in MISTAKES]
    listed += [(TEXT, *m[:2]) for m in SERVICE_MISTAKES]
    for base, good, bad in listed:
        try:
            refused = complaints(base.replace(good, bad, 1))
        except tomllib.TOMLDecodeError:
            continue
        seen += bool(refused)
    assert seen >= WITHIN_A_SCHEMA * len(listed)


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
