"""Each flaw a reviewer would ask about gives one doubt: key, reason, remedy."""

import re

import pytest

from bridge.sheets import find_sheet, parse_sheet
from bridge.sheets.warnings.all_warnings import review_sheet
from bridge.sheets.warnings.threads import thread_of
from bridge.units import Units
from bridge.values.sheet import LevelMethod

TEXT = find_sheet("scar-eight-speed").read_text("utf-8")

# what is written, what is written instead, whose doubt it is, why, the remedy
DOUBTS = [
    (
        'service_fill = "5.6 L"',
        'service_fill = "3 L"',
        "service_fill",
        "drains",
        "again",
    ),
    (
        'service_fill = "5.6 L"\nservice_fill_tolerance = "0.4 L"',
        'service_fill = "5.6 L"\nservice_fill_tolerance = "0.4 L"\n#',
        None,
        "",
        "",
    ),
    ('fill = "9.1 L"  ', 'fill = "4 L"  ', "service_fill", "more than all", "again"),
    ('expected = "5.1 L"', 'expected = "51 L"', "service_fill", "51.4", "drains"),
    ('expected = "5.1 L"\n', "", "expected", "too little", "look it up"),
    ('fastener = "drain plug"\n', "", "fastener", "what closes it", "name its"),
    ('name = "low-viscosity', '#name = "low-viscosity', "name", "wrong fluid", "maker"),
    ('[filter]\nholds = "0.4 L"', "", "holds", "balance", "measure"),
    (
        'torque = "28 N*m"\ntorque_tolerance = "3 N*m"\n',
        "",
        "torque",
        "nobody",
        "hand",
    ),
    ('torque = "28 N*m"', 'torque = "280 N*m"', "torque", "much for M14x1.5", "again"),
    ('thread = "M12x1.5"', 'thread = "M12x1.4"', "thread", "ISO 261", "again"),
    ('thread = "M12x1.5"', 'thread = "M12-1.5"', "thread", "no metric", "M14x1.5"),
    ('torque = "9 N*m"\n', 'torque = "40 N*m"\n', "torque", "plastic", "unit"),
    (
        '_tolerance = "0.5 N*m"',
        '_tolerance = "0.9 N*m"',
        "torque_tolerance",
        "quarter",
        "b",
    ),
    (
        'torque_tolerance = "3 N*m"\nrenew = ["washer"]\n\n[[fastener]]\nname = "filt',
        'torque_tolerance = "3 N*m"\n\n[[fastener]]\nname = "filt',
        "renew",
        "may leak",
        "add renew",
    ),
    (
        "pan gasket with its set of seventeen bolts",
        "pan gasket",
        "renew",
        "new bolt",
        "add that part",
    ),
    (
        '"fill-plug", "drain",',
        '"drain", "fill-plug",',
        "order",
        "without fluid",
        "turn",
    ),
    ('"exercise", "level",', '"level", "exercise",', "order", "passages", "turn"),
    ('"refit", "fill",', '"fill", "refit",', "order", "open plugs", "turn"),
    (
        '"identify", "parts", "before", "fill-plug", "drain"',
        '"parts", "before", "fill-plug", "drain", "identify"',
        "order",
        "not for",
        "turn",
    ),
    (
        'distance = "80000 km"',
        'distance = "8000 km"',
        "distance",
        "usual",
        "look it up",
    ),
    ("months = 72", "months = 480", "months", "usual", "look it up"),
    ("severe_factor = 0.6", "severe_factor = 1", "severe_factor", "half", "look it up"),
    ('hold = "4 s"', 'hold = "1 s"', "hold", "2 to 15 s", "look it up"),
    ('instead = "The', '#instead = "The', "instead", "where to look", "document"),
    ('kind = "fluid"', 'kind = "part"', "kind", "nothing to fill", "add the fluid"),
    (
        "Hold the brake pedal while the selector is moved: the car can creep.",
        "Take care.",
        "lines",
        "brake",
        "add a sentence",
    ),
    ("carbon monoxide", "gas", None, "", ""),  # the exhaust is still named
    (
        "Never go under a car that only a jack holds: use a lift, or stands on",
        "Work on",
        "lines",
        "held up",
        "add a sentence",
    ),
    ('settle_time = "70 s"', 'settle_time = "130 s"', "settle_time", "240 s", "again"),
    ("factor = 1.0", "factor = 6.0", "window", "less than two steps", "again"),
    ("invented for demonstration; no", "forum; no", "source", "look the fig", "name"),
]


def doubts_after(good: str, bad: str) -> tuple[str, ...]:
    assert good in TEXT
    text = TEXT.replace(good, bad, 1)
    return review_sheet(parse_sheet(text, "test.toml"))


def test_the_sheet_that_the_flaws_are_made_in_leaves_no_doubt():
    assert review_sheet(parse_sheet(TEXT, "test.toml")) == ()


@pytest.mark.parametrize(("good", "bad", "key", "why", "remedy"), DOUBTS)
def test_one_flaw_one_doubt(good, bad, key, why, remedy):
    doubts = doubts_after(good, bad)
    assert len(doubts) == (0 if key is None else 1)
    for doubt in doubts:
        assert doubt.startswith(f'"{key}" in [')
        fault, _, cure = doubt.rpartition("; ")
        assert why in fault
        assert remedy in cure


