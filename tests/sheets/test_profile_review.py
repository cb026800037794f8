"""What `sheet check` doubts, and that the sheets we ship leave nothing to doubt."""

import re
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from bridge.sheets import load, parse_sheet, shipped_sheets
from bridge.sheets.keys.all_keys import SECTIONS, heading
from bridge.sheets.keys.key_table import table_of, with_tables
from bridge.sheets.warnings.all_warnings import review_sheet
from bridge.units import Units
from bridge.values.errors import SheetError
from bridge.values.found import FigureSource, Status
from bridge.values.service_sheet import StepKind
from bridge.values.sheet import (
    Confirmation,
    EngineRule,
    LevelMethod,
    Role,
    Sheet,
    Signal,
    Window,
)
from tui.words.sheet_text import sheet_text

FLUID = Signal(
    role=Role.FLUID_TEMPERATURE,
    service=0x22,
    identifier=0x1157,
    request_id=0x7E1,
    reply_id=0x7E9,
    offset=-40.0,
    not_available=(0xFF,),
)
SOUND = Sheet(
    name="Test gearbox",
    source="invented for tests, first edition",
    window=Window(low_c=35.0, high_c=45.0),
    settle_time_s=60.0,
    sump_area_cm2=250.0,
    bore_mm=10.0,
    signals=(FLUID,),
    cautions=(
        "Hot fluid: gloves. Use stands. Carbon monoxide: work outside. Fans turn.",
    ),
    steps=("Open the plug.",),
)


def test_a_sound_sheet_leaves_no_doubt():
    assert review_sheet(SOUND) == ()


SELECTOR = Signal(role=Role.SELECTOR, service=0x22, identifier=2, request_id=0x7E1)


SINGLE = FigureSource(of=("level.window",), status=Status.CHECKED, entered_by="R. T.")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"window": Window(low_c=20.0, high_c=60.0)}, "40 °C wide"),
        ({"window": Window(low_c=100.0, high_c=120.0)}, "ends at 120 °C"),
        ({"window": Window(low_c=35.0, high_c=36.5)}, "less than two steps"),
        ({"settle_time_s": 150.0}, "more than half of the 240 s"),
        ({"settle_time_s": 1.0}, "is 1 s, and with an opening of 10 mm"),
        ({"bore_mm": None, "sump_area_cm2": None}, "usual opening of 6 mm"),
        ({"settle_time_s": None, "drop_rate_per_s": 0.3}, "is reckoned as 1"),
        ({"settle_time_s": None, "sump_area_cm2": None}, "is not told"),
        ({"stay_chance": 0.5}, "run off in 50% of all cases"),
        ({"idle_low_rpm": 200.0, "idle_high_rpm": 3000.0}, "more than idling"),
        ({"idle_high_rpm": 3000.0}, "runs from 500 to 3000 rpm"),
        ({"signals": (replace(FLUID, request_id=0x7E0),)}, "the engine's control"),
        ({"signals": (replace(FLUID, request_id=0x18DA10F1),)}, "18DA10F1, by conv"),
        ({"status": Status.DRAFT}, "is draft"),
        ({"status": Status.CHECKED}, "names nobody"),
        (
            {"status": Status.CHECKED, "entered_by": "A. B.", "checked_by": "a. b."},
            "names nobody but who entered",
        ),
        ({"figures": (replace(SINGLE, status=Status.DRAFT),)}, "is draft for level"),
        ({"figures": (SINGLE,)}, "is checked for level.window, and nobody else"),
        ({"source": "forum"}, "look the figures up"),
        ({"source": "I found it somewhere on the internet"}, "look the figures up"),
        ({"cautions": ()}, "no cautions"),
        ({"steps": ()}, "not written down"),
        ({"signals": ()}, "can never say GO"),
        ({"signals": (replace(FLUID, service=1, identifier=0xE0),)}, "standard PID"),
        ({"signals": (replace(FLUID, not_available=()),)}, "'no reading'"),
        ({"signals": (FLUID, SELECTOR)}, "no labels"),
        (
            {"signals": (replace(FLUID, request_id=0x712),)},
            "712 is outside ISO 15765-4",
        ),
    ],
)
def test_doubt(change, said):
    doubts = review_sheet(replace(SOUND, **change))
    assert any(said in doubt for doubt in doubts)
    for doubt in doubts:
        assert re.fullmatch(r'"[a-z_]+" in \[\[?[a-z]+\]\]?( \d)? .*; .*\.', doubt)


