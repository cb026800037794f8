"""Typed words of the papers: whose car, fluid and parts used, what came of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from bridge.service.against import against
from bridge.service.papers.paper_words import wrench_of
from bridge.values.readings import LinkState, TroubleCodes
from bridge.values.service_events import CarFacts, ServiceEvent, ServiceKind
from bridge.values.service_sheet import Interval, Part, Service, StepKind
from bridge.values.sheet import Sheet, Window
from tests.inputs.test_line_reader import NOTHING
from tui.inputs.answers import Refused
from tui.inputs.line_reader import LineReader
from tui.inputs.paper_lines import WORDS
from tui.words.service.line_words import EXAMPLES

SHEET = Sheet(
    name="t",
    source="t",
    window=Window(low_c=30.0, high_c=50.0),
    service=Service(
        fluid_name="low-viscosity fluid to leaf 21, invented",
        fluid_number="G 4-77",
        forbidden_fluids=("leaf 12 fluid", "type D-II"),
        parts=(Part(name="flat filter, with its seal", number="12-34", count=2),),
        licensed_tool=("Reset of the clutch adaptation.",),
    ),
)
RIGHT, WRONG = "1M8GDM9AXKP042788", "1M8GDM9A1KP042788"
"""49 CFR 565.15(c)'s worked example, from memory; the second with another digit."""


def told(*lines: str) -> ServiceEvent | Refused:
    reader, snapshot = LineReader(SHEET), NOTHING
    found: object = None
    for line in lines:
        found = reader.read(line, replace(snapshot, told=(), log=()))
    assert isinstance(found, ServiceEvent | Refused)
    return found


@pytest.mark.parametrize("word", WORDS)
def test_every_words_own_example_is_taken(word: str) -> None:
    event = told(EXAMPLES[word])
    assert isinstance(event, ServiceEvent)
    assert event.kind is WORDS[word].kind
    assert isinstance(told(word), Refused)


def test_a_plate_and_a_customer_stay_as_typed() -> None:
    event = told("car  AB-CD   12")
    assert (event.name, event.text) == ("plate", "AB-CD 12")
    assert told("customer A. Person, 0123").text == "A. Person, 0123"


@pytest.mark.parametrize(
    ("number", "why"),
    [(WRONG, "check digit"), ("12345", "5 characters"), ("O" * 17, "never I, O or Q")],
)
def test_a_number_that_looks_wrong_is_asked_back_once(number: str, why: str) -> None:
    first = told(f"vin {number}")
    assert isinstance(first, Refused)
    assert why in first.words
    assert told(f"vin {number}", f"vin {number}").text == number
    assert isinstance(told(f"vin {number}", "note x", f"vin {number}"), Refused)
    assert told(f"vin {RIGHT.lower()}").text == RIGHT


def test_fluid_is_told_by_its_can() -> None:
    event = told("fluid Clear 8, leaf 21, G 4-77; batch 0815, 5,2 L")
    assert (event.name, event.text) == ("Clear 8", "leaf 21, G 4-77")
    assert (event.number, event.ml) == ("0815", pytest.approx(5200.0))


@pytest.mark.parametrize(
    "line", ["fluid Old One, leaf 12", "fluid TYPE DII 5", "fluid X, Type-D II"]
)
def test_a_forbidden_fluid_is_said_at_once_and_stands_against(line: str) -> None:
    first = told(line)
    assert isinstance(first, Refused)
    assert "forbids" in first.words
    event = told(line, line)
    assert isinstance(event, ServiceEvent)
    found = [a for a in against(SHEET, (event,)) if a.id.startswith("fluid-")]
    assert [a.id.split(":")[0] for a in found] == ["fluid-forbidden"]
    assert not found[0].answerable
    drained = ServiceEvent(kind=ServiceKind.OUT, ml=5000.0)
    again = [a for a in against(SHEET, (event, drained)) if a.id == found[0].id]
    assert again[0].answerable


