"""What the phone may mark, tried against the step's own state machine."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.level.step.machine import advance, begin
from bridge.level.step.marks import mark
from bridge.level.step.step_values import Instruction, Phase, Plan, Step, View
from bridge.values.conditions import Verdict
from bridge.values.events import Mark
from bridge.values.outlook import Crossing, Outlook, Trend
from bridge.values.sheet import Confirmation, Window
from tui.phone.offers import MARKS, Offer, offer

PLAN = Plan(
    window=Window(low_c=42.0, high_c=52.0),
    confirm=(Confirmation.CAUTIONS, Confirmation.CAR_LEVEL),
)
NOW = Crossing(p05_s=0.0, p50_s=0.0, p95_s=0.0, chance=1.0)
FAR = Crossing(p05_s=500.0, p50_s=600.0, p95_s=700.0, chance=1.0)
GO = View(
    verdict=Verdict.GO,
    temp_c=45.0,
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
    "blind": View(),
    "hot": replace(GO, verdict=Verdict.NO_GO, temp_c=50.0),
    "soon": replace(
        GO,
        verdict=Verdict.NO_GO,
        temp_c=34.0,
        opens=Crossing(p05_s=20.0, p50_s=30.0, p95_s=40.0, chance=1.0),
    ),
}


def test_a_phone_cannot_confirm_withdraw_add_or_begin_again() -> None:
    assert not MARKS & {Mark.CONFIRMED, Mark.WITHDRAWN, Mark.ADDED, Mark.RESTART}


@pytest.mark.parametrize("phase", Phase)
def test_every_phase_offers_only_marks_that_do_something(phase: Phase) -> None:
    opened = None if phase in (Phase.GET_READY, Phase.GO) else 5.0
    step = Step(phase=phase, now_at_s=10.0, opened_at_s=opened)
    for what in offer(step).marks:
        assert what in MARKS
        assert mark(step, PLAN, what, 11.0) is not step


def test_no_step_no_buttons() -> None:
    assert offer(None) == Offer()


def test_undo_is_not_offered_where_it_would_bring_a_confirmation_back() -> None:
    step = begin(0.0)
    for what in (Confirmation.CAUTIONS, Confirmation.CAR_LEVEL):
        step = mark(step, PLAN, Mark.CONFIRMED, 1.0, confirms=what)
    assert not offer(step).undo
    step = mark(step, PLAN, Mark.WITHDRAWN, 2.0, confirms=Confirmation.CAR_LEVEL)
    assert not offer(step).undo  # it would confirm the level anew
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


@settings(max_examples=300, deadline=None)
@given(ACTS)
def test_no_mark_of_the_phone_touches_a_confirmation_or_calls_for_opening(
    acts: list[tuple[str, Mark | None, Confirmation, bool, float]],
) -> None:
    """Laptop and phone mark what they like; the phone's marks go through the offer."""
    step, now_s = begin(0.0), 0.0
    for view, what, confirms, by_phone, pause_s in acts:
        now_s += pause_s
        step = advance(step, PLAN, VIEWS[view], now_s)
        if what is None or (by_phone and what not in offer(step).marks):
            continue
        after = mark(
            step,
            PLAN,
            what,
            now_s,
            ml=100.0 if what is Mark.ADDED else None,
            confirms=confirms,
        )
        if by_phone:
            assert after.confirmed == step.confirmed
            assert after.phase is not Phase.GO
            assert after.instruction is not Instruction.OPEN_NOW
        step = after
