"""Every state the level step can reach, and every view the gate can give of the car.

The step's states are explored breadth first from the beginning with all marks and
typical views; two states are one if phase, instruction and the flags that rules look
at are the same. Views come from the gate itself, by judging every combination of
what may be known of the car.
"""

from __future__ import annotations

import itertools
from collections import deque
from dataclasses import dataclass, replace

from bridge.level.gate import Facts, ReadingState, judge, verdict
from bridge.level.step.machine import advance, begin
from bridge.level.step.marks import mark
from bridge.level.step.plan import Plan
from bridge.level.step.step_values import (
    BEFORE_OPENING,
    OPEN_PHASES,
    Phase,
    Step,
    StepView,
)
from bridge.values.conditions import Reason, Verdict
from bridge.values.events import Mark
from bridge.values.outlook import Crossing, Outlook, Trend
from bridge.values.readings import LinkState
from bridge.values.sheet import Confirmation, Sheet, Window

WINDOW = Window(low_c=35.0, high_c=45.0)
SHEET = Sheet(name="t", source="t", window=WINDOW)
PLAN = Plan(window=WINDOW, confirm=(Confirmation.CAUTIONS,), fill_ml=6000.0)
_SOON = Crossing(p05_s=30.0, p50_s=40.0, p95_s=50.0, chance=1.0)
_LATER = Crossing(p05_s=280.0, p50_s=300.0, p95_s=320.0, chance=1.0)
_NOW = Crossing(p05_s=0.0, p50_s=0.0, p95_s=0.0, chance=1.0)

GO = StepView(
    verdict=Verdict.GO,
    temp_c=40.0,
    temp_sd_c=0.2,
    rate_c_per_s=0.02,
    trend=Trend.WARMING,
    opens=_NOW,
    shuts=_LATER,
    outlook=Outlook.TELLING,
    stay_chance=0.95,
)
_NO = replace(GO, verdict=Verdict.NO_GO)
TYPICAL: dict[str, StepView] = {
    "go": GO,
    "cold": replace(
        _NO, temp_c=20.0, reasons=(Reason.TOO_COLD,), opens=_LATER, shuts=None
    ),
    "near": replace(
        _NO, temp_c=34.0, reasons=(Reason.TOO_COLD,), opens=_SOON, shuts=_LATER
    ),
    "edge": replace(_NO, temp_c=35.2, reasons=(Reason.AT_WINDOW_EDGE,)),
    "short": replace(_NO, temp_c=43.0, reasons=(Reason.WINDOW_TOO_SHORT,)),
    "shutting": replace(GO, shuts=Crossing(p05_s=5, p50_s=9, p95_s=12, chance=1.0)),
    "hot": replace(_NO, temp_c=47.0, reasons=(Reason.TOO_HOT,), opens=None),
    "cooling": replace(
        _NO, temp_c=36.0, trend=Trend.COOLING, reasons=(Reason.ENGINE_STOPPED,)
    ),
    "never": replace(
        _NO,
        temp_c=20.0,
        reasons=(Reason.TOO_COLD,),
        opens=None,
        shuts=None,
        outlook=Outlook.MAY_NEVER,
    ),
    "revving": replace(_NO, reasons=(Reason.ENGINE_TOO_FAST,)),
    "stalled": replace(_NO, reasons=(Reason.ENGINE_STOPPED,)),
    "blind": StepView(reasons=(Reason.READING_STALE,)),
}
STEPS_S = (0.5, 25.0, 90.0)
MOST_STATES = 4000


@dataclass(frozen=True, slots=True, kw_only=True)
class Explored:
    """The states found and which lead to which."""

    states: dict[tuple[object, ...], Step]
    edges: dict[tuple[object, ...], set[tuple[object, ...]]]


def key(step: Step) -> tuple[object, ...]:
    """What tells two states apart; times are left out."""
    return (
        step.phase,
        step.instruction,
        step.confirmed,
        step.doubt_at_s is not None,
        step.left_window,
        step.went_blind,
        step.nothing_came,
        step.close_at_s is not None,
        bool(step.drips_s) or step.streaming_s is not None,
        step.judgement.outcome if step.judgement else None,
    )


def moves(step: Step) -> list[Step]:
    """Every state that one look or one mark leads to."""
    now_s = step.now_at_s
    out = [
        advance(step, PLAN, view, now_s + dt)
        for view in TYPICAL.values()
        for dt in STEPS_S
    ]
    which = PLAN.confirm[0]
    out += [
        mark(step, PLAN, what, now_s + 0.3, ml=100.0, temp_c=9.0, confirms=which)
        for what in Mark
    ]
    return out


def explore() -> Explored:
    """Explore breadth first; raises RuntimeError if it does not come to an end."""
    start = begin(0.0)
    states = {key(start): start}
    edges: dict[tuple[object, ...], set[tuple[object, ...]]] = {}
    queue = deque([key(start)])
    while queue:
        here = queue.popleft()
        edges[here] = set()
        for after in moves(states[here]):
            # a short past is enough: UNDO goes back one mark at a time
            after = replace(after, past=after.past[-2:])
            there = key(after)
            edges[here].add(there)
            if there not in states:
                states[there] = after
                queue.append(there)
        if len(states) > MOST_STATES:
            raise RuntimeError("the step has more states than expected")
    return Explored(states=states, edges=edges)


