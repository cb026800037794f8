"""Every mistake in what a sheet says of the service: place, key, reason, remedy."""

import re

import pytest

from bridge.core.errors import SheetError
from bridge.core.service_sheet import Renewal, Service, StepKind
from bridge.profile import examine, parse_sheet

TEXT = """\
[gearbox]
name = "Test gearbox"
source = "invented for tests"

[level]
window = ["35 degC", "45 degC"]

[sump]
fill = "6 L"

[fluid]
name = "test fluid"
service_fill = "4.5 L"
service_fill_tolerance = "0.3 L"
service_fill_temp = "20 degC"

[filter]
holds = "0.3 L"

[tube]
pitch = "1.5 mm"

[[signal]]
role = "selector"
request_id = "7E1"
service = 0x22
identifier = 2
labels = { "0" = "P", "1" = "R", "2" = "N", "3" = "D" }

[[variant]]
name = "long case"
look_for = "two pipes"

[[variant]]
name = "short case"
look_for = "no pipes"

[[variant]]
name = "other make"
look_for = "a round pan"
fits = false
instead = "another manual"

[[part]]
name = "new washer"
kind = "part"
count = 2
one_use = true
note = "of copper"
only_for = ["long case"]

[[fastener]]
name = "drain plug"
drive = "hex socket 8 mm"
thread = "M18x1.5"
count = 1
torque = "30 N*m"
torque_tolerance = "3 N*m"
angle = "90 deg"
renew = ["washer"]
step = "refit"

[[fastener]]
name = "overflow tube"
thread = "M14x1.5"
turns_back = 3
hand_tight = true
plastic = true
only_for = ["long case"]

[[drain]]
name = "pan"
fastener = "drain plug"
expected = "4 L"
pressure = false
sideways = false

[[drain]]
name = "tube"
fastener = "overflow tube"
only_for = ["long case"]

[exercise]
positions = ["P", "R", "N", "D"]
hold = "3 s"
rounds = 2

[interval]
distance = "60000 km"
months = 48
severe_factor = 0.5
severe = ["Towing."]

[cautions]
lines = ["Hot fluid."]

[steps]
order = ["cautions", "identify", "parts", "drain", "refit", "exercise", "level", "due"]
drain = ["Let it out."]
level = ["Open the plug."]
"""
DRAIN2 = 'name = "tube"\nfastener = "overflow tube"\nonly_for = ["long case"]'

