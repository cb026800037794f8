"""Real and simulated cooling seen in several ways, and the floor no one gets below.

`PART=cooling make show-forecast`. The mug's readings (one a minute, 0.1 degC) are
judged as read; rounded to 0.5 and 1 degC, as cars give temperatures; and drawn
through a smooth curve, read every 1, 5 and 20 s with 0.02 degC of noise, at the
same three steps. Simulated: Newton's law, two exponentials, and losses that grow
faster than the difference (free convection, evaporation).
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from tests.show.parts.forecast.plants import Curve
from tests.show.parts.forecast.score import (
    Question,
    before,
    crossing_s,
    read_curve,
    real_questions,
)

STEPS_C = (0.1, 0.5, 1.0)
PERIODS_S = (1, 5, 20)
LEVELS_C = np.arange(27.37, 97.0, 2.0)
NEAR = 9
Case = tuple[Curve, list[Question]]


def smoothed(t_s: np.ndarray, temp_c: np.ndarray) -> np.ndarray:
    """Each second's value of a parabola through the nine readings around it."""
    out = np.empty(int(t_s[-1]) + 1)
    for second in range(len(out)):
        first = int(np.clip(np.searchsorted(t_s, second) - 4, 0, len(t_s) - NEAR))
        near = slice(first, first + NEAR)
        out[second] = np.polyfit(t_s[near] - second, temp_c[near], 2)[-1]
    return np.minimum.accumulate(out)


def rounded(temp_c: np.ndarray, step_c: float) -> np.ndarray:
    return np.round(np.round(temp_c / step_c) * step_c, 6)


def questions(curve: Curve, levels_c: np.ndarray) -> list[Question]:
    """Entries and exits of windows below these levels, by the curve's truth."""
    out: list[Question] = []
    for level in levels_c.tolist():
        crossing = crossing_s(curve.true_c, level, up=False)
        if crossing is not None:
            out += before(curve, level, crossing, float(curve.t_s[-1]), up=False)
    return out


def mug_cases(path: Path) -> list[Case]:
    read = replace(read_curve(path), family="as read")
    truth = smoothed(read.t_s, read.temp_c)
    cases: list[Case] = [(read, real_questions(read, 24))]
    rng = np.random.default_rng(1)
    for period in (60, *PERIODS_S):
        at = np.arange(0, len(truth), period)
        felt = truth[at] + 0.02 * rng.standard_normal(len(at))
        for step in STEPS_C:
            own = period == 60
            curve = replace(
                read,
                name=f"mug {period}/{step}",
                family=f"{'as read' if own else f'every {period} s'}, {step:g} degC",
                t_s=read.t_s if own else at.astype(float),
                temp_c=rounded(read.temp_c if own else felt, step),
                true_c=truth,
            )
            cases.append((curve, questions(curve, LEVELS_C)))
    return cases


def _shape(rng: np.random.Generator, second: np.ndarray, kind: str) -> np.ndarray:
    """What is left of the difference to ambient, from 1 falling to 0."""
    tau = float(np.exp(rng.uniform(np.log(600), np.log(8000))))
    slow = np.exp(-second / tau)
    if kind == "free convection":
        power = rng.uniform(0.1, 0.5)
        return (1 + power * second / tau) ** (-1 / power)
    if kind == "two nodes":
        share, quick = rng.uniform(0.05, 0.35), rng.uniform(30, 250)
        return (1 - share) * slow + share * np.exp(-second / quick)
    return slow


def simulated(seed: int, count: int) -> list[Case]:
    rng, cases = np.random.default_rng(seed), []
    second = np.arange(0.0, 9000.0)
    for number in range(count):
        kind = ("Newton", "two nodes", "free convection")[number % 3]
        ambient = rng.uniform(10, 30)
        true_c = ambient + rng.uniform(20, 75) * _shape(rng, second, kind)
        step = float(rng.choice([1.0, 1.0, 0.5, 0.1, 1 / 16]))
        at = np.arange(0, 7200, int(rng.choice([1, 1, 2, 5, 10, 30])))
        noise = rng.choice([0.01, 0.03, 0.08]) * rng.standard_normal(len(at))
        curve = Curve(
            name=f"{kind} {seed}/{number}",
            family=f"{kind}, {'0.5 or 1' if step >= 0.5 else '0.1 or 1/16'} degC",
            t_s=at.astype(float),
            temp_c=np.round((true_c[at] + noise) / step) * step,
            true_c=true_c,
            resolution_c=step,
        )
        levels = rng.uniform(true_c[6900], true_c[120], 6)
        cases.append((curve, questions(curve, levels)))
    return cases


def floor_s(path: Path) -> tuple[float, float, float]:
    """Return the straight line's median error 60 s ahead of the mug as read, and the
    smallest a sliding parabola or cubic, and a sliding exponential, can reach with the
    number of readings chosen after the fact.
    """
    curve = read_curve(path)
    asked = [
        q for q in real_questions(curve, 24) if q.kind == "entry" and q.ahead_s == 60.0
    ]
    counts = (3, 4, 5, 6, 8, 10, 12, 15, 20, 30, 40)
    line = _median_miss(curve, asked, 3, "1")
    polynomial = min(
        _median_miss(curve, asked, n, degree)
        for degree in ("2", "3")
        for n in counts
        if n > int(degree) + 1
    )
    exponential = min(_median_miss(curve, asked, n, "e") for n in counts if n > 4)
    return line, polynomial, exponential


def _median_miss(curve: Curve, asked: list[Question], count: int, kind: str) -> float:
    return float(np.median([_miss(curve, q, count, kind) for q in asked]))


def _miss(curve: Curve, question: Question, count: int, kind: str) -> float:
    past = np.flatnonzero(curve.t_s < question.at_s)[-count:]
    x, y = curve.t_s[past] - question.at_s, curve.temp_c[past]
    ahead = np.arange(0.0, 600.0, 0.5)
    if kind == "e":
        told = _exponential(x, y, ahead)
    elif len(x) <= int(kind):
        return 600.0
    else:
        told = np.polyval(np.polyfit(x, y, int(kind)), ahead)
    below = told <= question.high_c
    return abs(float(ahead[np.argmax(below)]) - 60.0) if below.any() else 600.0


def _exponential(x: np.ndarray, y: np.ndarray, ahead: np.ndarray) -> np.ndarray:
    best, loss = np.full(len(ahead), np.nan), np.inf
    for rate in np.geomspace(1 / 20_000, 1 / 300, 60):
        basis = np.stack([np.ones_like(x), np.exp(-rate * x)], axis=1)
        theta = np.linalg.lstsq(basis, y, rcond=None)[0]
        rest = y - basis @ theta
        if rest @ rest < loss:
            loss = float(rest @ rest)
            best = theta[0] + theta[1] * np.exp(-rate * ahead)
    return best
