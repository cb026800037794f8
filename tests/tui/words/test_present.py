"""The wording of every state, and that nothing a snapshot holds can break it."""

from __future__ import annotations

import re
from dataclasses import fields, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.snapshot import Snapshot
from bridge.values.conditions import ConditionName, ConditionState, Reason, Verdict
from bridge.values.outlook import Outlook, Trend
from bridge.values.readings import LinkState
from bridge.values.service_sheet import StepKind
from bridge.values.sheet import EngineRule, LevelMethod, Sheet
from tests.tui.oddities import sheets, snapshots
from tests.tui.stage import SHEET, WARM_UP, connecting
from tui.live import pages
from tui.live.screen_state import Contact, ScreenInputs, ScreenState, board
from tui.words import wording
from tui.words.cautions import USUAL, at_step, merged

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
    assert set(wording.REASONS) == set(Reason)
    assert len({said.what for said in wording.REASONS.values()}) == len(Reason)


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
    made = board(
        ScreenInputs(sheet=SHEET, unit="C", contact=Contact.HELD, snapshot=snapshot)
    )
    sentence = made.opens.sentences[0]
    assert sentence.startswith("opens: first figure ")


@pytest.mark.parametrize("contact", Contact)
def test_every_contact_but_a_held_one_is_no_go(contact: Contact) -> None:
    made = board(
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
    text = pages.cautions_text(SHEET)
    assert text.index(SHEET.cautions[0]) < text.index(USUAL[0].text)
    assert all(caution.text in text for caution in USUAL)


def test_what_the_sheet_says_itself_is_not_said_twice() -> None:
    own = "An idling engine makes carbon monoxide: lead the exhaust outside."
    told = merged((own,))
    assert sum("carbon monoxide" in line for line in told) == 1
    assert len(told) == len(USUAL)


def test_every_usual_caution_bears_on_a_step_and_none_needs_scrolling_twice() -> None:
    for caution in USUAL[1:]:
        assert caution.steps, caution.text
        assert caution.short, caution.text
    assert "nobody under the car" in at_step(StepKind.EXERCISE)
    assert "carbon monoxide" in at_step(StepKind.LEVEL)
    assert "gearbox empty" in at_step(StepKind.FILL)
    assert at_step(StepKind.DUE) == ""
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


@settings(max_examples=400, deadline=None)
@given(
    snapshot=snapshots,
    sheet=st.one_of(st.just(SHEET), sheets),
    unit=st.sampled_from(["C", "F"]),
    contact=st.sampled_from(Contact),
)
def test_a_board_comes_of_any_snapshot(
    snapshot: Snapshot, sheet: Sheet, unit: str, contact: Contact
) -> None:
    made = board(
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


@settings(max_examples=200, deadline=None)
@given(snapshot=snapshots)
def test_a_blank_temperature_is_never_live(snapshot: Snapshot) -> None:
    blank = replace(snapshot, temp_c=None)
    made = board(
        ScreenInputs(sheet=SHEET, unit="C", contact=Contact.HELD, snapshot=blank)
    )
    assert made.number == "--.-"
    assert made.last_seen.startswith("not live: ")
    assert made.verdict is Verdict.NO_GO
    assert made.opens.big == ""
    assert made.shuts.big == ""
    assert made.spread == ""
