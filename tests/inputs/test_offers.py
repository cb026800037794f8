"""The one table of inputs: keys, buttons and words agree, and each does something."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.level.settling.settle_time import usual
from bridge.level.step.machine import advance, begin
from bridge.level.step.marks import mark
from bridge.level.step.plan import Plan
from bridge.level.step.step_values import (
    BEFORE_OPENING,
    OPEN_PHASES,
    Instruction,
    Phase,
    Step,
    StepView,
)
from bridge.values.conditions import Verdict
from bridge.values.events import Mark, Marked
from bridge.values.outlook import Crossing, Outlook, Trend
from bridge.values.sheet import Confirmation, Window
from tests.everyday import examples
from tests.tui.stage import SHEET, WARM_UP
from tui.inputs.answers import Refused
from tui.inputs.line_reader import LineReader
from tui.inputs.offers import (
    PHONE_MARKS,
    Offer,
    by_button,
    main_offer,
    marks_of,
    offers,
)
from tui.live.screen_state import Contact
from tui.phone.message import Scene, message
from tui.words import step_wording

PLAN = Plan(
    window=Window(low_c=35.0, high_c=45.0),
    confirm=(Confirmation.CAUTIONS, Confirmation.CAR_LEVEL),
)
INSIDE = WARM_UP.snapshot(WARM_UP.t_at(40.0))
PLAN_SETTLES = usual(20.0)
NOW = Crossing(p05_s=0.0, p50_s=0.0, p95_s=0.0, chance=1.0)
FAR = Crossing(p05_s=500.0, p50_s=600.0, p95_s=700.0, chance=1.0)
GO = StepView(
    verdict=Verdict.GO,
    temp_c=38.0,
    temp_sd_c=0.2,
    rate_c_per_s=0.01,
    trend=Trend.WARMING,
    opens=NOW,
    shuts=FAR,
    outlook=Outlook.TELLING,
    stay_chance=0.99,
)
VIEWS = {
    "go": GO,
    "no-go": replace(GO, verdict=Verdict.NO_GO, stay_chance=0.2),
    "blind": StepView(),
    "hot": replace(GO, verdict=Verdict.NO_GO, temp_c=50.0),
    "soon": replace(
        GO,
        verdict=Verdict.NO_GO,
        temp_c=34.0,
        opens=Crossing(p05_s=20.0, p50_s=30.0, p95_s=40.0, chance=1.0),
    ),
}


def test_a_phone_cannot_confirm_withdraw_add_or_begin_again() -> None:
    assert not PHONE_MARKS & {Mark.CONFIRMED, Mark.WITHDRAWN, Mark.ADDED, Mark.RESTART}


def in_phase(phase: Phase) -> Step:
    """Return a step as it stands in a phase, after some marks."""
    before = phase in BEFORE_OPENING
    return Step(
        phase=phase,
        now_at_s=10.0,
        opened_at_s=None if before else 5.0,
        expected=None if before else PLAN_SETTLES,
        past=(begin(0.0),) if phase is not Phase.PREPARE else (),
    )


@pytest.mark.parametrize("phase", Phase)
def test_every_phase_offers_only_marks_that_do_something(phase: Phase) -> None:
    step = in_phase(phase)
    for offer in marks_of(step):
        assert offer.mark is not None
        assert mark(step, PLAN, offer.mark, 11.0) is not step, offer


BY_NAME = {
    Confirmation.DRIVE_SAFE: " Ann",
    Confirmation.BRAKE_HELD: " Ann, Ben",
}
"""What stands behind the word of a point that is confirmed by name."""


@pytest.mark.parametrize("phase", Phase)
def test_keys_buttons_and_words_tell_the_same_in_every_phase(phase: Phase) -> None:
    """What a key tells, the phone's button and the typed word tell, too."""
    step = in_phase(phase)
    told = offers(step)
    for names in ([o.key for o in told if o.key], [o.word for o in told]):
        assert len(names) == len(set(names)), "one key or word, two meanings"
    buttons = {o.button: o.mark for o in by_button(step)}
    shown = message(
        Scene(
            sheet=SHEET,
            unit="C",
            contact=Contact.HELD,
            stale_s=2.0,
            snapshot=replace(INSIDE, step=step),
        ),
        sent_s=0.0,
        call=None,
    )
    on_phone = {*shown["others"], *([shown["main"]] if shown["main"] else [])}
    assert on_phone | ({Mark.UNDO} if shown["undo"] else set()) == set(buttons.values())
    main = main_offer(step)
    assert shown["main"] == (main.mark if main else None)
    pressed = main.pressed if main else None
    assert (pressed.mark if pressed else None) == shown["main"]
    for offer in told:
        if offer.mark is None or offer.mark is Mark.ADDED:
            continue
        typed = LineReader(SHEET).read(offer.word + BY_NAME.get(offer.confirms, ""))
        assert isinstance(typed, Marked)
        assert (typed.mark, typed.confirms) == (offer.mark, offer.confirms)
        if offer.key and not offer.main and offer.confirms is None:
            by_key = offer.pressed
            assert by_key is not None
            assert by_key.mark is offer.mark