# what is written, what is written instead, key and section, what is said, the remedy
SERVICE_MISTAKES = [
    # names and what refers to them
    ('name = "short case"', 'name = "long case"', "name", "[[variant]] 1 too", "own"),
    ('name = "overflow tube"', 'name = "drain plug"', "name", "[[fastener]] 1", "own"),
    ('name = "tube"', 'name = "pan"', "name", "[[drain]] 1 too", "own"),
    ('name = "new washer"\n', "", "name", "is missing", "add name"),
    ('look_for = "two pipes"\n', "", "look_for", "is missing", "add look_for"),
    ('name = "pan"\n', "", "name", "is missing", "add name"),
    ('name = "drain plug"\n', "", "name", "is missing", "add name"),
    (
        'only_for = ["long case"]',
        'only_for = ["long-case"]',
        "only_for",
        "no variant",
        '"long case"',
    ),
    (
        'only_for = ["long case"]',
        'only_for = ["other make"]',
        "only_for",
        "not fit",
        "take it out",
    ),
    (
        'only_for = ["long case"]',
        'only_for = ["long case", "long case"]',
        "only_for",
        "twice",
        "once",
    ),
    (
        'only_for = ["long case"]',
        'only_for = "long case"',
        "only_for",
        "not a list",
        "like only_for",
    ),
    (
        'fastener = "drain plug"',
        'fastener = "drian plug"',
        "fastener",
        "no fastener",
        '"drain plug"',
    ),
    (
        'fastener = "drain plug"',
        'fastener = "xyz"',
        "fastener",
        "no fastener",
        "one of drain plug, overflow tube",
    ),
    (
        DRAIN2,
        DRAIN2.replace('\nonly_for = ["long case"]', ""),
        "fastener",
        "not every variant",
        "equal",
    ),
    ("fits = false", "fits = true", "instead", "not fit", "fits = false"),
    ("fits = false", 'fits = "no"', "fits", "not true or false", "like fits"),
    # parts
    ('kind = "part"', 'kind = "parts"', "kind", "unknown word", '"part"'),
    ('kind = "part"', 'kind = "oil"', "kind", "unknown word", "part, tool, fluid"),
    ("count = 2", "count = 0", "count", "is 0", "from 1 to 100"),
    ("count = 2", "count = 1.5", "count", "not a whole number", "like count"),
    ("one_use = true", "one_use = 1", "one_use", "not true or false", "like one_use"),
    ('note = "of copper"', 'note = ""', "note", "empty text", "like note"),
    ('note = "of copper"', "notes = 1", "notes", "is not known", '"note"'),
    # fasteners
    ('torque = "30 N*m"', 'torque = "30"', "torque", "no unit", "25 N*m"),
    ('torque = "30 N*m"', "torque = 30", "torque", "not a quantity", "35 N*m"),
    ('torque = "30 N*m"', 'torque = "30 ft-lb"', "torque", "ft-lb", "lbf*ft"),
    ('torque = "30 N*m"', 'torque = "30 N"', "torque", "not a unit of a torque", "N*m"),
    (
        'torque = "30 N*m"',
        'torque = "3000 N*m"',
        "torque",
        "3000 N*m",
        "0.5 to 500 N*m",
    ),
    ('torque = "30 N*m"', 'torque = "-3 N*m"', "torque", "-3 N*m", "0.5 to 500 N*m"),
    ('torque = "30 N*m"\n', "", "torque_tolerance", "no torque before", "add torque"),
    (
        'torque = "30 N*m"\ntorque_tolerance = "3 N*m"\n',
        "",
        "angle",
        "no torque before",
        "add torque",
    ),
    (
        '_tolerance = "3 N*m"',
        '_tolerance = "40 N*m"',
        "torque_tolerance",
        "no smaller",
        "correct",
    ),
    ('angle = "90 deg"', 'angle = "90"', "angle", "no unit", "90 deg"),
    ('angle = "90 deg"', 'angle = "90 degC"', "angle", "not a unit of an angle", "deg"),
    ('angle = "90 deg"', 'angle = "9 turns"', "angle", "9 turns", "to 3 turns"),
    (
        "hand_tight = true",
        'hand_tight = true\ntorque = "3 N*m"',
        "torque",
        "beside hand_tight",
        "one of the two",
    ),
    ("hand_tight = true", 'hand_tight = "yes"', "hand_tight", "not true", "like hand"),
    ("turns_back = 3", 'turns_back = "3 turns"', "turns_back", "not a number", "= 3"),
    ("turns_back = 3", "turns_back = 0", "turns_back", "is 0", "0.05 to 50"),
    ("turns_back = 3", "turns_back = nan", "turns_back", "is nan", "0.05 to 50"),
    ('renew = ["washer"]', 'renew = ["washers"]', "renew", "unknown here", '"washer"'),
    ('renew = ["washer"]', 'renew = "washer"', "renew", "not a list", "like renew"),
    ('renew = ["washer"]', 'renew = ["washer", "washer"]', "renew", "twice", "once"),
    ('step = "refit"', 'step = "re-fit"', "step", "unknown word", '"refit"'),
    ('step = "refit"', 'step = "closing"', "step", "leaves out", "add it there"),
    ("plastic = true", "plastik = true", "plastik", "is not known", '"plastic"'),
    # drains
    ('expected = "4 L"', 'expected = "4"', "expected", "no unit", "5.5 L"),
    ('expected = "4 L"', 'expected = "4000 L"', "expected", '"4000 L"', "0.02 to 60 L"),
    ('expected = "4 L"', 'expected = "4 mm"', "expected", "not a unit of a vol", "L"),
    ("pressure = false", "pressure = 0", "pressure", "not true or false", "= true"),
    ("sideways = false", "sidewards = false", "sidewards", "not known", '"sideways"'),
    # exercise
    ('["P", "R", "N", "D"]\nhold', '["P"]\nhold', "positions", "two positions", '"R"'),
    (
        '["P", "R", "N", "D"]\nhold',
        '["P", "2"]\nhold',
        "positions",
        "labels do not have",
        "P, R, N, D",
    ),
    ('["P", "R", "N", "D"]\nhold', '"PRND"\nhold', "positions", "not a list", "like"),
    ('hold = "3 s"', "hold = 3", "hold", "not a quantity", '"3 s"'),
    ('hold = "3 s"', 'hold = "3 h"', "hold", '"3 h"', "to 0.03333 h"),
    ("rounds = 2", "rounds = 0", "rounds", "is 0", "from 1 to 20"),
    ("rounds = 2", "rounds = 2.5", "rounds", "not a whole number", "like rounds"),
    # interval
    ('distance = "60000 km"\nmonths = 48\n', "", "distance", "so is months", "add one"),
    ("months = 48", 'months = 48\ntime = "4 years"', "time", "same as months", "take"),
    ("months = 48", 'months = "4 years"', "months", "not a whole number", "48"),
    ("months = 48", "months = 0", "months", "is 0", "from 1 to 600"),
    ("months = 48", 'time = "4 days"', "time", "4 days", "days"),
    ('"60000 km"', '"60 km"', "distance", "60 km", "1000 to 1000000 km"),
    ('"60000 km"', '"60,000 km"', "distance", "comma", "point"),
    ("severe_factor = 0.5", "severe_factor = 2", "severe_factor", "is 2", "0.1 to 1"),
    (
        'severe = ["Towing."]',
        'severe = "Towing."',
        "severe",
        "not a list",
        "like severe",
    ),
    # fluid, filter, tube
    ('service_fill = "4.5 L"\n', "", "service_fill_tolerance", "without", "add that"),
    (
        'service_fill = "4.5 L"',
        'service_fill = "45 gal"',
        "service_fill",
        "45 gal",
        "0.05283 to 15.85 gal",
    ),
    (
        'tolerance = "0.3 L"',
        'tolerance = "5 L"',
        "service_fill_tolerance",
        "no smaller",
        "correct",
    ),
    ('temp = "20 degC"', 'temp = "20 C"', "service_fill_temp", '"C"', '"degC"'),
    ('holds = "0.3 L"', 'holds = "30 L"', "holds", '"30 L"', "0.01 to 5 L"),
    ('holds = "0.3 L"', "hold = 1", "hold", "is not known", '"holds"'),
    ('pitch = "1.5 mm"', 'pitch = "1 mm"', "pitch", "has the thread", "correct one"),
    ('pitch = "1.5 mm"', 'pitch = "15 mm"', "pitch", "15 mm", "0.2 to 6 mm"),
    # steps
    ('"parts", "drain"', '"parts", "parts", "drain"', "order", "twice", "once"),
    ('"parts", "drain"', '"parts", "drane"', "order", "unknown here", '"drain"'),
    ('"identify", ', "", "name", '"identify", which order', "add it there"),
    ('"parts", ', "", "name", '"parts", which order', "add it there"),
    ('"exercise", ', "", "positions", '"exercise", which order', "add it there"),
    (', "due"', "", "distance", '"due", which order', "add it there"),
    ('"cautions", ', "", "lines", '"cautions", which order', "add it there"),
    ('drain = ["Let', 'filter = ["Let', "filter", '"filter", which order', "add it"),
    ('drain = ["Let', 'fill-plug = ["Let', "fill-plug", "not known", '"fill_plug"'),
    ('drain = ["Let', 'cautions = ["Let', "cautions", "not known", "[cautions]"),
    (
        'drain = ["Let it out."]',
        'drain = "Let it out."',
        "drain",
        "not a list",
        "drain",
    ),
    # sections
    ("[exercise]", "[[exercise]]", "exercise", "is no section", "write [exercise]"),
    ("[tube]", "[tubes]", "tubes", "is not known", '"tube"'),
]


