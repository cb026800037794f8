"""The wording of every state, and that nothing a snapshot holds can break it."""

from __future__ import annotations

import re
import textwrap
from dataclasses import fields, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.level.thermometer import ReadingWanted, Thermometer, ThermometerStatus
from bridge.sheets import load
from bridge.sheets.files import shipped_sheets
from bridge.snapshot import Snapshot
from bridge.values.conditions import ConditionName, ConditionState, Reason, Verdict
from bridge.values.outlook import Outlook, Trend
from bridge.values.readings import LinkState
from bridge.values.service_sheet import StepKind
from bridge.values.sheet import EngineRule, LevelMethod, Sheet
from tests.everyday import examples
from tests.tui.oddities import sheets, snapshots
from tests.tui.stage import SHEET, WARM_UP, connecting
from tui.live.screen_state import Contact, ScreenInputs, ScreenState, screen_state
from tui.words import wording
from tui.words.cautions import FIRST, USUAL, about, at_start, at_step, every
from tui.words.reason_words import REASONS
from tui.words.screen import pages
from tui.words.thermometer_wording import status_line

GO = WARM_UP.snapshot(WARM_UP.t_at(45.0))


@pytest.mark.parametrize("reason", Reason)
@pytest.mark.parametrize("snapshot", [GO, connecting()], ids=["live", "blank"])
@pytest.mark.parametrize("unit", ["C", "F"])
def test_every_reason_has_words_that_fit(
    reason: Reason, snapshot: Snapshot, unit: str
) -> None:
    said = wording.reason(reason, snapshot, SHEET, unit)
    for sentence, most in ((said.what, 70), (said.remedy, 78)):
        assert 8 < len(sentence) <= most
        assert sentence[0].isupper()
        assert "{" not in sentence
        assert reason.value not in sentence
    assert said.remedy.endswith(".")
    assert not said.what.endswith(".")


def test_reasons_differ_from_each_other() -> None:
    assert set(REASONS) == set(Reason)
    assert len({said.what for said in REASONS.values()}) == len(Reason)


WORDINGS = {
    **{state: wording.link_state(state) for state in LinkState},
    **{state: wording.condition_state(state) for state in ConditionState},
    **{name: wording.condition_name(name, SHEET) for name in ConditionName},
    **{rule: wording.engine_rule(rule) for rule in EngineRule},
    **{method: wording.level_step(method) for method in LevelMethod},
    **{way: wording.trend(way, 0.01, "C") for way in Trend},
}


@pytest.mark.parametrize("value", WORDINGS, ids=lambda v: f"{type(v).__name__}.{v}")
def test_every_state_has_words(value: object) -> None:
    words = WORDINGS[value]
    assert words
    alike = [
        key
        for key, said in WORDINGS.items()
        if said == words and type(key) is type(value)
    ]
    assert alike == [value]


@pytest.mark.parametrize("name", ConditionName)
@pytest.mark.parametrize("rule", EngineRule)
def test_a_condition_and_its_state_fit_the_narrow_column(
    name: ConditionName, rule: EngineRule
) -> None:
    words = wording.condition_name(name, replace(SHEET, engine=rule))
    assert len(words) <= 15
    longest = max(len(wording.condition_state(s)) for s in ConditionState)
    assert len(f"✔ {words} ") + longest <= 27


@pytest.mark.parametrize("outlook", Outlook)
def test_every_outlook_has_words_where_there_is_no_countdown(outlook: Outlook) -> None:
    snapshot = replace(GO, outlook=outlook, opens=None, shuts=None)
    made = screen_state(
        ScreenInputs(sheet=SHEET, unit="C", contact=Contact.HELD, snapshot=snapshot)
    )
    sentence = made.opens.sentences[0]
    assert sentence.startswith("opens: first figure ")


@pytest.mark.parametrize("contact", Contact)
def test_every_contact_but_a_held_one_is_no_go(contact: Contact) -> None:
    made = screen_state(
        ScreenInputs(
            sheet=SHEET, unit="C", contact=contact, snapshot=GO, failure="it broke"
        )
    )
    assert (made.verdict is Verdict.GO) == (contact is Contact.HELD)
    assert made.headline
    if contact is not Contact.HELD:
        assert made.number == "--.-"
        assert not any(ch.isdigit() for text in texts_of(made) for ch in text)


def test_engine_off_is_worded_from_the_sheet() -> None:
    sheet = replace(SHEET, engine=EngineRule.OFF)
    assert wording.condition_name(ConditionName.ENGINE, sheet) == "Engine off"


def test_the_pages_hold_sheet_and_usual_cautions() -> None:
    help_text = pages.help_text(SHEET)
    assert all(caution.text in help_text for caution in USUAL)
    assert all(line in help_text for line in (FIRST, *SHEET.cautions))


def test_at_the_start_stand_the_six_that_can_kill_and_what_bears_on_the_level() -> None:
    deadly = [caution.text for caution in USUAL if caution.kills]
    assert len(deadly) == 6
    told = pages.cautions(SHEET)
    assert told[:7] == [FIRST, *deadly]
    assert told[-1] == SHEET.cautions[0]  # it speaks of none of them
    rest = [c for c in USUAL if not c.kills]
    assert {c.text for c in rest} & set(told) == {
        c.text for c in rest if StepKind.LEVEL in c.steps
    }