def reaching(found: Explored, goal: Phase) -> set[tuple[object, ...]]:
    """Every state from which some way leads to a phase."""
    back: dict[tuple[object, ...], set[tuple[object, ...]]] = {}
    for here, theres in found.edges.items():
        for there in theres:
            back.setdefault(there, set()).add(here)
    reached = {k for k in found.states if k[0] is goal}
    queue = deque(reached)
    while queue:
        for before in back.get(queue.popleft(), set()):
            if before not in reached:
                reached.add(before)
                queue.append(before)
    return reached


def dead_ends(found: Explored) -> list[tuple[object, ...]]:
    """States from which the step can no longer be judged, begun anew or come to GO."""
    good = set(found.states)
    for goal in (Phase.JUDGED, Phase.PREPARE, Phase.GO):
        good &= reaching(found, goal)
    return [k for k in found.states if k not in good]


def stuck(found: Explored) -> list[tuple[object, ...]]:
    """States that no single look or mark can bring to another phase."""
    return [
        here
        for here, theres in found.edges.items()
        if all(there[0] is here[0] for there in theres)
    ]


_LINKS = (LinkState.LIVE, LinkState.SILENT)
_READINGS = (ReadingState.LIVE, ReadingState.STALE, ReadingState.IMPLAUSIBLE)
_TEMPS = (None, 30.0, 40.0, 50.0)
_SPEEDS = (None, 0.0, 5.0)
_RPMS = (None, 0.0, 750.0, 3000.0)


def all_views() -> list[StepView]:
    """The view of every combination of what may be known, as the gate judges it."""
    views = []
    for link, reading, temp, sure, stay, rpm, speed in itertools.product(
        _LINKS, _READINGS, _TEMPS, (0.5, 0.99), (None, 0.5, 0.95), _RPMS, _SPEEDS
    ):
        live = reading is ReadingState.LIVE
        facts = Facts(
            link=link,
            reading=reading,
            raw_c=temp,
            temp_c=temp if live else None,
            inside_chance=sure if live else None,
            stay_chance=stay if live else None,
            engine_rpm=rpm,
            speed_kmh=speed,
        )
        answer, reasons = verdict(judge(facts, SHEET))
        views.append(
            StepView(
                verdict=answer,
                reasons=reasons,
                temp_c=facts.temp_c,
                temp_sd_c=0.2 if facts.temp_c is not None else None,
                rate_c_per_s=0.02,
                trend=Trend.WARMING,
                opens=_NOW if temp == 40.0 else _LATER,
                shuts=_LATER,
                stay_chance=facts.stay_chance,
            )
        )
    return views


def doubts(view: StepView) -> list[StepView]:
    """The same view with one thing more in doubt."""
    worse = [replace(view, temp_c=None), replace(view, stay_chance=None)]
    worse += [replace(view, temp_c=float("nan")), replace(view, stay_chance=0.5)]
    worse += [replace(view, verdict=Verdict.NO_GO)]
    worse += [replace(view, reasons=(*view.reasons, r)) for r in Reason]
    return worse


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """How many were looked at, and what was wrong."""

    states: int
    views: int
    looks: int
    faults: tuple[str, ...]


def check_all(found: Explored) -> Checked:
    """Look at every view from every state, and at every doubt from every GO."""
    faults: list[str] = []
    looks = 0
    views = all_views()
    for step in found.states.values():
        for view in views:
            looks += 1
            faults += _wrong(step, view)
        for view in doubts(GO):
            looks += 1
            if advance(step, PLAN, view, step.now_at_s + 0.25).phase is Phase.GO:
                faults.append(f"GO in doubt: {step.phase} {view}")
    return Checked(
        states=len(found.states), views=len(views), looks=looks, faults=tuple(faults)
    )


def _wrong(step: Step, view: StepView) -> list[str]:
    """What must never be, for one look."""
    after = advance(step, PLAN, view, step.now_at_s + 0.25)
    wrong = []
    if after.phase is Phase.GO and (view.verdict is not Verdict.GO or view.reasons):
        wrong.append(f"GO with a reason: {step.phase} {view}")
    if after.phase is Phase.GO and set(PLAN.confirm) - set(step.confirmed):
        wrong.append(f"GO unconfirmed: {step.phase} {view}")
    if after.phase is Phase.GO and step.phase not in BEFORE_OPENING:
        wrong.append(f"GO with the plug out: {step.phase}")
    if (step.phase in OPEN_PHASES) is not (after.phase in OPEN_PHASES):
        wrong.append(f"a look moved the plug: {step.phase} -> {after.phase}")
    temp_c = view.temp_c
    outside = temp_c is not None and not 35.0 <= temp_c <= 45.0
    unsafe = outside or Reason.ENGINE_STOPPED in view.reasons
    if step.phase in OPEN_PHASES and unsafe and after.phase is not Phase.CLOSE:
        wrong.append(f"open and unsafe, but {after.phase}")
    return wrong
