"""The selector exercise: paced, measured, checked by the reading or confirmed."""

import math
from dataclasses import replace

import pytest

from bridge.service import exercise as ex
from bridge.service.exercise import Cue, Stage, begin, broke, confirmed, look, pace_of
from bridge.values.service_sheet import Exercise
from bridge.values.sheet import Role, Signal
from tests.show.parts.service import exercise as explorer

SELECTOR = Signal(role=Role.SELECTOR, labels=((0, "P"), (1, "R"), (2, "N"), (3, "D")))
PRND = Exercise(positions=("P", "R", "N", "D"), hold_s=3.0, rounds=2)


def read(positions=("P", "R"), hold_s=3.0):
    return begin(
        ex.ExercisePace(positions=positions, hold_s=hold_s, readable=True), 0.0
    )


def blind(positions=("P", "R"), hold_s=3.0):
    return begin(
        ex.ExercisePace(positions=positions, hold_s=hold_s, readable=False), 0.0
    )


def run(at, looks):
    """Look at each (time, reading) and return the states."""
    states = []
    for now_s, position in looks:
        at = look(at, now_s, position)
        states.append(at)
    return states


def test_the_pace_is_all_rounds():
    pace = pace_of(PRND, SELECTOR)
    assert pace.positions == ("P", "R", "N", "D", "P", "R", "N", "D")
    assert pace.readable


@pytest.mark.parametrize(
    "selector",
    [
        None,
        Signal(role=Role.SELECTOR),
        Signal(role=Role.SELECTOR, labels=((0, "P"),)),
    ],
)
def test_a_position_the_reading_never_names_goes_by_the_clock(selector):
    assert not pace_of(PRND, selector).readable


@pytest.mark.parametrize(
    "wrong",
    [
        Exercise(positions=()),
        Exercise(positions=("P",), rounds=0),
        Exercise(positions=("P",), hold_s=0.0),
        Exercise(positions=("P",), hold_s=-1.0),
        Exercise(positions=("P",), hold_s=math.nan),
        Exercise(positions=("P",), hold_s=math.inf),
    ],
)
def test_an_exercise_that_is_none_is_refused(wrong):
    with pytest.raises(ValueError, match="sheet"):
        pace_of(wrong, None)


def test_it_begins_with_the_first_position():
    at = read()
    assert (at.stage, at.position, at.cues) == (Stage.MOVING, "P", (Cue.MOVE,))
    assert (at.left_s, at.holds_left) == (None, 2)


def test_a_readable_exercise_from_start_to_finish():
    looks = [(0.5, "P"), (2.0, "P"), (3.5, "P"), (4.0, "P"), (5.0, "R")]
    looks += [(6.5, "R"), (7.9, "R"), (8.0, "R")]
    states = run(read(), looks)
    assert [s.stage for s in states] == [
        Stage.HOLDING,
        Stage.HOLDING,
        Stage.MOVING,
        Stage.MOVING,
        Stage.HOLDING,
        Stage.HOLDING,
        Stage.HOLDING,
        Stage.FINISHED,
    ]
    assert states[1].left_s == pytest.approx(1.5)
    assert states[2].cues == (Cue.HOLD_DONE, Cue.MOVE)
    assert states[3].cues == ()
    assert states[-1].cues == (Cue.HOLD_DONE, Cue.FINISHED)
    assert states[-1].held_s == (3.0, 3.0)
    assert states[-1].position is None


def test_it_counts_only_from_when_the_reading_shows_it():
    at = run(read(), [(4.0, None), (8.0, "N"), (10.0, "P"), (12.0, "P")])[-1]
    assert at.held_s == ()
    assert at.left_s == pytest.approx(1.0)


def test_leaving_early_breaks_the_hold_and_it_is_held_again_in_full():
    states = run(read(), [(0.0, "P"), (2.0, "P"), (2.9, "R"), (3.0, "P"), (5.0, "P")])
    assert states[2].cues == (Cue.BROKEN, Cue.MOVE)
    assert (states[2].position, states[2].broken_holds) == ("P", 1)
    assert states[-1].held_s == ()
    assert look(states[-1], 6.0, "P").held_s == (3.0,)


def test_a_short_loss_of_reading_is_borne_but_ends_no_hold():
    states = run(
        read(), [(0.0, "P"), (1.0, None), (2.0, "P"), (3.0, None), (4.0, None)]
    )
    assert states[1].left_s is None  # not known to be held just now
    assert [s.held_s for s in states] == [()] * 5
    assert look(states[-1], 4.0, "P").held_s == (4.0,)


def test_a_long_loss_of_reading_breaks_the_hold():
    at = run(read(), [(0.0, "P"), (1.0, None), (2.1, None)])[-1]
    assert (at.stage, at.broken_holds) == (Stage.MOVING, 1)