@pytest.mark.parametrize(
    ("line", "meets"),
    [
        ("fluid A, leaf 21", True),
        ("fluid A, meets G4-77", True),
        ("fluid A, leaf 2", False),
        ("fluid A, low viscosity fluid", False),
        ("fluid A", False),
        ("fluid leaf 121", False),
    ],
)
def test_a_fluid_is_held_against_the_sheets(line: str, *, meets: bool) -> None:
    ids = {a.id for a in against(SHEET, (told(line),))}
    assert any(i.startswith("fluid-not-named") for i in ids) is not meets


def test_a_part_is_held_against_the_sheets() -> None:
    good = told("part Flat filter, with its seal, number 12-34, 2 x")
    assert (good.name, good.number, good.count) == (
        "flat filter, with its seal",
        "12-34",
        2,
    )
    bad = told("part flat filter, with its seal, number 12-35, 1")
    ids = [a.id.split(":")[0] for a in against(SHEET, (good, bad))]
    assert ids == ["part-number", "part-count"]
    assert not against(SHEET, (bad, good))
    assert told("part hose, 3 pieces").count == 3
    assert isinstance(told("part hose, blue"), Refused)


def test_what_came_of_it() -> None:
    drive = told("road-test 20 min, 185 F, no shudder, smooth")
    assert (drive.minutes, drive.temp_c) == (pytest.approx(20.0), pytest.approx(85.0))
    assert drive.text == "no shudder, smooth"
    assert told("leak drain plug, dry").name == "drain plug"
    assert told("handed-on 1").name == "Reset of the clutch adaptation."
    waste = told("waste 5,1 L, used fluid, the yard, gate 2")
    assert (waste.ml, waste.name, waste.text) == (
        pytest.approx(5100.0),
        "used fluid",
        "the yard, gate 2",
    )


@pytest.mark.parametrize(
    "line",
    [
        "leak pan wet",
        "leak dry",
        "waste 5 L",
        "waste some, oil, yard",
        "road-test 20",
        "road-test 11 h",
        "road-test 20 min, 85",
        "rechecked maybe",
        "instrument hammer",
        "instrument wrench W, calibrated yesterday",
    ],
)
def test_what_is_not_understood_is_refused(line: str) -> None:
    assert isinstance(told(line), Refused)


def test_a_leak_and_a_low_level_stand_against_until_looked_at_again() -> None:
    leaks, damp, dry = (told(f"leak pan {word}") for word in ("leaks", "damp", "dry"))
    assert [a.answerable for a in against(SHEET, (leaks,))] == [False]
    answered = ServiceEvent(
        kind=ServiceKind.ANSWERED, name="leak:pan", text="old drops"
    )
    assert not against(SHEET, (damp, answered))
    assert against(SHEET, (damp, answered, damp))
    assert not against(SHEET, (leaks, dry))
    low, right = told("rechecked low"), told("rechecked right")
    assert [a.id for a in against(SHEET, (right, low))] == ["level-rechecked"]
    assert not against(SHEET, (low, right))


DAY_S = 86_400.0
JANUARY_15_S = 1_768_435_200.0
"""2026-01-15T00:00Z."""


@pytest.mark.parametrize(
    ("days", "words"),
    [(0, ""), (-1, ""), (366, ""), (367, "MORE THAN A YEAR"), (-2, "AFTER")],
)
def test_a_wrench_calibrated_long_ago_or_later_speaks_against(days, words) -> None:
    wrench = told("instrument wrench W-3, calibrated 2026-01-15")
    assert isinstance(wrench, ServiceEvent)
    stamped = replace(wrench, at_utc_s=JANUARY_15_S + days * DAY_S)
    found = against(SHEET, (stamped,))
    assert [words in a.text for a in found] == ([True] if words else [])
    if words:
        assert found[0].id == "calibration:wrench-W-3"
        answered = ServiceEvent(
            kind=ServiceKind.ANSWERED, name=found[0].id, text="compared with W-4"
        )
        assert not against(SHEET, (stamped, answered))
        assert against(SHEET, (stamped, answered, stamped))
        torque = ServiceEvent(
            kind=ServiceKind.TORQUE, at_utc_s=JANUARY_15_S, torque_nm=1
        )
        assert "(" not in wrench_of((stamped, torque), torque)
    assert not against(SHEET, (wrench,))  # when it was told is not known