def test_one_flaw_one_doubt():
    assert len(review_sheet(replace(SOUND, cautions=()))) == 1


def test_fluid_that_cools_after_switching_off_stays_long_enough():
    slow = replace(SOUND, settle_time_s=150.0, engine=EngineRule.OFF)
    assert review_sheet(slow) == ()


SHIPPED = {name: load(name) for name in shipped_sheets()}


@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_sheet_is_complete_and_says_that_it_is_invented(name):
    sheet = SHIPPED[name]
    doubts = review_sheet(sheet)
    assert doubts == ()
    assert "invented for demonstration" in sheet.source
    cautions = " ".join(sheet.cautions).lower()
    for word in ("maker's figures", "local rules", "gloves", "carbon monoxide"):
        assert word in cautions
    lines = [line for _, step in sheet.service.lines for line in step]
    for line in (*sheet.cautions, *sheet.steps, *lines):
        assert re.fullmatch(r"[A-Z].*[.)]", line)


def test_shipped_sheets_differ_in_window_method_engine_and_width_of_ids():
    sheets = SHIPPED.values()
    assert len({(s.window.low_c, s.window.high_c) for s in sheets}) >= 3
    # without a level step there is no window to show: tests/data/sheets/ways has one
    with_step = set(LevelMethod) - {LevelMethod.MEASURED_REFILL}
    assert {s.method for s in sheets} == with_step
    # tests/session/test_phases has the key out and the gearbox's own pump
    assert {s.engine for s in sheets} == {EngineRule.IDLING, EngineRule.OFF}
    ids = [signal.request_id or 0 for sheet in sheets for signal in sheet.signals]
    assert any(can_id > 0x7FF for can_id in ids)
    assert any(can_id <= 0x7FF for can_id in ids)


def test_shipped_sheets_tell_the_whole_service_between_them():
    told = [s.service for n, s in SHIPPED.items() if n != "weir-trace-bench"]
    assert len(told) >= 4
    for service in told:
        assert service.parts
        assert service.fasteners
        assert service.drains
        assert service.exercise
        assert service.interval
        assert service.fluid_name
        assert {StepKind.FILL_PLUG, StepKind.DRAIN, StepKind.LEVEL} < set(service.order)
    assert any(not v.fits for service in told for v in service.variants)
    assert any(f.angle_deg for service in told for f in service.fasteners)
    drains = [drain for service in told for drain in service.drains]
    assert any(drain.pressure for drain in drains)
    assert any(drain.sideways for drain in drains)


def test_sheet_of_the_trace_bench_suits_recorded_curves():
    sheet = SHIPPED["weir-trace-bench"]
    assert sheet.settle_time_s == 20.0
    fluid = sheet.signal(Role.FLUID_TEMPERATURE)
    assert fluid is not None
    # One step of the signal is one step of the curves: PID 05 has 1 °C (SAE J1979).
    assert fluid.factor == 1.0


README = (Path(__file__).parents[2] / "profiles" / "README.md").read_text("utf-8")


def test_example_of_the_explanation_is_a_sound_sheet():
    example = re.search(r"```toml\n(.*?)```", README, re.DOTALL)
    assert example is not None
    assert review_sheet(parse_sheet(example[1], "README.md")) == ()


def test_explanation_has_every_key_role_and_shipped_sheet():
    for keys in SECTIONS.values():
        for key in keys:
            assert f"`{key}`" in README
    for word in (*Role, *SHIPPED):
        assert f"`{word}`" in README


def test_tables_of_the_explanation_are_those_of_the_keys():
    # Make them anew with: make sheet-docs
    assert with_tables(README) == README
    for section in SECTIONS:
        assert table_of(section) in README