def test_reading_nothing_for_long_and_then_the_place_breaks_it_too():
    at = run(read(), [(0.0, "P"), (2.5, "P")])[-1]
    assert (at.stage, at.broken_holds) == (Stage.MOVING, 1)


def test_by_the_clock_each_move_has_its_time_and_the_person_confirms():
    states = run(blind(), [(1.0, None), (2.0, None), (4.9, None), (5.0, None)])
    assert states[0].left_s == pytest.approx(1.0)
    assert [s.stage for s in states] == [
        Stage.MOVING,
        Stage.HOLDING,
        Stage.HOLDING,
        Stage.MOVING,
    ]
    states = run(states[-1], [(7.0, "x"), (10.0, "y")])
    assert (states[-1].stage, states[-1].cues) == (Stage.TO_CONFIRM, (Cue.HOLD_DONE,))
    assert look(states[-1], 9999.0, None).stage is Stage.TO_CONFIRM
    done = confirmed(states[-1], 12.0)
    assert (done.stage, done.cues) == (Stage.FINISHED, (Cue.FINISHED,))
    assert broke(states[-1], 12.0).stage is Stage.BROKEN


def test_a_confirmation_before_the_end_counts_for_nothing():
    assert confirmed(blind(), 1.0).stage is Stage.MOVING
    assert confirmed(read(), 1.0).stage is Stage.MOVING


def test_interrupted_means_from_the_beginning():
    at = run(read(), [(0.5, "P"), (2.0, "P"), (3.5, "P")])[-1]
    assert len(at.held_s) == 1
    at = broke(at, 4.0)
    assert (at.stage, at.cues) == (Stage.BROKEN, (Cue.BROKEN,))
    assert look(at, 4.5, "R").stage is Stage.BROKEN
    assert look(at, 4.5, "R").cues == ()
    assert begin(at.pace, 5.0).holds_left == 2


@pytest.mark.parametrize("then_s", [-0.1, 5.1, 1000.0, math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("start", [read, blind])
def test_a_gap_or_a_clock_that_goes_wrong_interrupts(start, then_s):
    assert look(start(), then_s, "P").stage is Stage.BROKEN


def test_nobody_moving_the_lever_interrupts():
    at = run(read(), [(float(t), "N") for t in range(61)])[-1]
    assert at.stage is Stage.MOVING
    assert look(at, 61.0, "N").stage is Stage.BROKEN


def test_what_is_finished_stays_finished():
    done = confirmed(run(blind(("P",)), [(2.0, None), (5.0, None)])[-1], 6.0)
    assert broke(done, 7.0).stage is Stage.FINISHED
    assert look(done, math.nan, None).stage is Stage.FINISHED


def test_the_brake_is_in_every_line():
    stages = [
        read(),
        look(read(), 1.0, "P"),
        broke(read(), 1.0),
        run(blind(("P",)), [(2.0, None), (5.0, None)])[-1],
    ]
    stages.append(confirmed(stages[-1], 6.0))
    assert {s.stage for s in stages} == set(Stage)
    lines = [ex.exercise_text(s) for s in stages]
    assert all("foot on the brake" in line.lower() for line in lines)
    assert "move the lever to P" in lines[0]
    assert "brake" in ex.CAUTION


# --- all of it -------------------------------------------------------------------


@pytest.mark.parametrize("pace", [explorer.READ, explorer.BLIND], ids=["read", "clock"])
def test_every_state_and_every_step_is_sound(pace):
    found = explorer.explore(pace)
    assert found.faults == []
    assert explorer.dead_ends(found) == []
    stages = {Stage(k[0]) for k in found.states}
    missing = {Stage.TO_CONFIRM} if pace.readable else set()
    assert set(Stage) - stages == missing


def test_a_dead_end_would_be_found():
    found = explorer.explore(explorer.READ)
    cut = explorer.Explored(
        states=found.states,
        edges={
            k: {t for t in then if t[0] != Stage.FINISHED}
            for k, then in found.edges.items()
        },
    )
    assert explorer.dead_ends(cut)


def test_a_hold_too_short_would_be_found():
    at = run(read(("P", "R")), [(0.0, "P"), (1.0, "P")])[-1]
    cheated = look(at, 3.0, "P")
    short = replace(cheated, held_s=(1.0,))
    assert "a hold too short" in list(explorer.faults(at, ("look", 2.0, "P"), short))


def test_random_exercises_agree_with_the_rules_own_words():
    differing, finished, holds = explorer.differences(seed=3, cases=400)
    assert differing == 0
    assert finished > 20
    assert holds > 500
