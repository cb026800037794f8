"""Every mistake in a sheet: one sentence with file, line, key and remedy."""

import re

import pytest

from bridge.sheets import examine, parse_sheet
from bridge.sheets.reading.sheet_page import line_of
from bridge.values.errors import SheetError

BASE = """\
[gearbox]
name = "Test gearbox"
source = "invented for tests"

[level]
window = ["35 degC", "45 degC"]
engine = "idling"
settle_time = "60 s"
stay_chance = 0.9
idle_speed = ["500 rpm", "1100 rpm"]
method = "overflow-tube"

[link]
protocol = "6"

[[signal]]
role = "fluid-temperature"
request_id = "7E1"
reply_id = "7E9"
service = 0x22
identifier = 0x1157
first_byte = 0
length = 1
data_length = 4
signed = false
byte_order = "big"
factor = 1.0
offset = -40.0
unit = "degC"
not_available = [0xFF]
minimum = "-40 degC"
maximum = "160 degC"

[[signal]]
role = "selector"
request_id = "7E1"
reply_id = "7E9"
service = 0x22
identifier = 0x1157
first_byte = 2
data_length = 4
labels = { "0" = "P", "1" = "R" }

[cautions]
lines = ["Hot fluid."]

[steps]
level = ["Open the plug."]
"""

