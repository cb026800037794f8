"""The selector exercise explored: every state, every reading, every interruption.

Times are taken on a grid of half seconds. ``replayed`` judges a whole exercise anew
from nothing but the list of what was read when, by the words of the rule: used by the
unit tests, and by the figures of the service.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from bridge.service.exercise import (
    BLIND_S,
    GAP_S,
    MOVE_S,
    OVER,
    Cue,
    ExercisePace,
    Exercising,
    Stage,
    begin,
    broke,
    confirmed,
    look,
)

POSITIONS = ("P", "R", "N", "D", "P", "R")
READ = ExercisePace(positions=POSITIONS, hold_s=3.0, readable=True)
BLIND = ExercisePace(positions=POSITIONS, hold_s=3.0, readable=False)
STEPS_S = (0.5, 1.0, 2.5, GAP_S, GAP_S + 0.5)
ELSEWHERE = "2"

Key = tuple[str, int, float, float]
Act = tuple[str, float, str | None]


@dataclass
class Explored:
    """What can be reached, where it leads, and what was wrong on the way."""

    states: dict[Key, Exercising] = field(default_factory=dict)
    edges: dict[Key, set[Key]] = field(default_factory=dict)
    transitions: int = 0
    faults: list[str] = field(default_factory=list)


def key(at: Exercising) -> Key:
    """What tells one state from another: not how late it is, but since when."""
    if at.position is None:
        return (at.stage.value, len(at.held_s), 0.0, 0.0)
    seen = at.now_s - at.seen_s if at.stage is Stage.HOLDING else 0.0
    return (at.stage.value, len(at.held_s), at.now_s - at.since_s, seen)


def acts(at: Exercising) -> Iterator[Act]:
    """Everything that can happen next."""
    readings = dict.fromkeys((at.position, ELSEWHERE, None))
    for step in STEPS_S:
        for reading in readings:
            yield ("look", step, reading)
    yield ("look", -0.5, at.position)
    yield ("look", float("nan"), at.position)
    yield ("broke", 0.5, None)
    yield ("confirmed", 0.5, None)


def act(at: Exercising, done: Act) -> Exercising:
    """One of them done."""
    name, step, reading = done
    if name == "look":
        return look(at, at.now_s + step, reading)
    return (broke if name == "broke" else confirmed)(at, at.now_s + step)


def explore(pace: ExercisePace) -> Explored:
    """Go everywhere the exercise can go."""
    found = Explored()
    todo = [begin(pace, 100.0)]
    found.states[key(todo[0])] = todo[0]
    while todo:
        at = todo.pop()
        here = found.edges.setdefault(key(at), set())
        for done in acts(at):
            then = act(at, done)
            found.transitions += 1
            found.faults += [f"{key(at)} {done}: {f}" for f in faults(at, done, then)]
            here.add(key(then))
            if key(then) not in found.states:
                found.states[key(then)] = then
                todo.append(then)
    return found


def faults(at: Exercising, done: Act, then: Exercising) -> Iterator[str]:
    """What is wrong with one transition."""
    name, step, reading = done
    grew = len(then.held_s) - len(at.held_s)
    broken = then.broken_holds - at.broken_holds
    ended = then.stage is not at.stage and then.stage
    wanted = {
        Cue.HOLD_DONE: grew == 1,
        Cue.FINISHED: ended is Stage.FINISHED,
        Cue.BROKEN: ended is Stage.BROKEN or broken == 1,
        Cue.MOVE: then.stage is Stage.MOVING and at.stage is Stage.HOLDING,
    }
    if {c for c, due in wanted.items() if due} != set(then.cues):
        yield f"cues {then.cues}"
    if at.stage in OVER and then.stage is not at.stage:
        yield "left an end"
    if name == "broke" and at.stage not in OVER and then.stage is not Stage.BROKEN:
        yield "not broken"
    if name == "look" and at.position and not 0 <= step <= GAP_S and not ended:
        yield "went on over a gap"
    yield from _hold_faults(at, then, step, reading)
    if ended is Stage.FINISHED and then.holds_left:
        yield "finished early"
    if ended is Stage.FINISHED and (name == "confirmed") == at.pace.readable:
        yield "finished by the wrong word"


def _hold_faults(
    at: Exercising, then: Exercising, step: float, reading: str | None
) -> Iterator[str]:
    grew = len(then.held_s) - len(at.held_s)
    if grew and (then.held_s[-1] < at.pace.hold_s or at.stage is not Stage.HOLDING):
        yield "a hold too short"
    if grew not in (0, 1):
        yield "more than one hold"
    begun = at.stage is Stage.MOVING and then.stage is Stage.HOLDING
    if at.pace.readable and (grew or begun) and reading != at.position:
        yield "a hold without its reading"
    if not at.pace.readable and begun and at.now_s + step - at.since_s < MOVE_S:
        yield "no time to move"
    held = at.stage is Stage.HOLDING and then.stage is Stage.HOLDING
    if at.pace.readable and held and reading == ELSEWHERE:
        yield "a hold elsewhere"


def dead_ends(found: Explored) -> list[Key]:
    """States under way from which the exercise can no longer be finished."""
    ends = {k for k in found.states if k[0] == Stage.FINISHED}
    grown = True
    while grown:
        more = {k for k, then in found.edges.items() if k not in ends and then & ends}
        grown, ends = bool(more), ends | more
    return [k for k in found.states if k not in ends and k[0] != Stage.BROKEN]


Log = Sequence[tuple[float, str | None]]


def replayed(log: Log, pace: ExercisePace) -> list[float]:
    """Return the lengths of all holds that count, by the rule's words alone.

    A hold is a run of looks from one that reads the position to another, at least
    ``hold_s`` apart, none of them elsewhere, and never longer than BLIND_S between
    two that read it.
    """
    held: list[float] = []
    after = 0
    while len(held) < len(pace.positions):
        found = _next_hold(log, after, pace.positions[len(held)], pace.hold_s)
        if found is None:
            return held
        first, last = found
        held.append(log[last][0] - log[first][0])
        after = last + 1
    return held


def _next_hold(
    log: Log, after: int, position: str, hold_s: float
) -> tuple[int, int] | None:
    first = last = None
    for i in range(after, len(log)):
        t_s, reading = log[i]
        lost = last is not None and t_s - log[last][0] > BLIND_S
        elsewhere = reading is not None and reading != position
        if first is not None and (lost or elsewhere):
            first = last = None  # this look ends the run; it begins no new one
        elif reading == position:
            first, last = (i if first is None else first), i
            if t_s - log[first][0] >= hold_s:
                return first, i
    return None


def drive(rng: random.Random, pace: ExercisePace) -> tuple[Log, Exercising]:
    """One random exercise with a clumsy person and a lossy reading."""
    t_s, at = 10.0, begin(pace, 10.0)
    log: list[tuple[float, str | None]] = []
    lever = "P"
    for _ in range(rng.randint(20, 250)):
        t_s += rng.choice((0.25, 0.25, 0.5, 1.0))
        if rng.random() < 0.25:
            lever = at.position or lever
        if rng.random() < 0.02:
            lever = rng.choice(POSITIONS)
        reading = None if rng.random() < 0.15 else lever
        log.append((t_s, reading))
        at = look(at, t_s, reading)
        if at.stage in OVER:
            break
    return log, at


def differences(seed: int, cases: int) -> tuple[int, int, int]:
    """Random exercises against ``replayed``: differing, finished, holds in all."""
    rng = random.Random(seed)
    differing = finished = holds = 0
    for _ in range(cases):
        log, at = drive(rng, READ)
        if at.stage is Stage.BROKEN:
            continue  # nobody moved the lever for PATIENCE_S; no holds to compare
        differing += list(at.held_s) != replayed(log, READ)
        finished += at.stage is Stage.FINISHED
        holds += len(at.held_s)
    return differing, finished, holds