@pytest.mark.parametrize(
    ("line", "on", "km"),
    [
        ("next-due 2028-02-29", "2028-02-29", None),
        ("next-due 181000 km", "", 181_000.0),
        ("next-due 2028-02-29, 181000 km", "2028-02-29", 181_000.0),
        # NIST SP 811 (2008), appendix B.8: a mile is 1.609344 km.
        ("next-due 100000 mi or 2028-02-29", "2028-02-29", 160_934.4),
    ],
)
def test_the_next_service_is_told_by_date_distance_or_both(line, on, km) -> None:
    event = told(line)
    assert isinstance(event, ServiceEvent)
    assert event.kind is ServiceKind.DUE
    assert (event.name, event.km) == (on, km if km is None else pytest.approx(km))


@pytest.mark.parametrize(
    "line", ["next-due 2027-02-29", "next-due 181000", "next-due soon"]
)
def test_a_next_service_that_is_no_date_and_no_distance_is_refused(line: str) -> None:
    refused = told(line)
    assert isinstance(refused, Refused)
    assert "2028-02-29" in refused.words


def test_a_next_service_already_passed_on_the_odometer_is_refused() -> None:
    read = ServiceEvent(kind=ServiceKind.ODOMETER, km=200_000.0)
    line, seen = "next-due 181000 km", replace(NOTHING, told=(read,), log=(read,))
    refused = LineReader(SHEET).read(line, seen)
    assert isinstance(refused, Refused)
    assert "odometer" in refused.words


def test_a_typed_line_bears_who_types_it() -> None:
    event = LineReader(SHEET, who="B. Hand").read("note x", NOTHING)
    assert isinstance(event, ServiceEvent)
    assert event.who == "B. Hand"


INTERVAL = replace(
    SHEET,
    service=replace(SHEET.service, interval=Interval(distance_km=60_000.0, months=48)),
)


def at(sheet: Sheet) -> LineReader:
    return LineReader(sheet, today=lambda: date(2028, 2, 29))


def test_the_next_service_alone_on_its_line_is_reckoned_from_the_sheet() -> None:
    read = ServiceEvent(kind=ServiceKind.ODOMETER, km=61_200.0)
    seen = replace(NOTHING, told=(read,), log=(read,))
    event = at(INTERVAL).read("next-due", seen)
    assert isinstance(event, ServiceEvent)
    assert (event.kind, event.name, event.km) == ("due", "2032-02-29", 121_200.0)
    assert event.text == (
        "Next due at 121200 km or on 2032-02-29, whichever comes first."
    )


def test_a_sheet_without_an_interval_has_no_next_service() -> None:
    refused = at(SHEET).read("next-due", NOTHING)
    assert isinstance(refused, Refused)
    assert refused.words == "The sheet gives no interval: ask the maker."


LIVE = replace(
    NOTHING,
    told=(),
    log=(),
    link=LinkState.LIVE,
    codes=TroubleCodes(
        t_s=1.0, stored=("P0713",), pending=(), permanent=None, mil=True
    ),
    voltage_v=14.1,
)


def test_the_car_s_codes_are_kept_before_and_after_as_they_are_now() -> None:
    before = at(SHEET).read("codes", LIVE)
    assert isinstance(before, ServiceEvent)
    assert (before.kind, before.step) == (ServiceKind.CAR, StepKind.BEFORE)
    assert before.car == CarFacts(
        stored=("P0713",), pending=(), permanent=None, lamp=True, voltage_v=14.1
    )
    out = ServiceEvent(kind=ServiceKind.OUT, ml=3000.0)
    after = at(SHEET).read("codes", replace(LIVE, told=(out,), log=(out,)))
    assert isinstance(after, ServiceEvent)
    assert after.step is StepKind.AFTER


@pytest.mark.parametrize("state", [s for s in LinkState if s is not LinkState.LIVE])
def test_codes_read_before_the_link_was_lost_are_not_kept_as_now(state) -> None:
    refused = at(SHEET).read("codes", replace(LIVE, link=state))
    assert isinstance(refused, Refused)
    assert "connect it first" in refused.words