# what is written, what is written instead, the key named, what is said, the remedy
MISTAKES = [
    # sections and keys
    ("[link]", "[lnik]", "lnik", "is not known", 'write "link"'),
    ("[level]", "[levl]", "levl", "is not known", 'write "level"'),
    ("[gearbox]", "[rhubarb]", "rhubarb", "is not known", "profiles/README.md"),
    ("[gearbox]\n", "", "name", "is not known", "move it to [gearbox]"),
    (
        '[[signal]]\nrole = "fluid',
        '[signal]\nrole = "fluid',
        None,
        "overwrite",
        "bracket",
    ),
    ("[level]", "[[level]]", "level", "is no section", "write [level]"),
    ("[cautions]\nlines", "[steps.x]\nlines", "x", "is not known", "take it out"),
    ("engine =", "engin =", "engin", "is not known", 'write "engine"'),
    ("engine =", "Engine =", "Engine", "is not known", 'write "engine"'),
    (
        "stay_chance = 0.9",
        "factor = 0.9",
        "factor",
        "is not known",
        "move it to [[signal]]",
    ),
    ("length = 1", '"\\u001b[2J" = 1', r"\x1b[2J", "is not known", "take it out"),
    # gearbox
    ('name = "Test gearbox"\n', "", "name", "is missing", "add name ="),
    ('source = "invented for tests"\n', "", "source", "is missing", "add source ="),
    ('"Test gearbox"', '"  "', "name", "empty text", "write it like"),
    ('"Test gearbox"', "7", "name", "is 7, not a text", "write it like"),
    ('"Test gearbox"', '"a\\u001b[2J"', "name", "control character", "plain lines"),
    ('"Test gearbox"', '"a\\nb"', "name", "line break", "plain lines"),
    ('"Test gearbox"', f'"{"x" * 500}"', "name", "too long", "400"),
    ('"invented for tests"', "1979-05-27", "source", "a date or time", "write it like"),
    # the window
    ('window = ["35 degC", "45 degC"]\n', "", "window", "is missing", "add window ="),
    (
        '["35 degC", "45 degC"]',
        '["45 degC", "35 degC"]',
        "window",
        "upside down",
        "lower",
    ),
    (
        '["35 degC", "45 degC"]',
        '["45 degC", "95 degF"]',
        "window",
        "upside down",
        "lower",
    ),
    (
        '["35 degC", "45 degC"]',
        '["35 degC", "95 degF"]',
        "window",
        "no room",
        "two limits",
    ),
    ('["35 degC", "45 degC"]', '["35 degC"]', "window", "must be two", "like window ="),
    ('["35 degC", "45 degC"]', '"35 degC"', "window", "must be two", "like window ="),
    ('["35 degC", "45 degC"]', "[]", "window", "must be two", "like window ="),
    ('["35 degC", "45 degC"]', "[35, 45]", "window", "not a quantity", "like window ="),
    ('["35 degC", "45 degC"]', '["35", "45"]', "window", "no unit", '"42 degC"'),
    ('["35 degC", "45 degC"]', '["35 s", "45 s"]', "window", '"s" is not', '"42 degC"'),
    (
        '["35 degC", "45 degC"]',
        '["35 C", "45 C"]',
        "window",
        '"C" is not',
        'write "degC"',
    ),
    ('["35 degC", "45 degC"]', '["35 hot", "45 hot"]', "window", '"hot"', '"42 degC"'),
    (
        '["35 degC", "45 degC"]',
        '["nan degC", "45 degC"]',
        "window",
        "finite",
        '"42 degC"',
    ),
    (
        '["35 degC", "45 degC"]',
        '["95 degC", "1e9 degC"]',
        "window",
        "beyond",
        '"42 degC"',
    ),
    (
        '["35 degC", "45 degC"]',
        '["35 degC", "451 degC"]',
        "window",
        '"451 degC", outside',
        "0 to 150 degC",
    ),
    (
        '["35 degC", "45 degC"]',
        '["-9 degC", "45 degC"]',
        "window",
        '"-9 degC", outside',
        "0 to 150 degC",
    ),
    # how the level is set
    ('"idling"', '"running"', "engine", "unknown word", "idling"),
    ('"idling"', '"Idling"', "engine", "unknown word", 'write "idling"'),
    ('"idling"', "true", "engine", "is true, not a text", "write it like"),
    ('"60 s"', '"0 s"', "settle_time", '"0 s", outside', "1 to 1800 s"),
    ('"60 s"', '"-5 s"', "settle_time", '"-5 s", outside', "1 to 1800 s"),
    ('"60 s"', '"3 h"', "settle_time", '"3 h", outside', "to 0.5 h"),
    ('"60 s"', "60", "settle_time", "has 60, not a quantity", '"60 s"'),
    ('"60 s"', '"60 degC"', "settle_time", "not a unit of a duration", '"60 s"'),
    ("stay_chance = 0.9", "stay_chance = 0.4", "stay_chance", "is 0.4", "from 0.5"),
    ("stay_chance = 0.9", "stay_chance = 1", "stay_chance", "is 1", "to 0.999"),
    ("stay_chance = 0.9", "stay_chance = nan", "stay_chance", "is nan", "from 0.5"),
    ("stay_chance = 0.9", 'stay_chance = "90 %"', "stay_chance", "not a number", "0.9"),
    (
        '["500 rpm", "1100 rpm"]',
        '["900 rpm", "600 rpm"]',
        "idle_speed",
        "upside",
        "lower",
    ),
    (
        '["500 rpm", "1100 rpm"]',
        '["5 rpm", "600 rpm"]',
        "idle_speed",
        '"5 rpm", outside',
        "200 to 3000 rpm",
    ),
    ('["500 rpm", "1100 rpm"]', '["600 Hz", "900 Hz"]', "idle_speed", '"Hz"', '"rpm"'),
    ('"overflow-tube"', '"overflow tube"', "method", "unknown", '"overflow-tube"'),
    (
        '"overflow-tube"',
        '"measured-refill"',
        "window",
        "is of a level step",
        "take one of the two out",
    ),
    (
        '["35 degC", "45 degC"]',
        '["", ""]',
        "window",
        "open at both ends",
        "at least 1 of its",
    ),
    # the level step
    (
        'method = "overflow-tube"',
        'method = "overflow-tube"\nconfirm = ["car-flat"]',
        "confirm",
        "unknown here",
        "car-level",
    ),
    (
        'method = "overflow-tube"',
        'method = "overflow-tube"\nconfirm = ["cautions", "cautions"]',
        "confirm",
        "in it twice",
        "once",
    ),
    (
        'method = "overflow-tube"',
        'method = "overflow-tube"\ntilt_limit = "45 deg"',
        "tilt_limit",
        "45 deg",
        "0.05 to 30",
    ),
    (
        'method = "overflow-tube"',
        'method = "overflow-tube"\nselector = "X"',
        "selector",
        "labels do not have",
        "write one of",
    ),
    (
        'protocol = "6"',
        'protocol = "6"\n[sump]\narea = "500 mm"',
        "area",
        "mm",
        "cm2",
    ),
    (
        'protocol = "6"',
        'protocol = "6"\n[sump]\nfill = "600 L"',
        "fill",
        "600 L",
        "0.5 to 60 L",
    ),
    (
        'protocol = "6"',
        'protocol = "6"\n[fluid]\nviscosity_40 = "30 mm2/s"',
        "viscosity_100",
        "is missing",
        "both",
    ),
    (
        'protocol = "6"',
        'protocol = "6"\n[fluid]\nviscosity_40 = "6 mm2/s"\nviscosity_100 = "30 mm2/s"',
        "viscosity_40",
        "not above",
        "exchange",
    ),
    (
        'method = "overflow-tube"',
        'method = "overflow-tube"\nclose_at = "60 degC"',
        "close_at",
        "outside the window",
        "correct one",
    ),
    # accuracy
    ('unit = "degC"', 'unit = "degC"\naccuracy = "2"', "accuracy", "no unit", "degC"),
    (
        'role = "selector"',
        'role = "selector"\naccuracy = "2 degC"',
        "accuracy",
        "for temperatures",
        "take it out",
    ),
    # the connection
    ('protocol = "6"', 'protocol = "D"', "protocol", "unknown word", "auto, 1, 2"),
    ('protocol = "6"', 'protocol = "3"', "protocol", "have an 11-bit id", '"6"'),
    ('protocol = "6"', 'protocol = "A"', "protocol", "have an 11-bit id", '"6"'),
    (
        'protocol = "6"',
        'protocol = "6"\nsession = "programming"',
        "session",
        "unknown word",
        "default, extended",
    ),
    ('protocol = "6"', "protocol = 6", "protocol", "is 6, not a text", '"auto"'),
    (
        'protocol = "6"',
        'protocol = "7"',
        "protocol",
        "have an 11-bit id",
        '"6" or "8"',
    ),
    # role
    ('role = "fluid-temperature"\n', "", "role", "is missing", "add role ="),
    ('"fluid-temperature"', '"fluid-temp"', "role", "unknown", '"fluid-temperature"'),
    ('"fluid-temperature"', '"gearbox"', "role", "unknown word", "one of fluid-temp"),
    # service and identifier
    ("service = 0x22\n", "", "service", "is missing", "add service = 0x22"),
    ("service = 0x22", "service = 0x2E", "service", "only reads", "0x01, 0x21 or 0x22"),
    ("service = 0x22", "service = 0x04", "service", "0x04", "0x01, 0x21 or 0x22"),
    ("service = 0x22", "service = 0x31", "service", "0x31", "0x01, 0x21 or 0x22"),
    ("service = 0x22", "service = 22", "service", "without its 0x", "write 0x22"),
    ("service = 0x22", "service = -1", "service", "is -1", "0x01, 0x21 or 0x22"),
    ("service = 0x22", 'service = "0x22"', "service", "not a whole number", "= 0x22"),
    ("service = 0x22", "service = true", "service", "is true, not a whole", "= 0x22"),
    ("service = 0x22", "service = 34.0", "service", "not a whole number", "= 0x22"),
    ("identifier = 0x1157\n", "", "identifier", "is missing", "add identifier ="),
    (
        "identifier = 0x1157",
        "identifier = 0x11157",
        "identifier",
        "0x11157",
        "0xFFFF",
    ),
    ("identifier = 0x1157", "identifier = -1", "identifier", "is -1", "to 0xFFFF"),
    (
        "identifier = 0x1157",
        "identifier = 0xF405",
        "identifier",
        "coolant",
        "own ident",
    ),
    ("identifier = 0x1157", "identifier = 0xF45C", "identifier", "engine oil", "own"),
    # ids
    ('request_id = "7E1"\n', "", "request_id", "is missing", 'request_id = "7E1"'),
    ('request_id = "7E1"', 'request_id = "7DF"', "request_id", "all control", "7E1"),
    (
        'request_id = "7E1"',
        'request_id = "18DB33F1"',
        "request_id",
        "all control",
        "7E1",
    ),
    (
        'request_id = "7E1"',
        'request_id = "7E9"',
        "request_id",
        "answer with",
        "reply_id",
    ),
    (
        'request_id = "7E1"',
        'request_id = "18DAF118"',
        "request_id",
        "answer",
        "reply_id",
    ),
    ('request_id = "7E1"', 'request_id = "123"', "request_id", "command", "600 to 7FF"),
    (
        'request_id = "7E1"',
        'request_id = "0CF00400"',
        "request_id",
        "command",
        "600 to",
    ),
    ('request_id = "7E1"', 'request_id = "FFF"', "request_id", "11 bits", "anew"),
    ('request_id = "7E1"', 'request_id = "FFFFFFFF"', "request_id", "29 bits", "anew"),
    ('request_id = "7E1"', 'request_id = "000007E1"', "request_id", "29 bits", "anew"),
    (
        'request_id = "7E1"',
        'request_id = "7"',
        "request_id",
        "not a CAN id",
        "three hex",
    ),
    (
        'request_id = "7E1"',
        'request_id = "7G1"',
        "request_id",
        "not a CAN id",
        "three hex",
    ),
    (
        'request_id = "7E1"',
        "request_id = 0x2000_0000",
        "request_id",
        "29 bits",
        "eight",
    ),
    ('request_id = "7E1"', "request_id = true", "request_id", "not a CAN id", '"7E1"'),
    ('request_id = "7E1"', 'request_id = "712"', "reply_id", "answers 7E1", "712"),
    ('reply_id = "7E9"', 'reply_id = "7E1"', "reply_id", "own id", 'write "7E9"'),
    ('reply_id = "7E9"', 'reply_id = "7EA"', "reply_id", "ISO 15765-4", 'write "7E9"'),
    ('reply_id = "7E9"', 'reply_id = "18DAF118"', "reply_id", "width", 'write "7E9"'),
    # bytes
    ("first_byte = 0", "first_byte = -1", "first_byte", "is -1", "from 0"),
    ("first_byte = 0", "first_byte = 4", "data_length", "reach 5 bytes", "correct one"),
    ("first_byte = 2", "first_byte = 0", "first_byte", "reads as well", "correct one"),
    ("length = 1", "length = 0", "length", "is 0", "from 1 to 4"),
    ("length = 1", "length = 5", "length", "is 5", "from 1 to 4"),
    ("length = 1", "length = true", "length", "is true", "length = 1"),
    ("length = 1", "length = 3", "first_byte", "reads as well", "correct one"),
    ("data_length = 4", "data_length = 0", "data_length", "is 0", "from 1"),
    (
        "data_length = 4",
        "data_length = 5",
        "data_length",
        "same answer",
        "make them equal",
    ),
    ("signed = false", "signed = 0", "signed", "is 0, not true or false", "= false"),
    ('byte_order = "big"', 'byte_order = "Big"', "byte_order", "unknown word", '"big"'),
    (
        'byte_order = "big"',
        'byte_order = "abba"',
        "byte_order",
        "unknown",
        "big, little",
    ),
    # scale
    ("factor = 1.0", "factor = 0", "factor", "zero", "one step"),
    ("factor = 1.0", "factor = 1e-12", "factor", "zero", "one step"),
    ("factor = 1.0", "factor = nan", "factor", "is nan", "write a number"),
    ("factor = 1.0", "factor = inf", "factor", "is inf", "write a number"),
    ("factor = 1.0", "factor = 1e9", "factor", "is 1e+09", "write a number"),
    ("factor = 1.0", "factor = true", "factor", "is true, not a number", "1.0"),
    ("factor = 1.0", 'factor = "1"', "factor", "not a number", "1.0"),
    ("factor = 1.0", f"factor = {'9' * 400}", "factor", "far too large", "write a"),
    ("offset = -40.0", "offset = -inf", "offset", "is -inf", "write a number"),
    ("offset = -40.0", "offset = -273.0", "factor", "leaves out", None),
    ('unit = "degC"\n', "", "unit", "is missing", 'unit = "degC"'),
    ('unit = "degC"', 'unit = "rpm"', "unit", "does not suit fluid", '"42 degC"'),
    ('unit = "degC"', 'unit = "C"', "unit", "does not suit fluid", 'write "degC"'),
    (
        'unit = "degC"',
        'unit = "warms"',
        "unit",
        "not a unit that is known",
        '"42 degC"',
    ),
    ('unit = "degC"', 'unit = ""', "unit", "empty text", 'unit = "degC"'),
    ('unit = "degC"', "unit = 1", "unit", "not a text", 'unit = "degC"'),
    # what counts as no reading
    ("[0xFF]", "[0x100]", "not_available", "0x100", "0xFF"),
    ("[0xFF]", "[-1]", "not_available", "-1", "from 0 to 0xFF"),
    ("[0xFF]", "[0xFF, 255]", "not_available", "twice", "each one once"),
    ("[0xFF]", "0xFF", "not_available", "not a list", "[0xFF]"),
    ("[0xFF]", '["FF"]', "not_available", "not a whole number", "[0xFF]"),
    ("[0xFF]", "[true]", "not_available", "has true in it", "[0xFF]"),
    # limits
    ('"-40 degC"', "-40", "minimum", "not a quantity", "minimum ="),
    ('"-40 degC"', '"-40 rpm"', "minimum", "not a unit of a temp", '"42 degC"'),
    ('"160 degC"', '"-60 degC"', "maximum", "leaves no value", "below the maximum"),
    ('"160 degC"', '"40 degC"', "factor", "leaves out part", "limits"),
    # selector
    ('labels = { "0" = "P", "1" = "R" }', "labels = 1", "labels", "not a table", '"P"'),
    ('{ "0" = "P", "1" = "R" }', "{}", "labels", "not a table", '"P"'),
    ('{ "0" = "P", "1" = "R" }', '{ P = "0" }', "labels", '"P" where', '"0" = "P"'),
    ('{ "0" = "P", "1" = "R" }', '{ "256" = "P" }', "labels", "cannot hold", "0xFF"),
    ('{ "0" = "P", "1" = "R" }', '{ "0" = 1 }', "labels", "have 1 where", '"D"'),
    ('{ "0" = "P", "1" = "R" }', '{ "0" = "" }', "labels", "a position belongs", '"D"'),
    ('"1" = "R"', '"0x0" = "R"', "labels", "twice", "each one once"),
    ('role = "selector"', 'role = "selector"\nunit = "V"', "unit", "no meaning", "out"),
    (
        "first_byte = 2",
        'first_byte = 2\nminimum = "1 V"',
        "minimum",
        "no meaning",
        "out",
    ),
    (
        "first_byte = 0",
        'labels = { "0" = "P" }',
        "labels",
        "selector only",
        "take them",
    ),
    # texts
    ('lines = ["Hot fluid."]', 'lines = "Hot."', "lines", "not a list", "lines = ["),
    ('lines = ["Hot fluid."]', "lines = [1]", "lines", "has 1 in it", "lines = ["),
    ('lines = ["Hot fluid."]', 'lines = [""]', "lines", "an empty text", "lines = ["),
    ('["Open the plug."]', "[true]", "level", "has true in it", "level = ["),
    ('["Open the plug."]', "[" + '"a",' * 101 + "]", "level", "too many", "100"),
]