@pytest.mark.parametrize(
    ("step", "said"),
    [
        ("fill-plug", "not tried before draining"),
        ("old-fluid", "nobody looks at the old fluid"),
        ("recheck", "leaks after a drive"),
    ],
)
def test_a_step_that_is_missing(step, said):
    key = step.replace("-", "_")
    text = TEXT.replace(f'"{step}", ', "", 1)
    text = re.sub(rf"^{key} = \[\n.*\n\]\n", "", text, flags=re.MULTILINE)
    (doubt,) = review_sheet(parse_sheet(text, "test.toml"))
    assert said in doubt
    assert doubt.endswith(f'; add "{step}" to it.')


def test_an_engine_that_idles_wants_the_selector_worked():
    text = re.sub(r"\[exercise\]\n(.+\n)+", "", TEXT)
    (doubt,) = review_sheet(parse_sheet(text, "test.toml"))
    assert doubt.startswith('"positions" in [exercise] is missing, though the engine')


TUBE = """[[fastener]]
name = "overflow tube"
thread = "M16x1.5"
torque = "4 N*m"
turns_back = 1.5

"""
SCREWED = TEXT.replace("[[drain]]", TUBE + "[[drain]]")


def test_a_tube_that_is_pressed_in_has_no_turns_to_ask_about():
    assert "turns_back" not in TEXT
    assert parse_sheet(TEXT, "test.toml").method is LevelMethod.OVERFLOW_TUBE


def test_a_tube_whose_thread_nobody_knows():
    assert review_sheet(parse_sheet(SCREWED, "test.toml")) == ()  # M16x1.5 tells it
    text = SCREWED.replace('thread = "M16x1.5"\n', "")
    (doubt,) = review_sheet(parse_sheet(text, "test.toml"))
    assert doubt.startswith('"pitch" in [tube] is missing')


def test_a_tube_over_a_sump_whose_area_nobody_knows():
    text = SCREWED.replace('area = "640 cm2"\n', "")
    (doubt,) = review_sheet(parse_sheet(text, "test.toml"))
    assert doubt.startswith('"area" in [sump] is missing, so the tube')


def test_a_drain_under_pressure_wants_a_word_on_it():
    text = TEXT.replace('expected = "5.1 L"', 'expected = "5.1 L"\npressure = true')
    assert review_sheet(parse_sheet(text, "test.toml")) == ()
    text = text.replace("are under pressure while", "are full while")
    (doubt,) = review_sheet(parse_sheet(text, "test.toml"))
    assert doubt.startswith('"lines" in [cautions] has no word on pressure')


def test_each_variant_has_drains_of_its_own():
    text = TEXT.replace("fits = false\ninstead", "#")  # both fit now
    fins = '[[drain]]\nname = "fins"\nfastener = "drain plug"\nexpected = "0.6 L"\n'
    fins += 'only_for = ["deep towing pan"]\n\n[[drain]]'
    text = text.replace("[[drain]]", fins)
    assert review_sheet(parse_sheet(text, "test.toml")) == ()  # 5.5 and 6.1 L
    text = text.replace('"0.6 L"', '"2 L"')
    (doubt,) = review_sheet(parse_sheet(text, "test.toml"))
    assert "come to 7.50 L" in doubt


def test_a_single_variant_is_nothing_to_choose():
    at = TEXT.index('[[variant]]\nname = "deep')
    text = TEXT[:at] + TEXT[TEXT.index("[[part]]") :]
    (doubt,) = review_sheet(parse_sheet(text, "test.toml"))
    assert "the only variant" in doubt


def test_doubts_speak_the_persons_units():
    text = TEXT.replace('torque = "28 N*m"', 'torque = "280 N*m"')
    text = text.replace('distance = "80000 km"', 'distance = "8000 km"')
    text = text.replace('service_fill = "5.6 L"', 'service_fill = "1 L"')
    text = text.replace('["42 degC", "52 degC"]', '["42 degC", "115 degC"]')
    said = " ".join(review_sheet(parse_sheet(text, "test.toml"), Units.US))
    for sign in ("lbf·ft", " mi", " qt", "°F"):
        assert sign in said
    assert not re.search(r"N·m|\bkm\b|\d m?L\b|°C", said)


@pytest.mark.parametrize(
    ("thread", "area_mm2"),
    [
        # ISO 898-1, nominal stress areas as handbook tables print them.
        ("M8", 36.6),
        ("M10x1", 64.5),
        ("M12x1.5", 88.1),
        ("M14x1.5", 124.5),
        ("M16x1.5", 167.2),
        ("M18x1.5", 216.2),
        ("M20x1.5", 271.5),
    ],
)
def test_stress_area_is_that_of_the_tables(thread, area_mm2):
    told = thread_of(thread)
    assert told is not None
    assert told.stress_area_mm2 == pytest.approx(area_mm2, rel=1e-3)


@pytest.mark.parametrize(
    ("thread", "torque_nm"),
    [("M6", 10.0), ("M8", 25.0), ("M10", 49.0), ("M12", 85.0)],
)
def test_estimate_is_near_the_usual_torque_tables(thread, torque_nm):
    # Class 8.8, friction 0.12, after VDI 2230's tables (from memory): within 15 %.
    told = thread_of(thread)
    assert told is not None
    assert told.usual_torque_nm == pytest.approx(torque_nm, rel=0.15)


@pytest.mark.parametrize(
    "text", ["", "G 1/2", "Mx1", "M14x9", "M14x0", "M", "M14x1.5x2"]
)
def test_what_is_no_metric_thread(text):
    assert thread_of(text) is None
