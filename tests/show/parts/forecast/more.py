"""More tables for the forecast: PART=cooling, changes, inputs, repeats or day.

SEED and COUNT (curves a family) may be given. Nothing here decides the exit code: the
figures asked for are judged by the main table.
"""

from __future__ import annotations

import os
import resource
import time
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np

from bridge.thermal import estimator, forecast
from bridge.thermal.lesson import lesson
from bridge.thermal.prior import Prior
from bridge.thermal.surroundings import surroundings
from bridge.values.sheet import Window
from tests.show.parts.forecast import cool, peers, plants, score
from tests.show.parts.forecast.plants import Curve
from tests.show.parts.forecast.score import (
    Mark,
    Question,
    between_curves,
    quantile,
    share,
)

Case = tuple[Curve, list[Question]]
Job = tuple[str, Case, str]


class Informed(peers.Ours):
    """Ours, told some of what a live car tells beside the fluid's temperature."""

    def __init__(self, curve: Curve, told: str) -> None:
        self.curve, self.told, self.asked_s = curve, told, -10.0
        super().__init__()

    def observe(self, t_s: float, temp_c: float) -> None:
        if t_s - self.asked_s >= 5.0:
            self.asked_s = t_s
            self.track = self._surrounded(t_s)
        super().observe(t_s, temp_c)

    def _surrounded(self, t_s: float) -> estimator.Track:
        second = int(t_s)
        rpm = self.curve.rpm
        knows = {"ambient": "ambient" in self.told, "coolant": "coolant" in self.told}
        coolant = self.curve.coolant_c
        return surroundings(
            self.track,
            t_s=t_s,
            ambient_c=self.curve.ambient_c if knows["ambient"] else None,
            coolant_c=round(float(coolant[second]))
            if knows["coolant"] and coolant is not None
            else None,
            engine_rpm=None
            if "engine" not in self.told
            else 0.0
            if rpm is None
            else float(rpm[second]),
        )


def _play(job: Job) -> tuple[str, str, list[Mark]]:
    title, (curve, questions), name = job
    kind = getattr(peers, name, None)
    who = Informed(curve, name) if kind is None else kind()
    return title, name, score.play(who, curve, questions, 0.0)[0]


def played(jobs: Iterable[Job]) -> dict[tuple[str, str], list[Mark]]:
    marks: dict[tuple[str, str], list[Mark]] = {}
    with ProcessPoolExecutor(2) as pool:
        for title, name, some in pool.map(_play, jobs, chunksize=2):
            marks.setdefault((title, name), []).extend(some)
    return marks


def line_of(marks: list[Mark]) -> str:
    """Error, coverage with its standard error between curves, width, what is shown."""
    if not marks:
        return "no question"
    errors, shown = [m.error_s for m in marks], [m for m in marks if m.answer.told]
    return (
        f"{quantile(errors, 0.5):6.1f}/{quantile(errors, 0.9):5.0f} s  "
        f"holds {share([m.holds for m in marks]):.3f}+-{between_curves(marks):.3f}  "
        f"width {quantile([m.width_s for m in marks], 0.5):5.0f}  shown "
        f"{len(shown) / len(marks):.2f}, of that holds "
        f"{share([m.holds for m in shown]):.3f}+-{between_curves(shown):.3f}  "
        f"n {len(marks)}"
    )


def entries(marks: list[Mark], ahead_s: float) -> list[Mark]:
    return [
        m for m in marks if m.question.kind == "entry" and m.question.ahead_s == ahead_s
    ]


def cooling(seed: int, count: int, mug: Path | None) -> None:
    """Table of the coolings, ours against the straight line."""
    cases = cool.simulated(seed, 3 * count)
    if mug is not None:
        cases = cool.mug_cases(mug) + cases
        line, parabola, exponential = cool.floor_s(mug)
        print(
            f"mug as read, 60 s ahead: line through three readings {line:.1f} s; "
            f"best parabola or cubic {parabola:.1f} s, "
            f"best exponential {exponential:.1f} s, windows chosen after the fact"
        )
    jobs = [(c[0].family, c, name) for c in cases for name in ("Ours", "StraightLine")]
    marks = played(jobs)
    for title in dict.fromkeys(c[0].family for c in cases):
        for ahead_s in (60.0, 120.0):
            ours = entries(marks[title, "Ours"], ahead_s)
            line_ = entries(marks[title, "StraightLine"], ahead_s)
            if not ours:
                continue
            one, two = (quantile([m.error_s for m in x], 0.5) for x in (ours, line_))
            print(
                f"{title:32s}{ahead_s:4.0f}: {line_of(ours)}  "
                f"line {two:5.1f} s, ratio {one / two:.2f}"
            )


def change_cases(seed: int, count: int) -> list[Case]:
    """Every curve with a change of heating, asked 20 to 300 s after it."""
    rng, cases = np.random.default_rng(seed), []
    for family in plants.FAMILIES:
        for curve in plants.curves(family, count, seed, changing=1.0):
            changed = curve.changes_s[0]
            asked = [
                q
                for since in rng.uniform(20, 300, 4).tolist()
                for q in _after(curve, changed + since, since)
            ]
            cases.append((curve, asked))
    return cases