def sentence_of(text: str) -> str:
    """Return what a sheet's mistake says, checked to be one plain sentence."""
    with pytest.raises(SheetError) as caught:
        parse_sheet(text, "test.toml")
    said = str(caught.value)
    assert said.isprintable()
    assert said.startswith("test.toml")
    assert said.endswith(".")
    assert "; " in said  # what is wrong; what to do
    return said


def test_the_sheet_that_the_mistakes_are_made_in_is_right():
    assert len(parse_sheet(BASE, "test.toml").signals) == 2


@pytest.mark.parametrize(("good", "bad", "key", "wrong", "remedy"), MISTAKES)
def test_mistake(good, bad, key, wrong, remedy):
    assert good in BASE
    said = sentence_of(BASE.replace(good, bad, 1))
    if key:
        assert f'"{key}" in ' in said
    fault, _, cure = said.rpartition("; ")
    assert wrong in fault
    assert (remedy or "") in cure


def test_there_are_at_least_sixty_mistakes_in_the_list():
    assert len({(good, bad) for good, bad, *_ in MISTAKES}) >= 60


@pytest.mark.parametrize(
    ("text", "line", "wrong"),
    [
        ("[level]\nwindow = [35 degC]", 2, "unclosed array"),
        ('[gearbox]\nname = "x', None, "unterminated string"),
        ("[level]\n[level]", 2, "cannot declare"),
        ("a = 1\na = 2", None, "cannot overwrite"),
        ("when = 2020-13-45", 1, "expected newline"),
        ('a = "\\ud800"', 1, "escaped character"),
        ("\x00", 1, "invalid statement"),
        ("\x1b[2J", 1, "invalid statement"),
        ("= 1", 1, "invalid statement"),
    ],
)
def test_broken_toml(text, line, wrong):
    said = sentence_of(text)
    assert f"not valid TOML ({wrong}" in said
    assert (f", line {line}:" in said) == (line is not None)


