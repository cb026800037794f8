"""The figures of the level-setting step: states, jobs, drips.

Run it from the repository's root: python tests/show/gate.py. SEED=N for other random
cases, QUICK=1 for a short run. The last line is JSON; exit 1 if a figure misses.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from multiprocessing import Pool
from pathlib import Path

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")
_ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(_ROOT))

import numpy as np  # noqa: E402

from tests.show.parts.gate import drips as gate_drips  # noqa: E402
from tests.show.parts.gate import jobs as gate_jobs  # noqa: E402
from tests.show.parts.gate import states as gate_states  # noqa: E402
from tests.show.parts.gate import world as gate_world  # noqa: E402
from tests.show.parts.show_run import ShowRun  # noqa: E402

CLEARLY_SHORT = 0.8
"""A passage of less than this share of what is needed: a nearer one is a toss, since
nobody knows the settling to a fifth."""
CLOSED_INSIDE, CLAIM_OFF, WITHIN_FIFTH, PULSE_CALLED = 0.97, 0.03, 0.90, 0.97

Figures = dict[str, float | int | str | None]


def share(flags: Sequence[bool]) -> float:
    """Share of true ones; nan of nothing."""
    return float(np.mean(flags)) if len(flags) else float("nan")


def part(which: tuple[int, int]) -> list[int]:
    """The states, or every nth of them, are looked at in two halves, one a core."""
    number, nth = which
    found = gate_states.explore()
    keys = list(found.states)[::nth][number::2]
    some = gate_states.Explored(states={k: found.states[k] for k in keys}, edges={})
    checked = gate_states.check_all(some)
    for fault in checked.faults[:5]:
        print("   fault:", fault, file=sys.stderr)
    return [checked.states, checked.views, checked.looks, len(checked.faults)]


def show_states(pool: Pool, told: ShowRun) -> None:
    """Explore the machine and look at every view from every state."""
    found = gate_states.explore()
    halves = pool.map(part, [(0, told.size(24, 1)), (1, told.size(24, 1))])
    print("The step's states, and looks at every view of the car from each")
    told.tell("states", len(found.states))
    told.tell("views", halves[0][1])
    told.tell("looks", sum(h[2] for h in halves))
    told.tell("wrong_looks", sum(h[3] for h in halves), want=0)
    told.tell("dead_ends", len(gate_states.dead_ends(found)), want=0)
    told.tell("stuck", len(gate_states.stuck(found)), want=0)


Pick = Callable[[gate_jobs.Result], gate_jobs.Done]
METHODS: dict[str, Pick] = {
    "this gate": lambda r: r.ours,
    "as soon as inside": lambda r: r.at_once,
    "two-minute timer": lambda r: r.timer,
}


def row(name: str, results: Sequence[gate_jobs.Result], pick: Pick) -> Figures:
    """Print and return how one method fared on some jobs."""
    done = [pick(r) for r in results]
    opened = [d for d in done if d.opened_s is not None]
    if not opened:
        print(f"   {name:26}{len(done):6}{0:8}")
        return {"jobs": len(done), "opened": 0}
    good = [d.closed_inside and d.settled for d in opened]
    claims = [d.claimed for d in opened if d.claimed is not None]
    figures: Figures = {
        "jobs": len(done),
        "opened": len(opened),
        "closed_inside": share([d.closed_inside for d in opened]),
        "inside_throughout": share([d.inside for d in opened]),
        "settled": share([d.settled for d in opened]),
        "good": share(good),
        "good_of_all": sum(good) / len(done),
        "stayed": share([d.stays for d in opened]),
        "claimed": float(np.mean(claims)) if claims else None,
        "error_ml_p95": float(
            np.percentile([abs(d.error_ml or 0) for d in opened], 95)
        ),
    }
    claimed = figures["claimed"]
    print(
        f"   {name:26}{len(done):6}{len(opened):8}"
        f"{figures['closed_inside']:9.3f}{figures['inside_throughout']:9.3f}"
        f"{figures['settled']:9.3f}{figures['good']:8.3f}{figures['good_of_all']:8.3f}"
        f"{figures['stayed']:9.3f}"
        + (f"{claimed:9.3f}" if claimed is not None else "        -")
    )
    return figures


HEAD = (
    f"   {'':26}{'jobs':>6}{'opened':>8}{'closed':>9}{'inside':>9}{'settled':>9}"
    f"{'good':>8}{'of all':>8}{'stayed':>9}{'claimed':>9}"
)


def show_jobs(pool: Pool, told: ShowRun) -> None:
    """Run whole jobs and compare the methods."""
    seeds = [(told.seed, i) for i in range(told.size(54, 2100))]
    results = pool.map(gate_jobs.run_job, seeds, chunksize=5)
    print("\nWhole jobs (closed: inside at closing; inside: from opening to closing;")
    print(
        "   good: closed inside and settled; stayed: inside until settled and closed)"
    )
    print(HEAD)
    for name, pick in METHODS.items():
        for key, value in row(name, results, pick).items():
            told.figures[f"{name.replace(' ', '_')}_{key}"] = value
    ours = METHODS["this gate"]
    for climate in gate_world.AMBIENTS:
        row(f"  {climate}", [r for r in results if r.climate == climate], ours)
    for low, high in ((4, 7), (7, 10), (10, 14), (14, 20.1)):
        some = [r for r in results if low <= r.width_c < high]
        row(f"  {low} to {high:.0f} °C wide", some, ours)
    row("  engine off, cooling", [r for r in results if r.cooling], ours)
    narrow = [r for r in results if r.width_c < 8.0]
    for name, pick in METHODS.items():
        row(f"  < 8 °C, {name}", narrow, pick)
    unsure = [r for r in results if (r.ours.claimed or 1.0) < 0.97]
    row("  claimed below 0.97", unsure, ours)
    _chances(results, told)
    inside, claimed, stayed = (
        float(told.figures[f"this_gate_{name}"] or 0)
        for name in ("closed_inside", "claimed", "stayed")
    )
    told.tell("closed_inside", inside, least=CLOSED_INSIDE)
    told.tell("closed_inside_off_the_claim", abs(inside - claimed), most=CLAIM_OFF)
    told.tell("stayed_off_the_claim", abs(stayed - claimed), most=CLAIM_OFF)


def _chances(results: Sequence[gate_jobs.Result], told: ShowRun) -> None:
    """What the gate let pass: chances that who knew everything would have taken."""
    reached = [(r.margin, r.ours) for r in results if r.margin is not None]
    possible = [o for margin, o in reached if margin >= 1.0]
    hopeless = [o for margin, o in reached if margin < 1.0]
    clearly = [o for margin, o in reached if margin < CLEARLY_SHORT]
    print("\nLong enough for who knows all, and taken; too short for anyone, refused,")
    print(
        "and warned before it opened (plainly: a fifth too short; wrongly: of one long"
    )
    print("enough); left inside by closing before settled")
    told.tell("never_inside", len(results) - len(reached))
    told.tell("possible", len(possible))
    told.tell("taken", share([o.opened_s is not None for o in possible]))
    told.tell("hopeless", len(hopeless))
    told.tell("refused", share([o.opened_s is None for o in hopeless]))
    told.tell("warned", share([o.said_too_short for o in hopeless]))
    told.tell("plainly_short", len(clearly))
    told.tell("warned_plainly", share([o.said_too_short for o in clearly]))
    told.tell("warned_wrongly", share([o.said_too_short for o in possible]))
    for name, timed in (("marked", False), ("timer_only", True)):
        left_ml = [
            r.ours.left_ml
            for r in results
            if r.ours.opened_s and r.ours.timer_only is timed
        ]
        if left_ml:
            told.tell(f"left_ml_p95_{name}", float(np.percentile(left_ml, 95)))


def show_drips(pool: Pool, told: ShowRun) -> None:
    """Call the settling of drip trains, and of pulses that are no surplus."""
    seeds = [(told.seed, i) for i in range(told.size(72, 420))]
    trains = pool.map(gate_drips.judge_train, seeds, chunksize=4)
    only = pool.map(gate_drips.judge_pulses, seeds[: told.size(24, 150)], chunksize=4)
    print("\nSettling called over true settling (marks missed, doubled, late)")
    print(f"   {'':22}{'trains':>7}{'p5':>7}{'p50':>7}{'p95':>7}")
    for name, some in (
        ("all", trains),
        ("exponential", [t for t in trains if t.kind == "exponential"]),
        ("hyperbolic", [t for t in trains if t.kind == "hyperbolic"]),
        ("with_pulses", [t for t in trains if t.pulses]),
    ):
        ratios = np.array([t.ratio for t in some])
        low, middle, high = np.percentile(ratios, [5, 50, 95])
        print(f"   {name:22}{len(some):7}{low:7.2f}{middle:7.2f}{high:7.2f}")
        # a short run has too few trains to judge each kind by itself
        least = WITHIN_FIFTH if name == "all" or not told.quick else None
        within = share(list(abs(ratios - 1.0) <= 0.2))
        told.tell(f"within_fifth_{name}", within, least=least)
    shifts = [t.ratio - t.plain_ratio for t in trains if t.pulses]
    told.tell("pulse_shift", float(np.median(shifts)))
    told.tell("pulses_called", share([not p.late for p in only]), least=PULSE_CALLED)
    more_ml = float(np.percentile([p.more_ml for p in only], 95))
    told.tell("pulses_more_ml", more_ml, most=1.0)


def main() -> int:
    """Show everything; 1 if a figure misses."""
    told = ShowRun("gate")
    with Pool(2) as pool:
        for show in (show_states, show_jobs, show_drips):
            show(pool, told)
    return told.end()


if __name__ == "__main__":
    sys.exit(main())