def test_a_default_stands_in_the_dataclass_alone():
    for section, keys in SECTIONS.items():
        for name, key in keys.items():
            if not key.default or not key.into or key.of is None or key.absent is None:
                continue
            text = sheet_with(section, name, key.default)
            line = f"{name} = {key.default}\n"
            assert line in text
            told = parse_sheet(text, "with")
            without = parse_sheet(text.replace(line, ""), "with")
            assert told == without, (section, name)


OF_THE_WIRE = ("link", "signal", "confirmed")
SHOWN = [
    (section, name)
    for section, keys in SECTIONS.items()
    for name, key in keys.items()
    if (section, name) != ("steps", "order")
    and section not in OF_THE_WIRE
    and not key.required
    and key.example != key.default
]
"""Keys whose example says what no sheet says by itself."""


@pytest.mark.parametrize(("section", "key"), [*SHOWN, ("signal", "accuracy")])
@pytest.mark.few(30)
def test_what_a_sheet_says_is_shown(section, key):
    # No dead data: what is written in a sheet can be read again by `sheet show`.
    example = SECTIONS[section][key].example
    text = sheet_with(section, key, example)
    without = text.replace(f"{key} = {example}\n", "")
    assert without != text
    try:
        before = sheet_text(parse_sheet(without, "without"), Units.METRIC)
    except SheetError:  # one of two keys that go together: the other test has both
        before = ""
    assert sheet_text(parse_sheet(text, "with"), Units.METRIC) != before


LEAST = {
    "gearbox": {"name": '"A"', "source": '"B"'},
    "figure": {"of": '["gearbox.name"]'},
    "level": {"window": '["35 °C", "45 °C"]', "method": '"stick"'},
    "window": {"ambient": '["", "10 degC"]', "window": '["30 degC", "38 degC"]'},
    "phase": {"name": '"warm check"'},
    "circuit": {"name": '"final drive"', "fluid": '"A"', "fill": '"1 L"'},
    "stick": {"temp": '"40 degC"', "low": '"18 mm"', "high": '"26 mm"'},
    "signal": {
        "role": '"fluid-temperature"',
        "request_id": '"7E1"',
        "service": "0x22",
        "identifier": "1",
        "offset": "-40.0",
        "unit": '"degC"',
    },
    "found": {"when": '"then"', "how": '"a search"', "signal": '"7E1"'},
    "confirmed": {
        "when": '"later"',
        "thermometer": '"38 degC"',
        "signal": '"38 degC"',
        "accuracy": "2.0",
    },
    "variant": {"name": '"with oil cooler"', "look_for": '"two pipes"'},
    "part": {"name": '"washer"'},
    "fastener": {"name": '"drain plug"'},
    "drain": {"name": '"pan"'},
    "exercise": {"positions": '["P", "R"]'},
    "interval": {"distance": '"60000 km"'},
}
"""The least sections that are right; what is not here may be empty."""

INSTEAD = {"window", "phase", "circuit"}
"""Sections that stand instead of others, or change what others may say."""
WITH = {"circuit": {"circuit", "phase"}}
"""What such a section, or a key that names one, cannot be without."""

GROUP = {"pgn": "65272", "data_length": "8"}
NEEDED = {
    ("signal", "labels"): {"role": '"selector"', "unit": None},
    ("fluid", "viscosity_40"): {"viscosity_100": '"6 mm2/s"'},
    ("fluid", "viscosity_100"): {"viscosity_40": '"30 mm2/s"'},
    ("fluid", "service_fill_temp"): {"service_fill": '"4 L"'},
    ("fluid", "service_fill_tolerance"): {"service_fill": '"4 L"'},
    ("circuit", "service_fill_tolerance"): {"service_fill": '"1 L"'},
    ("circuit", "service_fill_temp"): {"service_fill": '"1 L"'},
    ("circuit", "viscosity_40"): {"viscosity_100": '"6 mm2/s"'},
    ("circuit", "viscosity_100"): {"viscosity_40": '"30 mm2/s"'},
    ("variant", "instead"): {"fits": "false"},
    ("fastener", "angle"): {"torque": '"20 N*m"'},
    ("fastener", "torque_tolerance"): {"torque": '"20 N*m"'},
    ("fastener", "angle_tolerance"): {"torque": '"20 N*m"', "angle": '"90 deg"'},
    ("fastener", "stages"): {"torque": '"20 N*m"'},
}
"""What else a key's example needs; None: what must not be there."""
NO_QUESTION = dict.fromkeys(("request_id", "service", "identifier"))
NEEDED |= {("signal", key): {**GROUP, **NO_QUESTION} for key in ("pgn", "source")}