@pytest.mark.slow
def test_deep_nesting_and_endless_numbers():
    assert "nested too deep" in sentence_of("a = " + "[" * 5000)
    assert '"a" in the sheet is not known' in sentence_of("a" + ".a" * 5000 + " = 1")
    assert "too many digits" in sentence_of("a = " + "9" * 5000)


def test_an_empty_sheet_says_what_to_begin_with():
    assert '"name" in [gearbox] is missing' in sentence_of("")


def test_every_mistake_of_one_signal_is_told_at_once():
    wrong = {
        "service = 0x22": "service = 0x2E",
        "length = 1": "length = 9",
        'byte_order = "big"': 'byte_order = "grand"',
        'unit = "degC"': 'unit = "rpm"',
        "[0xFF]": "[0xFFF]",
        '"160 degC"': '"160 V"',
        'request_id = "7E1"': 'request_id = "7DF"',
    }
    text = BASE
    for good, bad in wrong.items():
        text = text.replace(good, bad, 1)
    said = [str(mistake) for mistake in examine(text, "test.toml")[1]]
    told = [line.split('"')[1] for line in said]
    # The raw value's width is wrong itself, so what fits into it cannot be said; nor
    # whether an id is right for a service that is none.
    assert sorted(told) == ["byte_order", "length", "maximum", "service", "unit"]
    text = text.replace("length = 9", "length = 1").replace("0x2E", "0x22")
    said = [str(mistake) for mistake in examine(text, "test.toml")[1]]
    told = [line.split('"')[1] for line in said]
    assert sorted(told) == [
        *("byte_order", "maximum", "not_available", "request_id", "unit")
    ]