def sentences_of(text: str) -> list[str]:
    """Return what all mistakes say, each checked to be one plain sentence."""
    sheet, mistakes = examine(text, "test.toml")
    assert sheet is None
    said = [str(mistake) for mistake in mistakes]
    for sentence in said:
        assert sentence.isprintable()
        assert sentence.startswith("test.toml")
        assert sentence.endswith(".")
        assert "; " in sentence or ": " in sentence
    return said


def test_the_sheet_that_the_mistakes_are_made_in_is_right():
    service = parse_sheet(TEXT, "test.toml").service
    assert service.order[0] is StepKind.CAUTIONS
    assert service.lines_of(StepKind.CAUTIONS) == ("Hot fluid.",)
    assert service.lines_of(StepKind.DRAIN) == ("Let it out.",)
    assert service.fasteners[0].renew == (Renewal.WASHER,)
    assert service.drains[0].expected_ml == 4000.0
    assert service.service_fill_tolerance_ml == 300.0


@pytest.mark.parametrize(("good", "bad", "key", "wrong", "remedy"), SERVICE_MISTAKES)
def test_mistake(good, bad, key, wrong, remedy):
    assert good in TEXT
    text = TEXT.replace(good, bad, 1)
    said = sentences_of(text)
    assert len(said) == 1  # nothing that only follows from the first
    fault, _, cure = said[0].rpartition("; ")
    assert f'"{key}" in ' in fault
    assert wrong in fault
    assert remedy in cure
    found = re.match(r"test\.toml, line (\d+): ", said[0])
    assert found
    line = text.split("\n")[int(found[1]) - 1]
    assert line.lstrip().startswith((key, f"[{key}", f"[[{key}", "[", "#"))