OTHER_CIRCUIT = """\
[[circuit]]
name = "gear side"
fluid = "B"
fill = "8 L"
[[phase]]
name = "gear side"
circuit = "gear side"
"""
"""One circuit alone is refused."""


def sheet_with(section: str, key: str, example: str) -> str:
    """Return a sheet with every section, one key of it as in the example."""
    left_out = INSTEAD - WITH.get(section, {section}) - WITH.get(key, set())
    told = {n: dict(LEAST.get(n, {})) for n in SECTIONS if n not in left_out}
    told[section] |= NEEDED.get((section, key), {})
    told[section][key] = example
    if "window" in told:
        del told["level"]["window"]
    if "circuit" in told:
        for name in ("drain", "phase"):
            told[name].setdefault("circuit", '"final drive"')
    if (section, key) in (("signal", "pgn"), ("signal", "source")):
        told["link"] = {"protocol": '"A"'}
    if (section, key) == ("level", "method"):
        del told["stick"]
    text = OTHER_CIRCUIT if "circuit" in told else ""
    for name, values in told.items():
        pairs = [f"{k} = {v}" for k, v in values.items() if v is not None]
        text += "\n".join([heading(name), *pairs, ""])
        if name == "variant" and (section, key) != ("variant", "name"):
            text += '[[variant]]\nname = "other"\nlook_for = "one pipe"\n'
    return text


@pytest.mark.parametrize(
    ("section", "key"), [(s, k) for s in SECTIONS for k in SECTIONS[s]]
)
@pytest.mark.few(40)
def test_the_example_that_an_error_shows_for_a_key_is_right(section, key):
    example = SECTIONS[section][key].example
    text = sheet_with(section, key, example)
    if (section, key) == ("steps", "order"):  # what the sheet tells needs its step
        text = sheet_with("steps", "order", str([str(s) for s in StepKind]))
        assert set(tomllib.loads(f"order = {example}")["order"]) <= set(StepKind)
    assert parse_sheet(text, "example").name


SCAR = Path("profiles/scar-eight-speed.toml").read_text(encoding="utf-8")
FIGURES = """
[[figure]]
of = ["level.window", "fastener.drain plug.torque"]
document = "service letter 7"
edition = "second edition"
page = "page 3"
date = "2025-11"
entered_by = "R. T."
checked_by = "M. L."
status = "draft"
"""


def test_single_figures_have_a_source_of_their_own() -> None:
    sheet = parse_sheet(SCAR + FIGURES, "t")
    (one,) = sheet.figures
    assert one.of == ("level.window", "fastener.drain plug.torque")
    assert one.words == (
        "service letter 7, second edition, page 3, 2025-11, entered by R. T., "
        "checked by M. L., draft"
    )
    assert Confirmation.FIGURES in sheet.confirm  # a draft wants a second look, once
    assert "FIGURES FROM ELSEWHERE" in sheet_text(sheet, Units.METRIC)


@pytest.mark.parametrize(
    "name",
    ["level.windw", "window", "fastener.drain plg.torque", "level.", "fastener.x", ""],
)
def test_the_source_of_a_figure_that_stands_nowhere_is_refused(name: str) -> None:
    told = FIGURES.replace("level.window", name)
    with pytest.raises(SheetError, match=r'"of" in \[\[figure\]\] 1'):
        parse_sheet(SCAR + told, "t")