def test_a_misspelt_key_or_section_is_one_mistake():
    for good, bad in (("[level]", "[levle]"), ("name = ", "nmae = "), ("role", "rloe")):
        _, mistakes = examine(BASE.replace(good, bad, 1), "test.toml")
        assert len(mistakes) == 1, [str(m) for m in mistakes]


def test_oil_is_not_answered_with_coolant():
    said = sentence_of(BASE.replace("fluid-temperature", "oil-temperature"))
    assert "one of fluid-temperature" in said
    said = sentence_of(BASE.replace("fluid-temperature", "fluid-temprature"))
    assert said.endswith('write "fluid-temperature".')


def test_only_a_standard_pid_goes_without_request_id():
    said = sentence_of(
        BASE.replace('request_id = "7E1"\n', "").replace(
            "service = 0x22", "service = 1"
        )
    )
    assert '"identifier" in [[signal]] 1 is 0x1157' in said
    pid = BASE.replace('request_id = "7E1"\n', "", 1).replace(
        "service = 0x22\nidentifier = 0x1157", "service = 0x01\nidentifier = 0x0B", 1
    )
    assert '"reply_id" in [[signal]] 1 stands without a request_id' in sentence_of(pid)


@pytest.mark.parametrize("pid", ["0x05", "0x0F", "0x46", "0x5C", "0x67", "0x68"])
def test_no_standard_temperature_passes_for_the_fluid(pid):
    # SAE J1979: 05 and 67 coolant, 0F and 68 intake air, 46 ambient, 5C engine oil.
    text = BASE.replace("service = 0x22", "service = 0x01", 1).replace(
        "identifier = 0x1157", f"identifier = {pid}", 1
    )
    assert "is not the gearbox's fluid" in sentence_of(text)


