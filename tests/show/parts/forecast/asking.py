"""The curves of `make show-forecast`, and every forecaster's answers on them.

One run of the bank a curve serves the questions of when and those of staying.
"""

from __future__ import annotations

import itertools
import statistics
import sys
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from tests.show.parts.forecast import peers, plants, score
from tests.show.parts.forecast import told as tell
from tests.show.parts.forecast.score import Mark, Question

ROOT = Path(__file__).resolve().parents[4]
QUICK_COUNT, COUNT = 40, 100
"""Curves of a family: a band of eight points needs an error of one, a bin two."""
ONE_WATCHED_OF = 5
"""One of so many is watched tick by tick, and asked with ambient told."""
QUICK_RIVALS = ("StraightLine", "Ours")
SIMULATED = ("gearbox", "slow idle", "coolant idle", "cooling")
RIVALS = (*(p.__name__ for p in peers.PEERS), "Ours", "OursInformed")
Case = tuple[plants.Curve, list[Question]]
Marks = dict[tuple[str, str], list[Mark]]


def data_folder(kind: str) -> Path | None:
    """The shared curves beside the repository, else the copies in the tests."""
    for folder in (ROOT.parent / "shared" / "data", ROOT / "tests" / "data"):
        if (folder / kind).is_dir():
            return folder / kind
    return None


def real_cases(kind: str, family: str, keep: Callable[[int], bool]) -> list[Case]:
    folder = data_folder(kind)
    files = sorted(folder.glob("*.csv")) if folder else []
    cases = []
    for number, path in enumerate(files, start=1):
        if keep(number):
            curve = replace(score.read_curve(path), family=family)
            cases.append((curve, score.real_questions(curve, 24)))
    return cases


def all_cases(seeds: list[int], count: int) -> list[Case]:
    cases: list[Case] = []
    for seed, family in itertools.product(seeds, SIMULATED):
        drawn = plants.curves(family, count, seed)
        cases += [(curve, score.simulated_questions(curve, seed)) for curve in drawn]
    cases += real_cases("warmup", "driving", lambda n: n % 2 == 1)
    return cases + real_cases("cooling", "real cooling", lambda _: True)


def few(cases: list[Case]) -> list[Case]:
    """Return one of ONE_WATCHED_OF simulated curves, of each family as many."""
    return [c for c in cases if len(c[0].true_c)][::ONE_WATCHED_OF]


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One forecaster's answers on one curve."""

    name: str
    family: str
    marks: list[Mark]
    spent: list[float]
    stays: tell.Stays | None


def judge(job: tuple[Case, str]) -> Judged:
    """Put a curve's questions; to ours those of staying in the same run."""
    (curve, questions), name = job
    kind = getattr(peers, name)
    who = kind(curve) if name == "OursInformed" else kind()
    staying, also = None, []
    if name == "Ours" and curve.family in (*SIMULATED, "driving"):
        staying = tell.Staying(curve)
        also = [
            (at_s, partial(_ask_staying, staying, who, at_s))
            for at_s in staying.moments_s
        ]
    marks, spent = score.play(who, curve, questions, 0.0, also)
    return Judged(
        name=name,
        family=curve.family,
        marks=marks,
        spent=spent,
        stays=staying.answers() if staying else None,
    )


def _ask_staying(staying: tell.Staying, who: peers.Ours, at_s: float) -> None:
    staying.ask(who.track, at_s)


def collect(
    cases: list[Case], *, quick: bool = False
) -> tuple[Marks, dict[str, float], list[tell.Stays]]:
    """Put every question to every forecaster, in a short run to two."""
    jobs = [
        (case, name)
        for case in cases
        for name in (QUICK_RIVALS if quick else RIVALS)
        if name != "OursInformed"
    ]
    if not quick:
        jobs += [(case, "OursInformed") for case in few(cases)]
    marks: Marks = {}
    spent: dict[str, list[float]] = {}
    stays = []
    with ProcessPoolExecutor(2) as pool:
        for number, one in enumerate(pool.map(judge, jobs, chunksize=4), start=1):
            if number % 100 == 0:
                print(f"{number} of {len(jobs)} runs", file=sys.stderr, flush=True)
            marks.setdefault((one.name, one.family), []).extend(one.marks)
            spent.setdefault(one.name, []).append(statistics.median(one.spent or [0.0]))
            stays += [one.stays] if one.stays else []
    costs = {name: statistics.median(took) for name, took in spent.items()}
    return marks, costs, stays