def test_what_the_sheet_says_itself_is_not_said_twice() -> None:
    own = "An idling engine makes carbon monoxide: lead the exhaust outside."
    for told in (every((own,)), at_start((own,))):
        assert sum("carbon monoxide" in line for line in told) == 1
    assert len(every((own,))) == 2 + len(USUAL)
    assert own in at_step(StepKind.EXERCISE, (own,))


def test_a_line_that_says_less_does_not_take_a_cautions_place() -> None:
    own = "Hold the brake pedal while the selector is moved: the car can creep."
    (lever,) = (c for c in USUAL if c is about(own))
    assert {own, lever.text} <= set(at_start((own,)))
    told = " ".join(at_step(StepKind.EXERCISE, (own,)))
    assert own in told
    assert lever.short in told


@pytest.mark.parametrize("name", shipped_sheets())
@pytest.mark.parametrize("step", StepKind)
def test_a_steps_cautions_take_five_lines_at_most(name: str, step: StepKind) -> None:
    told = at_step(step, load(name).cautions)
    assert sum(len(textwrap.wrap(line, 48)) for line in told) <= 5
    assert all(
        c.short in " ".join(told) or any(about(x) is c for x in told)
        for c in USUAL
        if step in c.steps
    )


@pytest.mark.parametrize("name", shipped_sheets())
def test_every_line_of_a_sheet_is_told_somewhere(name: str) -> None:
    sheet = load(name)
    read_first = pages.cautions(sheet)
    for line in sheet.cautions:
        found = about(line)
        maker = line.startswith("The maker's figures")  # told in our own words
        assert line in read_first or maker or (found is not None and found.steps)
        assert line in every(sheet.cautions)


def test_every_usual_caution_bears_on_a_step() -> None:
    for caution in USUAL:
        assert caution.steps, caution.text
        assert caution.short, caution.text
    assert "nobody under the car" in at_step(StepKind.EXERCISE)[0]
    assert "carbon monoxide" in at_step(StepKind.LEVEL)[0]
    assert "gearbox empty" in at_step(StepKind.FILL)[0]
    assert at_step(StepKind.DUE) == ()
    assert all(step in pages.help_text(SHEET) for step in SHEET.steps)
    assert SHEET.source in pages.help_text(SHEET)


# Whatever a snapshot holds


def texts_of(made: ScreenState) -> list[str]:
    found: list[str] = []
    for field in fields(made):
        value = getattr(made, field.name)
        if isinstance(value, str):
            found.append(value)
    for line in made.conditions:
        found += [line.name, line.word, line.why]
    for event in (made.opens, made.shuts):
        found += [event.label, event.big, event.big_unit, *event.sentences]
    return found + [text for pair in made.values for text in pair]


@examples(400)
@given(
    snapshot=snapshots,
    sheet=st.one_of(st.just(SHEET), sheets),
    unit=st.sampled_from(["C", "F"]),
    contact=st.sampled_from(Contact),
)
def test_a_board_comes_of_any_snapshot(
    snapshot: Snapshot, sheet: Sheet, unit: str, contact: Contact
) -> None:
    made = screen_state(
        ScreenInputs(
            sheet=sheet,
            unit=unit,
            contact=contact,
            snapshot=snapshot,
        )
    )
    for text in texts_of(made):
        assert text.isprintable()
        assert len(text) < 600
    foreign = (made.detail, dict(made.values)["Selector"])
    for text in set(texts_of(made)) - set(foreign):
        assert not re.search(r"\b(nan|inf)\b", text)
    if made.verdict is Verdict.GO:
        assert contact is Contact.HELD
        assert snapshot.verdict is Verdict.GO
        assert not snapshot.reasons
        assert sheet.window.low_c <= snapshot.temp_c <= sheet.window.high_c
    pages.help_text(sheet)


@examples(200)
@given(snapshot=snapshots)
def test_a_blank_temperature_is_never_live(snapshot: Snapshot) -> None:
    blank = replace(snapshot, temp_c=None)
    made = screen_state(
        ScreenInputs(sheet=SHEET, unit="C", contact=Contact.HELD, snapshot=blank)
    )
    assert made.number == "--.-"
    assert made.last_seen.startswith("not live: ")
    assert made.verdict is Verdict.NO_GO
    assert made.opens.big == ""
    assert made.shuts.big == ""
    assert made.spread == ""


@pytest.mark.parametrize(
    ("rate", "told"),
    [
        # 4 degC at 1.5 degC a minute is 160 s
        (0.025, "next reading in 45 s; thermometer ±4 °C (about 3 min at this rate)"),
        (-0.1, "next reading in 45 s; thermometer ±4 °C (about 40 s at this rate)"),
        (0.001, "next reading in 45 s; thermometer ±4 °C"),
        (None, "next reading in 45 s; thermometer ±4 °C"),
    ],
)
def test_a_thermometer_alone_says_how_far_off_its_times_are(rate, told):
    hand = ThermometerStatus(
        thermometer=Thermometer(accuracy_c=4.0),
        due_in_s=45.0,
        ask=ReadingWanted.REGULAR,
    )
    assert status_line(hand, rate, "C") == told