def test_a_role_comes_once():
    again = BASE.replace("first_byte = 0", "first_byte = 3", 1)
    body = again[
        again.index("[[signal]]") : again.index('[[signal]]\nrole = "selector"')
    ]
    text = BASE.replace("[cautions]", body + "[cautions]")
    assert '"role" in [[signal]] 3 is "fluid-temperature", which' in sentence_of(text)


def test_a_foreign_request_id_needs_its_reply_id():
    text = BASE.replace('request_id = "7E1"\nreply_id = "7E9"', 'request_id = "712"')
    assert "no standard says which id answers 712" in sentence_of(text)


def test_one_connection_has_ids_of_one_width():
    text = BASE.replace('protocol = "6"', "").replace(
        'role = "selector"\nrequest_id = "7E1"\nreply_id = "7E9"',
        'role = "selector"\nrequest_id = "18DA18F1"',
    )
    assert "of another width than the signals before it" in sentence_of(text)


def test_one_question_has_one_reply_id():
    text = BASE.replace('request_id = "7E1"', 'request_id = "712"').replace(
        'reply_id = "7E9"', 'reply_id = "612"', 1
    )
    assert '"reply_id" in [[signal]] 2 differs' in sentence_of(
        text.replace("7E9", "613")
    )


@pytest.mark.parametrize(
    ("key", "line"), [("window", 6), ("role", 17), ("service", 20), ("lines", 45)]
)
def test_the_line_is_that_of_the_key(key, line):
    mark = {"window": '["35 degC", "45 degC"]', "service": "0x22"}
    old = mark.get(
        key, {"role": '"fluid-temperature"', "lines": '["Hot fluid."]'}.get(key)
    )
    said = sentence_of(BASE.replace(f"{key} = {old}", f"{key} = 1e1", 1))
    assert said.startswith(f"test.toml, line {line}: ")


def test_a_missing_key_is_placed_at_its_section():
    said = sentence_of(
        BASE.replace("service = 0x22\nidentifier = 0x1157\nfirst_byte = 2", "")
    )
    assert re.match(r'test.toml, line \d+: "service" in \[\[signal\]\] 2', said)
    line = int(re.search(r"line (\d+)", said)[1])
    assert BASE.split("\n")[line - 1] == "[[signal]]"


def test_lines_are_found_behind_texts_that_look_like_keys():
    text = (
        'a = """\nwindow = 1\n[level]\n"""\n[level]\n# window = 2\nwindow = [\n1,\n2]'
    )
    assert line_of(text, ("level", "window")) == 7
    assert line_of(text, ("level",)) == 5
    assert line_of(text, ("level", "engine")) is None