@pytest.mark.parametrize("phase", Phase)
def test_the_main_key_never_closes(phase: Phase) -> None:
    """A thumb that taps drips must not end the step when the phase changes under it."""
    main = main_offer(in_phase(phase))
    assert main is None or main.mark in (Mark.OPENED, Mark.DRIP)
    if phase in OPEN_PHASES:
        assert main is not None
        assert main.mark is Mark.DRIP
        assert any(o.mark is Mark.CLOSED and o.key and o.button for o in told(phase))


def told(phase: Phase) -> tuple[Offer, ...]:
    return offers(in_phase(phase))


@pytest.mark.parametrize("phase", [Phase.PREPARE, Phase.WAIT, Phase.MISSED])
def test_before_go_only_the_written_word_tells_that_it_is_open(phase: Phase) -> None:
    (opened,) = (o for o in told(phase) if o.mark is Mark.OPENED)
    assert (opened.word, opened.key, opened.button) == ("opened", "", "")


def test_once_go_was_said_the_opening_can_be_told_while_the_reading_is_too_old() -> (
    None
):
    """It may be out already: what is true can be marked, and not by a slip."""
    ready = Step(phase=Phase.GO, confirmed=PLAN.confirm)
    step = advance(advance(ready, PLAN, GO, 1.0), PLAN, VIEWS["blind"], 6.0)
    assert step.phase is Phase.WAIT
    (opened,) = (o for o in offers(step) if o.mark is Mark.OPENED)
    assert not opened.main
    assert (opened.key, opened.button) == ("o", "OPENED")
    assert Mark.OPENED in phone_marks(step)
    assert ("o", "opened") in step_wording.key_hints(step)
    told = mark(step, PLAN, Mark.OPENED, 7.0)
    assert told.plug_open
    assert not told.on_go  # the record says that it was not called for just then
    fresh = begin(8.0, attempt=2)
    assert Mark.OPENED not in phone_marks(fresh)


def test_no_step_nothing_is_offered() -> None:
    assert offers(None) == ()
    assert by_button(None) == ()
    assert isinstance(LineReader(SHEET).read("what"), Refused)


def phone_marks(step: Step) -> set[Mark | None]:
    return {o.mark for o in by_button(step)}


def test_undo_is_not_offered_where_it_would_bring_a_confirmation_back() -> None:
    step = begin(0.0)
    for what in (Confirmation.CAUTIONS, Confirmation.CAR_LEVEL):
        step = mark(step, PLAN, Mark.CONFIRMED, 1.0, confirms=what)
    assert Mark.UNDO not in phone_marks(step)
    step = mark(step, PLAN, Mark.WITHDRAWN, 2.0, confirms=Confirmation.CAR_LEVEL)
    assert Mark.UNDO not in phone_marks(step)  # it would confirm the level anew
    assert Confirmation.CAR_LEVEL in mark(step, PLAN, Mark.UNDO, 3.0).confirmed


ACTS = st.lists(
    st.tuples(
        st.sampled_from(sorted(VIEWS)),
        st.sampled_from([None, *Mark]),
        st.sampled_from(list(Confirmation)),
        st.booleans(),
        st.floats(0.1, 40.0),
    ),
    max_size=40,
)


@examples(300)
@given(ACTS)
def test_no_mark_of_the_phone_touches_a_confirmation_or_calls_for_opening(
    acts: list[tuple[str, Mark | None, Confirmation, bool, float]],
) -> None:
    """Laptop and phone mark what they like; the phone's marks go through the offer."""
    step, now_s = begin(0.0), 0.0
    for view, what, confirms, by_phone, pause_s in acts:
        now_s += pause_s
        step = advance(step, PLAN, VIEWS[view], now_s)
        if what is None or (by_phone and what not in phone_marks(step)):
            continue
        after = mark(
            step,
            PLAN,
            what,
            now_s,
            ml=100.0 if what is Mark.ADDED else None,
            temp_c=12.0 if what is Mark.AIR else None,
            who="Ann",
            confirms=confirms,
        )
        if by_phone:
            assert after.confirmed == step.confirmed
            assert after.phase is not Phase.GO
            assert after.instruction is not Instruction.OPEN_NOW
        step = after
