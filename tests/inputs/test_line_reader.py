"""Typed lines of the level step: one event each, or one sentence and nothing else."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.level.step.step_values import Phase, Step
from bridge.service.amounts import out_of_proportion
from bridge.service.rounds import rounds_of
from bridge.sheets import load
from bridge.snapshot import Snapshot
from bridge.values.events import Mark, Marked, Measured, Tilted
from bridge.values.readings import LinkState
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.service_sheet import Drain, Service
from bridge.values.sheet import NAMED, Confirmation, Sheet, Window
from tui.inputs.answers import Refused
from tui.inputs.line_reader import MARK_WORDS, LineReader
from tui.inputs.offers import offers
from tui.inputs.service_lines import words_of

NOTHING = Snapshot(t_s=0.0, link=LinkState.LIVE)
PLAIN = Sheet(name="t", source="t", window=Window(low_c=30.0, high_c=50.0))
FULL = replace(
    PLAIN,
    density_kg_m3=800.0,
    fill_ml=7000.0,
    service=Service(
        service_fill_ml=3800.0,
        drains=(Drain(name="drain plug", expected_ml=2500.0), Drain(name="pan")),
    ),
)


@pytest.mark.parametrize(("word", "mark"), MARK_WORDS.items())
def test_a_word_is_a_mark(word, mark):
    assert LineReader(PLAIN).read(f" {word.upper()} ") == Marked(mark=mark, t_s=0.0)
    assert isinstance(LineReader(PLAIN).read(f"{word} now"), Refused)


@pytest.mark.parametrize("what", [c for c in Confirmation if c not in NAMED])
def test_a_point_is_confirmed_and_withdrawn(what):
    for word, mark in (("confirm", Mark.CONFIRMED), ("withdraw", Mark.WITHDRAWN)):
        told = LineReader(PLAIN).read(f"{word} {what.value}")
        assert told == Marked(mark=mark, confirms=what, t_s=0.0)


def test_figures_carry_their_units():
    reader = LineReader(PLAIN, accuracy_c=1.5)
    assert reader.read("added 0.25 L") == Marked(mark=Mark.ADDED, ml=250.0, t_s=0.0)
    warm = Marked(mark=Mark.ADDED, ml=250.0, temp_c=40.0, t_s=0.0)
    assert reader.read("added 0.25 L at 40 C") == warm
    assert reader.read("read 101.3 F") == Measured(
        temp_c=pytest.approx(38.5), accuracy_c=1.5, t_s=0.0
    )
    assert reader.read("tilt 0.2 0,1") == Tilted(
        lengthways_deg=0.2, across_deg=0.1, t_s=0.0
    )


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("added 250", "has no unit"),
        ("added 1,000 mL", "can be 1 or 1000"),
        ("added 8 oz", "a volume or a weight"),
        ("read 38.5", "has no unit"),
        ("tilt 1", "a tilt"),
        ("confirm everything", "cannot be confirmed"),
        ("38.5", "begins with none of the words"),
        ("added", "not a volume"),
    ],
)
def test_a_line_that_is_wrong_says_why(line, said):
    told = LineReader(PLAIN).read(line)
    assert isinstance(told, Refused)
    assert said in told.words


@given(st.text(max_size=60))
def test_any_line_is_an_event_or_one_sentence(line):
    told = LineReader(PLAIN).read(line)
    if isinstance(told, Refused):
        assert told.words.strip()
        assert "\n" not in told.words


def test_weight_goes_by_the_sheet_s_density():
    told = LineReader(FULL).read("added 200 g")
    assert isinstance(told, Marked)
    assert told.ml == pytest.approx(250.0)


def test_an_amount_out_of_proportion_is_taken_when_said_again():
    reader = LineReader(FULL)
    first = reader.read("added 39 L")
    assert isinstance(first, Refused)
    assert first.again
    assert isinstance(reader.read("added 38 L"), Refused)  # another one: asked anew
    assert isinstance(reader.read("added  38 L"), Marked)
    assert isinstance(reader.read("added 38 L"), Refused)  # it was taken: asked anew


@pytest.mark.parametrize(
    ("kind", "place", "ml", "doubted"),
    [
        (ServiceKind.OUT, "drain plug", 2500.0, False),
        (ServiceKind.OUT, "drain plug", 5100.0, True),
        (ServiceKind.OUT, "pan", 5100.0, False),
        (ServiceKind.OUT, "pan", 39_000.0, True),
        (ServiceKind.OUT, "pan", 3.8, True),
        (ServiceKind.IN, "", 3800.0, False),
        (ServiceKind.IN, "", 38_000.0, True),
        (ServiceKind.IN, "", 3.8, True),
        (ServiceKind.ADDED, "", 250.0, False),
        (ServiceKind.ADDED, "", 0.25, True),
        (ServiceKind.ADDED, "", 4000.0, True),
        (ServiceKind.RAN_OFF, "", 50.0, False),
        (ServiceKind.RAN_OFF, "", 4000.0, True),
    ],
)
def test_proportion(kind, place, ml, doubted):
    assert out_of_proportion(FULL, kind, ml, place) is doubted


def test_without_a_figure_on_the_sheet_only_what_is_absurd_is_asked_back():
    for kind in (ServiceKind.OUT, ServiceKind.IN, ServiceKind.ADDED):
        assert not out_of_proportion(PLAIN, kind, 9000.0)
        assert out_of_proportion(PLAIN, kind, 16_000.0)
        assert out_of_proportion(PLAIN, kind, 1.0)


@pytest.mark.parametrize("name", ["scar-eight-speed"])
def test_what_a_sheet_expects_is_in_proportion(name):
    sheet = load(name)
    for drain in sheet.service.drains:
        usual = drain.expected_ml
        assert usual is None or not out_of_proportion(
            sheet, ServiceKind.OUT, usual, drain.name
        )


def standing_at(phase: Phase, told: tuple[ServiceEvent, ...] = ()) -> Snapshot:
    step = Step(phase=phase, now_at_s=5.0)
    return replace(NOTHING, step=step, told=told, log=told)


def test_undo_takes_back_what_was_told_last_mark_or_service():
    reader = LineReader(FULL)
    out = reader.read("out pan 3.1 L", standing_at(Phase.WAIT))
    assert isinstance(out, ServiceEvent)
    told = (replace(out, t_s=5.0),)
    marked = reader.read("added 0.2 L", standing_at(Phase.WAIT, told))
    assert isinstance(marked, Marked)
    past = (Step(now_at_s=5.0),)
    then = standing_at(Phase.WAIT, told)
    then = replace(then, step=replace(then.step, past=past))
    assert reader.read("undo", then) == Marked(mark=Mark.UNDO)
    back = reader.read("undo", replace(then, step=replace(then.step, past=())))
    assert isinstance(back, ServiceEvent)
    assert (back.kind, back.back) == (ServiceKind.TAKEN_BACK, 0)


@pytest.mark.parametrize("phase", Phase)
def test_a_mark_that_the_phase_does_not_offer_is_refused(phase):
    snapshot = standing_at(phase)
    offered = {o.word for o in offers(snapshot.step)}
    for word in MARK_WORDS:
        told = LineReader(FULL).read(word, snapshot)
        assert isinstance(told, Marked) is (word in offered), word


@pytest.mark.parametrize(
    ("line", "place", "ml"),
    [
        ("out drain plug 2.4 L at 35 C", "drain plug", 2400.0),
        ("out Drain-Plug 2.4 L", "drain plug", 2400.0),
        ("out pan 1,5 L", "pan", 1500.0),
    ],
)
def test_a_place_is_named_as_the_sheet_has_it(line, place, ml):
    told = LineReader(FULL).read(line)
    assert isinstance(told, ServiceEvent)
    assert (told.name, told.ml) == (place, ml)


def test_of_two_places_one_must_be_named():
    told = LineReader(FULL).read("out 2.4 L")
    assert isinstance(told, Refused)
    assert "drain plug, pan" in told.words


def test_what_is_weighed_keeps_its_words_and_the_temperature_of_its_density():
    told = LineReader(FULL).read("in 3 kg at 40 C")
    assert isinstance(told, ServiceEvent)
    assert (told.ml, told.temp_c) == (pytest.approx(3750.0), 15.0)  # 800 kg/m3
    assert (told.text, told.kg) == ("weighed: 3 kg", 3.0)
    amount = rounds_of((told,))[0].put_in[0]
    assert amount.weighed  # and so has the scale's doubt, not the jug's


def test_an_amount_asked_back_at_a_named_place_is_taken_the_second_time() -> None:
    reader = LineReader(load("scar-eight-speed"))
    line = "out pan 39 L at 20 C"
    asked = reader.read(line)
    assert isinstance(asked, Refused)
    assert asked.again
    assert isinstance(reader.read(line), ServiceEvent)


def test_draining_and_filling_are_done_again_in_each_round_that_the_sheet_wants():
    sheet = load("tests/data/sheets/ways/cairn-three-rounds.toml")
    place = next(word for kind, word in words_of(sheet) if kind == "PLACE")
    reader, log = LineReader(sheet), ()
    for line in (
        "done drain",
        f"out {place} 3.1 L at 20 C",
        "done fill",
        "in 3.1 L at 20 C",
        "done drain",
        f"out {place} 3.1 L at 20 C",
        "done fill",
    ):
        told = reader.read(line, replace(NOTHING, told=log, log=log))
        assert isinstance(told, ServiceEvent), (line, told)
        log = (*log, told)
    again = reader.read("done drain", replace(NOTHING, told=log, log=log))
    assert isinstance(again, Refused)
