"""A sheet that closes at a temperature, whatever still runs."""

from __future__ import annotations

from dataclasses import replace

import pytest

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
from bridge.values.conditions import Verdict
from bridge.values.events import Mark
from bridge.values.outlook import Crossing, Outlook, Trend
from bridge.values.sheet import EngineRule, Window

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
    view = replace(GO, temp_c=44.0, trend=Trend.COOLING, rate_c_per_s=-RATE)
    step = advance(begin(0.0), off, view, 1.0)
    assert step.phase is Phase.GO  # it cools towards 43