def _after(curve: Curve, at_s: float, since_s: float) -> list[Question]:
    up, out = curve.family != "cooling", []
    for ahead in (60.0, 120.0):
        second = np.arange(len(curve.true_c))
        level = float(np.interp(at_s + ahead, second, curve.true_c))
        truth = score.crossing_s(curve.true_c, level, up=up)
        late = not curve.t_s[0] + 60 <= at_s <= curve.t_s[-1]
        if late or truth is None or abs(truth - at_s - ahead) > 1.0:
            continue  # not read any more, or it went back and forth
        low = level if up else level - 10.0
        out.append(
            Question(
                at_s=at_s,
                kind="entry",
                low_c=low,
                high_c=low + 10.0,
                ahead_s=ahead,
                since_change_s=since_s,
            )
        )
    return out


def changes(seed: int, count: int) -> None:
    """Table of what is told after a change nobody announced."""
    cases = change_cases(seed, count)
    names = ("Ours", "StraightLine", "Holt")
    marks = played([("all", case, name) for case in cases for name in names])
    for ahead_s in (60.0, 120.0):
        for first, last in ((20, 60), (60, 120), (120, 300), (20, 300)):
            for name in names:
                some = [
                    m
                    for m in entries(marks["all", name], ahead_s)
                    if first <= m.question.since_change_s < last
                ]
                what = f"{ahead_s:.0f} ahead, {first}..{last} s after"
                print(f"{what:30s}{getattr(peers, name).name:26s}{line_of(some)}")


def inputs(seed: int, count: int) -> None:
    """Table of what each input is worth, on the family that has it."""
    told = ("Ours", "engine", "engine ambient", "engine coolant",
            "engine ambient coolant")  # fmt: skip
    cases = [
        (curve, score.simulated_questions(curve, seed))
        for curve in plants.curves("gearbox", count, seed)
    ]
    marks = played([("gearbox", case, name) for case in cases for name in told])
    for name in told:
        own = marks["gearbox", name]
        nevers = [m for m in own if m.question.kind == "never"]
        print(f"{name}: finite where never {share([not m.holds for m in nevers]):.3f}")
        for ahead_s in (30.0, 60.0, 120.0, 300.0):
            print(f"  {ahead_s:4.0f}: {line_of(entries(own, ahead_s))}")


def _repeat(job: tuple[int, int]) -> list[tuple[int, list[Mark], list[Mark]]]:
    """One car serviced several times: with what it taught, and without."""
    seed, times = job
    prior: Prior | None = None
    out = []
    for number, curve in enumerate(plants.repeats(seed, times)):
        asked = [q for q in score.simulated_questions(curve, seed) if q.at_s < 900.0]
        with_, without = peers.Ours(), peers.Ours()
        with_.track = estimator.begin(estimator.Sensor(), prior=prior)
        one = score.play(with_, curve, asked, 0.0)[0]
        two = score.play(without, curve, asked, 0.0)[0]
        out.append((number, one, two))
        for t_s, temp_c in zip(curve.t_s.tolist(), curve.temp_c.tolist(), strict=True):
            if t_s > with_.track.bank_t_s:
                with_.observe(t_s, temp_c)
        prior = lesson(with_.track)
    return out


def repeats(seed: int, count: int) -> None:
    """Table of what earlier jobs on the same car are worth, in its first 15 minutes."""
    jobs = [(1000 * seed + car, 3) for car in range(count)]
    gained: dict[tuple[str, bool], list[Mark]] = {}
    with ProcessPoolExecutor(2) as pool:
        for one in pool.map(_repeat, jobs):
            for number, with_, without in one:
                job = "first job" if number == 0 else "later jobs"
                gained.setdefault((job, True), []).extend(with_)
                gained.setdefault((job, False), []).extend(without)
    for (job, taught), marks in gained.items():
        for ahead_s in (60.0, 120.0, 300.0):
            what = f"{job}, {'with' if taught else 'without'} lessons, {ahead_s:.0f}"
            print(f"{what:38s}{line_of(entries(marks, ahead_s))}")


def day(readings: int = 432_000) -> None:
    """A whole day at 5 readings a second, a forecast after each, end to end."""
    track, window = estimator.begin(estimator.Sensor()), Window(low_c=35, high_c=45)
    rng, sizes = np.random.default_rng(1), []
    started, busy = time.perf_counter(), time.process_time()
    for n in range(readings):
        t_s = n / 5
        # warmed and cooled once an hour, the way a workshop's day goes
        true_c = 60.0 - 35.0 * np.cos(2 * np.pi * t_s / 3600) + 0.05 * rng.normal()
        track = estimator.observe(track, t_s=t_s, temp_c=float(round(true_c)))
        forecast.forecast(track, window, now_s=t_s)
        if (n + 1) % (readings // 8) == 0:
            sizes.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
    took, used = time.perf_counter() - started, time.process_time() - busy
    print(
        f"{readings} readings, each with a forecast: {readings / 5 / took:.0f} times "
        f"life by the clock ({took:.0f} s), {readings / 5 / used:.0f} by processor time"
    )
    shown = ", ".join(f"{size:.1f}" for size in sizes)
    print(f"largest memory so far, MB, after each eighth: {shown}")


def run(part: str, seed: int, mug: Path | None) -> int:
    """Print one part; 2 for an unknown one."""
    count = int(os.environ.get("COUNT", "20"))
    parts: dict[str, Callable[[], None]] = {
        "cooling": lambda: cooling(seed, count, mug),
        "changes": lambda: changes(seed, count),
        "inputs": lambda: inputs(seed, count),
        "repeats": lambda: repeats(seed, count),
        "day": day,
    }
    if part not in parts:
        print(f"PART={part} is none of {', '.join(parts)}: name one of them")
        return 2
    parts[part]()
    return 0