def test_there_are_at_least_sixty_mistakes_in_the_list():
    assert len({(good, bad) for good, bad, *_ in SERVICE_MISTAKES}) >= 60


def test_signals_need_double_brackets_and_so_do_fasteners():
    (said,) = sentences_of(re.sub(r"\[\[part\]\]", "[part]", TEXT))
    assert '"part" in the sheet is not a list of sections; write [[part]]' in said


def test_no_variant_may_be_left_over():
    (said,) = sentences_of(
        TEXT.replace('look_for = "two pipes"', 'look_for = "two pipes"\nfits = false')
        .replace('look_for = "no pipes"', 'look_for = "no pipes"\nfits = false')
        .replace('only_for = ["long case"]\n', "")
    )
    assert "so the sheet is for none; take it out" in said


def test_all_mistakes_are_told_at_once():
    text = TEXT
    changes = (
        ('window = ["35 degC", "45 degC"]', 'window = ["35", "45"]'),
        ('fill = "6 L"', 'fil = "6 L"'),
        ('service_fill = "4.5 L"', 'service_fill = "4.5"'),
        ('kind = "part"', 'kind = "oil"'),
        ("count = 2", "count = 0"),
        ('torque = "30 N*m"', 'torque = "30"'),
        ('renew = ["washer"]', 'renew = ["washers"]'),
        ("rounds = 2", "rounds = 0"),
        ('severe = ["Towing."]', 'severe = "Towing."'),
        ('"parts", "drain"', '"parts", "drane"'),
    )
    for good, bad in changes:
        assert good in text
        text = text.replace(good, bad, 1)
    said = sentences_of(text)
    keys = [re.search(r'"(\w+)" in ', sentence)[1] for sentence in said]
    assert sorted(keys) == sorted(
        ["window", "fil", "service_fill", "kind", "count", "torque", "renew", "rounds"]
        + ["severe", "order"]
    )
    with pytest.raises(SheetError) as first:
        parse_sheet(text, "test.toml")
    assert str(first.value) == said[0]


def test_a_time_is_told_in_years_or_months():
    assert '"months"' not in TEXT
    for time, months in (("4 years", 48), ("18 months", 18), ("730 days", 24)):
        text = TEXT.replace("months = 48", f'time = "{time}"')
        interval = parse_sheet(text, "test.toml").service.interval
        assert interval is not None
        assert interval.months == months


def test_quantities_in_any_unit_come_out_in_ours():
    # NIST SP 811, B.8: 1 lbf ft = 1.355818 N m, 1 US quart = 0.9463529 L, 1 mi =
    # 1.609344 km; a turn is 360 degrees.
    text = TEXT.replace('torque = "30 N*m"', 'torque = "20 lbf*ft"')
    text = text.replace('angle = "90 deg"', 'angle = "0.25 turn"')
    text = text.replace('expected = "4 L"', 'expected = "4 qt"')
    text = text.replace('"60000 km"', '"40000 mi"')
    service = parse_sheet(text, "test.toml").service
    assert service.fasteners[0].torque_nm == pytest.approx(27.11636)
    assert service.fasteners[0].angle_deg == pytest.approx(90.0)
    assert service.drains[0].expected_ml == pytest.approx(3785.4118)
    assert service.interval is not None
    assert service.interval.distance_km == pytest.approx(64373.76)


def test_a_sheet_of_the_level_alone_has_an_empty_service():
    text = TEXT[: TEXT.index("[sump]")] + '[steps]\nlevel = ["Open it."]\n'
    assert parse_sheet(text, "test.toml").service == Service()


def test_the_usual_order_has_what_the_sheet_tells():
    text = re.sub(r"order = .*\n", "", TEXT)
    order = parse_sheet(text, "test.toml").service.order
    assert order == tuple(sorted(order, key=list(StepKind).index))
    assert set(StepKind) - set(order) == {StepKind.CLOSING}
    text = re.sub(r"\[\[drain\]\]\n(.+\n)+", "", text)
    text = text.replace('holds = "0.3 L"', "")
    order = parse_sheet(text.replace("drain = ", "#"), "test.toml").service.order
    assert StepKind.DRAIN not in order
    assert StepKind.FILL_PLUG not in order
    assert StepKind.FILTER not in order
