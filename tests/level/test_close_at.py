"""A sheet that closes at a temperature, whatever still runs."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.level.step import time_left
from bridge.level.step.machine import advance, begin
from bridge.level.step.marks import mark
from bridge.level.step.plan import Plan
from bridge.level.step.step_values import (
    Instruction,
    Outcome,
    Phase,
    Step,
    StepView,
)
from bridge.session import session
from bridge.values.conditions import Reason, Verdict
from bridge.values.events import Mark, Marked
from bridge.values.outlook import Crossing, Outlook, Trend
from bridge.values.sheet import EngineRule, Window
from tests.everyday import examples
from tests.show.parts.service import ways

PLAN = Plan(window=Window(low_c=35.0, high_c=50.0), close_at_c=43.0, settle_s=20.0)
RATE = 0.05
GO = StepView(
    verdict=Verdict.GO,
    temp_c=38.0,
    temp_sd_c=0.1,
    rate_c_per_s=RATE,
    trend=Trend.WARMING,
    shuts=Crossing(p05_s=200.0, p50_s=240.0, p95_s=300.0, chance=1.0),
    outlook=Outlook.TELLING,
    stay_chance=0.99,
)


def run_on(step: Step, from_s: float, to_s: float, plan: Plan = PLAN) -> Step:
    for t_s in range(int(from_s), int(to_s)):
        at_c = 38.0 + RATE * t_s
        step = advance(step, plan, replace(GO, temp_c=at_c), float(t_s))
    return step


def opened() -> Step:
    return mark(run_on(begin(0.0), 0, 3), PLAN, Mark.OPENED, 3.0)


def test_it_is_not_called_in_when_the_time_is_over_but_at_the_heat() -> None:
    """5 °C at 0.05 °C/s: 100 s, less the 5 s a hand needs; the settle time is 20 s."""
    step = run_on(opened(), 3, 90)
    assert step.instruction is Instruction.WATCH_HEAT
    assert step.closes_in_s == pytest.approx(11.0)  # at 89 s: 42.45, by hand
    step = run_on(step, 90, 97)
    assert (step.phase, step.instruction) == (Phase.CLOSE, Instruction.CLOSE_AT)


@pytest.mark.parametrize(
    ("at_s", "outcome"),
    [
        (60, Outcome.OFF_TEMPERATURE),  # 41.0
        (85, Outcome.GOOD),  # 42.2
        (115, Outcome.GOOD),  # 43.7
        (140, Outcome.OFF_TEMPERATURE),  # 45.0, inside the window still
    ],
)
def test_good_is_only_what_was_closed_at_that_heat(at_s: int, outcome: Outcome) -> None:
    step = run_on(opened(), 3, at_s)
    step = mark(step, PLAN, Mark.CLOSED, float(at_s))
    step = advance(step, PLAN, GO, float(at_s + 1))
    assert step.judgement is not None
    assert step.judgement.outcome is outcome


def test_beyond_that_heat_nothing_is_opened() -> None:
    step = advance(begin(0.0), PLAN, replace(GO, temp_c=44.0), 1.0)
    assert (step.phase, step.instruction) == (Phase.MISSED, Instruction.COOL_DOWN)
    off = replace(PLAN, engine=EngineRule.OFF)
    view = replace(GO, temp_c=44.5, trend=Trend.COOLING, rate_c_per_s=-RATE)
    step = advance(begin(0.0), off, view, 1.0)
    assert step.phase is Phase.GO  # it cools towards 43: half a minute


@pytest.mark.parametrize(("at_c", "go"), [(41.9, True), (42.1, False), (43.5, False)])
def test_nothing_is_opened_to_be_closed_at_once(at_c: float, go: bool) -> None:
    """20 s, 5 for the hand and 15 of lead, are 1 degree at this rate: up to 42."""
    view = replace(GO, temp_c=at_c)
    assert time_left.too_late(view, PLAN) is not go
    step = advance(begin(0.0), PLAN, view, 1.0)
    assert (step.phase is Phase.GO) is go


RATES = st.floats(-0.1, 0.1)
SPANS = st.none() | st.floats(0.0, 3600.0)


@given(
    engine=st.sampled_from([EngineRule.IDLING, EngineRule.OFF]),
    close_at_c=st.none() | st.floats(36.0, 49.0),
    wanted=st.floats(0.5, 0.999),
    settle_s=st.floats(5.0, 600.0),
    view=st.builds(
        StepView,
        verdict=st.just(Verdict.GO),
        temp_c=st.floats(34.0, 51.0),
        temp_sd_c=st.just(0.1),
        rate_c_per_s=RATES,
        trend=st.sampled_from(Trend),
        shuts=st.none()
        | st.builds(
            Crossing, p05_s=SPANS, p50_s=SPANS, p95_s=SPANS, chance=st.just(1.0)
        ),
        stays_s=SPANS,
        stay_chance=st.none() | st.floats(0.0, 1.0),
    ),
)
@examples(300)
def test_go_is_never_followed_at_once_by_a_call_to_close(
    engine: EngineRule,
    close_at_c: float | None,
    wanted: float,
    settle_s: float,
    view: StepView,
) -> None:
    plan = replace(
        PLAN,
        engine=engine,
        close_at_c=close_at_c,
        stay_chance=wanted,
        settle_s=settle_s,
    )
    step = advance(begin(0.0), plan, view, 1.0)
    if step.phase is Phase.GO:
        step = mark(step, plan, Mark.OPENED, 1.0)
        for at_s in (1.0, 1.25, 2.0):
            step = advance(step, plan, view, at_s)
            assert step.phase is Phase.RUNNING_DOWN


@pytest.mark.few(1)
@pytest.mark.parametrize("seed", [5, 7, 9])
def test_on_a_car_no_go_is_followed_by_a_call_to_close(seed: int) -> None:
    """At every GO of fluid warming through the window: opened there and then.

    Cars on which 13 to 16 of 60 were called in at once, by the early end alone.
    """
    job = ways.close_at_begun(random.Random(seed))
    gos = 0
    while gos < 60:
        job.tick()
        if job.seen.step is None or job.seen.step.phase is not Phase.GO:
            continue
        gos += 1
        opened = Marked(mark=Mark.OPENED, t_s=job.now_s)
        _, seen = session.advance(session.apply(job.session, opened), now_s=job.now_s)
        assert seen.step is not None
        assert seen.step.instruction is Instruction.WATCH_HEAT


def test_the_gate_itself_says_no_at_the_temperature_to_close_at() -> None:
    """Screen, phone and --json go by the gate: a GO there would be of no use."""
    job = ways.close_at_begun(random.Random(1))
    said: dict[Verdict, float] = {}
    while (job.seen.temp_c or 0.0) < (job.sheet.close_at_c or 0.0) + 0.2:
        job.tick()
        said[job.seen.verdict] = job.seen.temp_c or 0.0  # the last one of each
    assert said[Verdict.GO] < 47.0
    assert said[Verdict.NO_GO] > 47.0
    assert job.seen.reasons == (Reason.CLOSING_NEAR,)
