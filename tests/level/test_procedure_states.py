"""The level step, exhaustively: every reachable state, every view, every doubt."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.level.step.machine import advance, begin
from bridge.level.step.marks import mark
from bridge.level.step.resume import resume
from bridge.level.step.step_values import Phase, Step
from bridge.values.codec import from_plain, to_plain
from bridge.values.conditions import Verdict
from bridge.values.events import Mark
from tests.everyday import examples
from tests.show.parts.gate import states


@pytest.fixture(scope="module")
def found():
    return states.explore()


def test_every_phase_is_reached(found):
    assert {k[0] for k in found.states} == set(Phase)


def test_there_is_no_dead_end(found):
    assert states.dead_ends(found) == []


def test_every_state_can_be_left(found):
    assert states.stuck(found) == []


def test_a_reading_state_that_cannot_be_left_would_be_found(found):
    # the check itself: cut every way out of MISSED and it must complain
    cut = states.Explored(
        states=found.states,
        edges={
            k: {k} if k[0] is Phase.MISSED else theres
            for k, theres in found.edges.items()
        },
    )
    assert states.dead_ends(cut)
    assert states.stuck(cut)


@pytest.mark.slow
def test_no_view_and_no_doubt_opens_wrongly(found):
    # every tenth state here; all of them in the gate's figures
    some = dict(list(found.states.items())[::10])
    checked = states.check_all(states.Explored(states=some, edges={}))
    assert checked.looks > 50_000
    assert checked.faults == ()


def test_the_gate_gives_go_in_some_view_and_the_step_follows(found):
    ready = next(s for k, s in found.states.items() if k[0] is Phase.GET_READY)
    phases = [
        (v.verdict, advance(ready, states.PLAN, v, ready.now_at_s + 0.25).phase)
        for v in states.all_views()
    ]
    assert (Verdict.GO, Phase.GO) in phases
    assert all((v is Verdict.GO) == (p is Phase.GO) for v, p in phases)


actions = st.lists(
    st.one_of(
        st.sampled_from(sorted(states.TYPICAL)),
        st.sampled_from(list(Mark)),
        st.just("resume"),
    ),
    max_size=40,
)


@examples(150)
@given(actions, st.lists(st.floats(0, 60), min_size=40, max_size=40))
def test_any_course_of_events_ends_well(course, waits):
    step, now_s = begin(0.0), 0.0
    for what, wait in zip(course, waits, strict=False):
        now_s += wait
        if what == "resume":
            step = resume(from_plain(Step, to_plain(step)), now_s=now_s, away_s=wait)
        elif isinstance(what, Mark):
            step = mark(
                step,
                states.PLAN,
                what,
                now_s,
                ml=50.0,
                temp_c=9.0,
                confirms=states.PLAN.confirm[0],
            )
            assert step.phase is not Phase.GO or what not in (Mark.UNDO, Mark.RESTART)
        else:
            view = states.TYPICAL[what]
            step = advance(step, states.PLAN, view, now_s)
            assert step.phase is not Phase.GO or view.verdict is Verdict.GO
        if step.judgement:
            assert step.judgement.open_s >= 0.0
    if step.plug_open:
        step = mark(step, states.PLAN, Mark.CLOSED, now_s + 1)
        step = advance(step, states.PLAN, states.GO, now_s + 2)
        assert step.phase is Phase.JUDGED
