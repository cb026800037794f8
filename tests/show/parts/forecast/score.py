"""Questions put to every estimator, and the marks for its answers.

A question is: at this moment, with the readings so far, when does the fluid enter
(leave) this window? It is asked 30, 60, 120 and 300 s before it truly does, and
where it never does within the hour.
"""

from __future__ import annotations

import csv
import math
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Protocol

import numpy as np

from tests.show.parts.forecast.plants import Array, Curve

HORIZONS = (30, 60, 120, 300)
BLIND_S = 60.0
"""No question in the first minute of readings."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    at_s: float
    kind: str
    """entry, exit or never"""
    low_c: float
    high_c: float
    ahead_s: float | None
    """The true answer; None: never."""
    since_change_s: float = math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    p05_s: float | None
    p50_s: float | None
    p95_s: float | None
    told: bool = True
    """Whether a person would see it."""


class Predictor(Protocol):
    def observe(self, t_s: float, temp_c: float) -> None: ...

    def ask(self, question: Question) -> Answer: ...


def crossing_s(true_c: Array, level: float, *, up: bool) -> float | None:
    """First time the truth reaches a level it started short of, in seconds."""
    beyond = true_c >= level if up else true_c <= level
    first = int(np.argmax(beyond))
    if not beyond[first] or first == 0:
        return None
    before, after = true_c[first - 1], true_c[first]
    return first - 1 + (level - before) / (after - before)


def _around(curve: Curve, at_s: float) -> float:
    past = [at_s - c for c in curve.changes_s if c <= at_s]
    return min(past, default=math.inf)


def simulated_questions(curve: Curve, seed: int) -> list[Question]:
    """Six levels the curve reaches, and two it does not within the hour."""
    rng = np.random.default_rng([seed, *curve.name.encode()])
    true_c = curve.true_c
    last = curve.t_s[-1]
    seen = true_c[90 : int(last)]
    up = curve.family != "cooling"
    out: list[Question] = []
    for level in rng.uniform(seen.min(), seen.max(), 6):
        level = float(level)
        crossing = crossing_s(true_c, level, up=up)
        if crossing is not None:
            out += list(before(curve, level, crossing, last, up=up))
    return out + _nevers(curve, rng, up=up)


def before(
    curve: Curve, level: float, crossing: float, last: float, *, up: bool
) -> Iterator[Question]:
    first = float(curve.t_s[0]) + BLIND_S
    for horizon in HORIZONS:
        at = crossing - horizon
        if not first <= at <= last:
            continue
        ahead = (level, level + 10.0) if up else (level - 10.0, level)
        behind = (level - 10.0, level) if up else (level, level + 10.0)
        for kind, (low, high) in (("entry", ahead), ("exit", behind)):
            if kind == "exit" and horizon not in (60, 120):
                continue
            yield Question(
                at_s=at,
                kind=kind,
                low_c=low,
                high_c=high,
                ahead_s=float(horizon),
                since_change_s=_around(curve, at),
            )


def _nevers(curve: Curve, rng: np.random.Generator, *, up: bool) -> list[Question]:
    """Levels beyond anything the next hour brings."""
    out = []
    for at in rng.uniform(200, min(curve.t_s[-1], 3500), 2):
        future = curve.true_c[int(at) : int(at) + 3600]
        beyond = rng.uniform(1, 10)
        level = float(future.max() + beyond if up else future.min() - beyond)
        low, high = (level, level + 10) if up else (level - 10, level)
        out.append(
            Question(
                at_s=float(at),
                kind="never",
                low_c=low,
                high_c=high,
                ahead_s=None,
                since_change_s=_around(curve, float(at)),
            )
        )
    return out


def read_curve(path: Path) -> Curve:
    """Read a shared curve; its truth are the changes of its rounded code."""
    with path.open() as file:
        rows = [(float(r["time_s"]), float(r["temp_c"])) for r in csv.DictReader(file)]
    t_s, temp_c = np.array(rows).T
    fine = np.any(np.abs(temp_c - np.round(temp_c)) > 1e-6)
    return Curve(
        name=path.stem,
        family="real",
        t_s=t_s,
        temp_c=temp_c,
        true_c=np.array([]),
        resolution_c=0.1 if fine else 1.0,
    )


def steady(codes_c: Array) -> Array:
    """Return the codes without single flickers: medians of three."""
    out = codes_c.copy()
    out[1:-1] = np.median([codes_c[:-2], codes_c[1:-1], codes_c[2:]], axis=0)
    return out


def real_questions(curve: Curve, count: int = 12) -> list[Question]:
    """Levels half-way between two codes: there the code says when it crossed."""
    t_s, z = curve.t_s, curve.temp_c
    up = z[-1] > z[0]
    span = np.arange(math.ceil(z.min()), math.floor(z.max())) + 0.5
    out: list[Question] = []
    for level in span[:: max(1, len(span) // count)]:
        crossing = _real_crossing(t_s, steady(z), float(level), up=up)
        if crossing is not None:
            out += list(before(curve, float(level), crossing, t_s[-1], up=up))
    return out


def _real_crossing(t_s: Array, z: Array, level: float, *, up: bool) -> float | None:
    beyond = z > level if up else z < level
    first = int(np.argmax(beyond))
    if not beyond[first] or first == 0:
        return None
    # dense readings: the change of code; sparse ones: a parabola through some ten
    if t_s[first] - t_s[first - 1] < 5.0:
        return float(t_s[first])
    near = slice(max(first - 5, 0), first + 5)
    start = float(t_s[first - 1])
    x, y = t_s[near] - start, z[near]
    fine = np.linspace(-90.0, 150.0, 2401)
    smooth = np.polyval(np.polyfit(x, y, 2), fine)
    after = smooth >= level if up else smooth <= level
    return start + float(fine[int(np.argmax(after))]) if after.any() else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    question: Question
    answer: Answer
    curve: str = ""

    @property
    def error_s(self) -> float:
        """Of the median; infinite where it says never."""
        if self.answer.p50_s is None or self.question.ahead_s is None:
            return math.inf
        return abs(self.answer.p50_s - self.question.ahead_s)

    @property
    def holds(self) -> bool:
        """Whether the 90 % interval holds the truth; an open end holds."""
        truth, late = self.question.ahead_s, self.answer.p95_s
        early = math.inf if self.answer.p05_s is None else self.answer.p05_s
        if truth is None:
            return late is None
        return early <= truth + 1e-9 and (late is None or truth <= late + 1e-9)

    @property
    def early_holds(self) -> bool:
        """Whether it does not come before the early end; where none is told, it may."""
        truth, early = self.question.ahead_s, self.answer.p05_s
        return truth is None or (early is not None and early <= truth + 1e-9)

    @property
    def width_s(self) -> float:
        early, late = self.answer.p05_s, self.answer.p95_s
        return math.inf if early is None or late is None else late - early


def play(
    predictor: Predictor,
    curve: Curve,
    questions: Iterable[Question],
    thin_s: float,
    also: Iterable[tuple[float, Callable[[], None]]] = (),
) -> tuple[list[Mark], list[float]]:
    """Feed a curve and ask; returns marks and the seconds each update took.

    ``also``: moments, and what else is to be done then; so one run of a bank
    serves several tables.
    """
    marks: list[Mark] = []

    def put(question: Question) -> None:
        answer = predictor.ask(question)
        marks.append(Mark(question=question, answer=answer, curve=curve.name))

    asks = [(q.at_s, partial(put, q)) for q in questions]
    waiting = deque(sorted((*asks, *also), key=lambda moment: moment[0]))
    spent: list[float] = []
    last = -math.inf
    for t_s, temp_c in zip(curve.t_s.tolist(), curve.temp_c.tolist(), strict=True):
        while waiting and waiting[0][0] < t_s:
            waiting.popleft()[1]()
        if not waiting:
            break
        if t_s - last < thin_s:
            continue
        last = t_s
        started = time.perf_counter()
        predictor.observe(t_s, temp_c)
        spent.append(time.perf_counter() - started)
    return marks, spent


def quantile(values: list[float], level: float) -> float:
    ordered = sorted(values)
    return ordered[min(int(level * len(ordered)), len(ordered) - 1)] if ordered else 0.0


def share(flags: list[bool]) -> float:
    return sum(flags) / len(flags) if flags else 0.0


def ratio_error(ours: list[Mark], line: list[Mark]) -> float:
    """Standard error of the ratio of two medians: curves drawn again and again."""
    errors: dict[str, tuple[list[float], list[float]]] = {}
    for which, marks in enumerate((ours, line)):
        for mark in marks:
            errors.setdefault(mark.curve, ([], []))[which].append(mark.error_s)
    pairs, rng, ratios = list(errors.values()), np.random.default_rng(0), []
    for _ in range(200):
        drawn = [pairs[i] for i in rng.integers(0, len(pairs), len(pairs))]
        own, other = (quantile([e for p in drawn for e in p[k]], 0.5) for k in (0, 1))
        ratios.append(own / other if other > 0.0 else math.inf)
    return float(np.std([r for r in ratios if math.isfinite(r)]))


def between_curves(marks: list[Mark]) -> float:
    """Standard error of the coverage, curves being what was drawn at random."""
    curves: dict[str, list[bool]] = {}
    for mark in marks:
        curves.setdefault(mark.curve, []).append(mark.holds)
    if len(curves) < 2:
        return 0.5
    mean, n = share([m.holds for m in marks]), len(marks)
    off = [sum(flags) - mean * len(flags) for flags in curves.values()]
    return float(sum(o * o for o in off) ** 0.5 / n)
