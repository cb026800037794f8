"""Thermometer mode on the recorded curves: forecast and gate, measured as ever.

The curves (tests/data/README.md) are sampled every 60 to 90 s with normal noise of
2 degC, as an infrared thermometer in a hurried hand; the questions and marks are those
of `make show-forecast`, the gate's those of `make show-curves`.
"""

from __future__ import annotations

import random
from collections import deque
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from bridge.level.thermometer import Thermometer
from bridge.session.session import advance, apply
from bridge.session.session_state import begin
from bridge.sheets import load
from bridge.thermal import estimator
from bridge.values.conditions import Verdict
from bridge.values.events import LinkChange, Marked, Measured
from bridge.values.events import Mark as EventMark
from bridge.values.readings import LinkState
from bridge.values.sheet import Confirmation
from simulators.car.curve import read_trace
from tests.show.parts.forecast.peers import STEPS, Ours, _first
from tests.show.parts.forecast.plants import READ_S, Curve
from tests.show.parts.forecast.score import (
    Mark,
    play,
    read_curve,
    real_questions,
    simulated_questions,
)

NOISE_SD_C = 2.0
ACCURACY_C = 4.0
"""Two standard deviations: what the person would be told to enter."""
SHEET = load("weir-trace-bench")


class OursByHand(Ours):
    """The same estimator, told what the thermometer is good for."""

    name = "sumpgate, thermometer"

    def __init__(self) -> None:
        self.track = estimator.begin(
            estimator.Sensor(sd_c=Thermometer(accuracy_c=ACCURACY_C).noise_sd_c)
        )


class LineByHand:
    """Least squares through the last five readings."""

    name = "straight line, thermometer"

    def __init__(self) -> None:
        self._kept: deque[tuple[float, float]] = deque(maxlen=5)

    def observe(self, t_s: float, temp_c: float) -> None:
        self._kept.append((t_s, temp_c))

    def ask(self, question):
        t, z = np.array(self._kept).T
        slope, level = (
            np.polyfit(t - question.at_s, z, 1) if len(t) > 1 else (0.0, z[-1])
        )
        mean = level + slope * STEPS
        rest = z - (level + slope * (t - question.at_s))
        spread = float(np.sqrt((rest**2).sum() / max(len(t) - 2, 1))) + 1e-3
        sd = np.full_like(mean, spread)
        up = question.low_c > level if question.kind != "exit" else slope >= 0
        if question.kind == "exit":
            edge = question.high_c if up else question.low_c
        else:
            edge = question.low_c if up else question.high_c
        return _first(mean, sd, edge, up=up)


def idling(job: tuple[Curve, int]) -> dict[str, list[Mark]]:
    """Put the questions of one simulated curve to thermometer and line."""
    curve, seed = job
    true = replace(curve, t_s=np.arange(float(READ_S)), temp_c=curve.true_c[:READ_S])
    hand = sampled(true, seed)
    asked = [q for q in simulated_questions(curve, seed) if q.at_s >= hand.t_s[2]]
    asked = [q for q in asked if q.at_s < hand.t_s[-1]]
    return {
        "thermometer": play(OursByHand(), hand, asked, 0.0)[0],
        "line": play(LineByHand(), hand, asked, 0.0)[0],
    }


def sampled(curve: Curve, seed: int) -> Curve:
    """Return a curve as a person with a thermometer would read it."""
    chance = random.Random(f"{seed} {curve.name}")
    times, temps = [], []
    t_s = float(curve.t_s[0]) + chance.uniform(0, 30)
    while t_s <= curve.t_s[-1]:
        true_c = float(np.interp(t_s, curve.t_s, curve.temp_c))
        times.append(t_s)
        temps.append(round(true_c + chance.gauss(0.0, NOISE_SD_C), 1))
        t_s += chance.uniform(60, 90)
    return replace(curve, t_s=np.array(times), temp_c=np.array(temps))


def forecasts(job: tuple[Path, int]) -> dict[str, list[Mark]]:
    """Put the questions of one curve to everybody."""
    path, seed = job
    curve = read_curve(path)
    hand = sampled(curve, seed)
    # Three readings are the least a forecast can rest on, by hand or not.
    asked = [q for q in real_questions(curve, 24) if q.at_s >= hand.t_s[2]]
    asked = [q for q in asked if q.at_s < hand.t_s[-1]]
    return {
        "automatic": play(Ours(), curve, asked, 0.0)[0],
        "thermometer": play(OursByHand(), hand, asked, 0.0)[0],
        "line": play(LineByHand(), hand, asked, 0.0)[0],
    }


@dataclass(slots=True)
class Gated:
    """What the gate did on one curve."""

    curve: str
    go_s: float = 0.0
    outside_s: float = 0.0
    """GO while the curve itself was outside the window."""
    worst_c: float = 0.0
    inside_s: float = 0.0


def gate(job: tuple[Path, int]) -> Gated:
    """Run one curve through the session, the readings typed in by hand."""
    path, seed = job
    rows = read_trace(path)
    hand = sampled(read_curve(path), seed)
    session = begin(
        SHEET, interval_s=0.2, thermometer=Thermometer(accuracy_c=ACCURACY_C)
    )
    session = apply(session, LinkChange(state=LinkState.LIVE, t_s=0.0))
    readings = list(zip(hand.t_s.tolist(), hand.temp_c.tolist(), strict=True))
    done = Gated(curve=path.stem)
    low, high = SHEET.window.low_c, SHEET.window.high_c
    t_s, worded_s = 0.0, -1e9
    while t_s <= rows.length_s:
        while readings and readings[0][0] <= t_s:
            at_s, temp_c = readings.pop(0)
            typed = Measured(temp_c=temp_c, accuracy_c=ACCURACY_C, t_s=at_s)
            session = apply(session, typed)
        if t_s - worded_s > 600.0:
            worded_s = t_s
            for what in Confirmation:
                told = Marked(mark=EventMark.CONFIRMED, confirms=what, t_s=t_s)
                session = apply(session, told)
        session, seen = advance(session, now_s=t_s)
        true_c = rows.value("temp_c", t_s) or 0.0
        inside = low <= true_c <= high
        done.inside_s += inside
        if seen.verdict is Verdict.GO:
            done.go_s += 1.0
            done.outside_s += not inside
            done.worst_c = max(done.worst_c, low - true_c, true_c - high)
        t_s += 1.0
    return done
