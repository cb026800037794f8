"""GO is asked for in one place: a snapshot that contradicts its own GO says none."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from bridge.level.step import machine
from bridge.level.step.plan import plan_of
from bridge.level.step.step_values import Phase
from bridge.snapshot import Snapshot
from bridge.values.conditions import ConditionState, Reason, Verdict
from bridge.values.readings import LinkState
from tests.tui.stage import SHEET, WARM_UP
from tui.live.screen_state import Contact, screen_state
from tui.phone.message import Scene, message

BARE = replace(SHEET, confirm=())
"""Nothing to confirm by hand: the gate's word alone decides."""


def go_snapshot() -> Snapshot:
    """Return the first GO of a car that warms up, by the real gate."""
    seen = (WARM_UP.snapshot(float(t), BARE) for t in range(0, 6000, 5))
    return next(s for s in seen if s.verdict is Verdict.GO)


def shown(snapshot: Snapshot) -> tuple[bool, bool, bool]:
    """Return whether step, screen and phone say GO."""
    step = machine.advance(machine.begin(0.0), plan_of(BARE), snapshot, 10.0)
    scene = Scene(
        sheet=BARE, unit="C", contact=Contact.HELD, stale_s=2.0, snapshot=snapshot
    )
    page = message(scene, sent_s=0.0, call=None)
    return step.phase is Phase.GO, screen_state(scene).verdict is Verdict.GO, page["go"]


def test_a_sound_go_is_go_everywhere() -> None:
    assert shown(go_snapshot()) == (True, True, True)


@pytest.mark.parametrize(
    "lie",
    [
        {"verdict": Verdict.NO_GO},
        {"reasons": (Reason.TOO_HOT,)},
        {"temp_c": None},
        {"temp_c": math.nan},
        {"temp_c": BARE.window.high_c + 0.1},
        {"stay_chance": None},
        {"stay_chance": math.nan},
        {"stay_chance": BARE.stay_chance - 0.01},
        {"link": LinkState.LOST},
        {"age_s": None},
        {"age_s": math.nan},
        {"age_s": math.inf},
        {"age_s": -1.0},
        {"conditions": ()},
    ],
    ids=str,
)
def test_whatever_contradicts_a_go_ends_it_everywhere(lie) -> None:
    assert shown(replace(go_snapshot(), **lie)) == (False, False, False)


@pytest.mark.parametrize("state", [ConditionState.UNKNOWN, ConditionState.NOT_MET])
def test_one_condition_not_met_ends_it(state: ConditionState) -> None:
    go = go_snapshot()
    for at, one in enumerate(go.conditions):
        said = (
            *go.conditions[:at],
            replace(one, state=state),
            *go.conditions[at + 1 :],
        )
        assert shown(replace(go, conditions=said)) == (False, False, False)
