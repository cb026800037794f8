"""The figures of the level-setting step: states, jobs, drips.

Run it from the repository's root: python tests/show/gate.py. SEED=N for other random
cases, QUICK=1 for a short run. The last line is JSON; exit 1 if a figure misses.
"""

from __future__ import annotations

import json
import os
import sys
import time
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

SEED = int(os.environ.get("SEED", "1"))
QUICK = os.environ.get("QUICK", "") not in ("", "0")
JOBS, TRAINS, PULSES, NTH_STATE = (54, 72, 24, 24) if QUICK else (2100, 420, 150, 1)
CLEARLY_SHORT = 0.8
"""A passage of less than this share of what is needed: a nearer one is a toss, since
nobody knows the settling to a fifth."""
CLOSED_INSIDE, CLAIM_OFF, WITHIN_FIFTH, PULSE_CALLED = 0.97, 0.03, 0.90, 0.97

Figures = dict[str, float | int | str | None]
Misses = list[str]


def share(flags: Sequence[bool]) -> float:
    """Share of true ones; nan of nothing."""
    return float(np.mean(flags)) if len(flags) else float("nan")


def part(number: int) -> list[int]:
    """The states are looked at in two halves, one a core."""
    found = gate_states.explore()
    keys = list(found.states)[:: max(1, NTH_STATE)][number::2]
    some = gate_states.Explored(states={k: found.states[k] for k in keys}, edges={})
    checked = gate_states.check_all(some)
    for fault in checked.faults[:5]:
        print("   fault:", fault, file=sys.stderr)
    return [checked.states, checked.views, checked.looks, len(checked.faults)]


def show_states(pool: Pool) -> tuple[Figures, Misses]:
    """Explore the machine and look at every view from every state."""
    found = gate_states.explore()
    ends, stuck = gate_states.dead_ends(found), gate_states.stuck(found)
    halves = pool.map(part, [0, 1])
    looks, faults = sum(h[2] for h in halves), sum(h[3] for h in halves)
    print("The step's states")
    print(f"   states reached {len(found.states)}, views of the car {halves[0][1]}")
    print(f"   looks {looks:,}: GO in doubt or otherwise wrong {faults}")
    print(f"   dead ends {len(ends)}, states no look or mark leaves {len(stuck)}")
    misses = [
        f"{name}: {count}"
        for name, count in (
            ("wrong", faults),
            ("ends", len(ends)),
            ("stuck", len(stuck)),
        )
        if count
    ]
    figures: Figures = {
        "states": len(found.states),
        "looks": looks,
        "wrong_looks": faults,
        "dead_ends": len(ends),
        "stuck": len(stuck),
    }
    return figures, misses


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


def show_jobs(pool: Pool) -> tuple[Figures, Misses]:
    """Run whole jobs and compare the methods."""
    seeds = [(SEED, i) for i in range(JOBS)]
    results = pool.map(gate_jobs.run_job, seeds, chunksize=5)
    print("\nWhole jobs (closed: inside at closing; inside: from opening to closing;")
    print(
        "   good: closed inside and settled; stayed: inside until settled and closed)"
    )
    print(HEAD)
    figures: Figures = {}
    for name, pick in METHODS.items():
        for key, value in row(name, results, pick).items():
            figures[f"{name.replace(' ', '_')}_{key}"] = value
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
    return figures | _chances(results), _judge_jobs(figures)


def _chances(results: Sequence[gate_jobs.Result]) -> Figures:
    """What the gate let pass: chances that who knew everything would have taken."""
    reached = [(r.margin, r.ours) for r in results if r.margin is not None]
    possible = [o for margin, o in reached if margin >= 1.0]
    hopeless = [o for margin, o in reached if margin < 1.0]
    clearly = [o for margin, o in reached if margin < CLEARLY_SHORT]
    taken = share([o.opened_s is not None for o in possible])
    refused = share([o.opened_s is None for o in hopeless])
    warned = share([o.said_too_short for o in hopeless])
    plainly = share([o.said_too_short for o in clearly])
    wrongly = share([o.said_too_short for o in possible])
    marked = [r.ours for r in results if r.ours.opened_s and not r.ours.timer_only]
    timed = [r.ours for r in results if r.ours.opened_s and r.ours.timer_only]
    late = [np.percentile([d.left_ml for d in ds], 95) for ds in (marked, timed) if ds]
    print(f"   long enough for who knows all: {len(possible)}, opened {taken:.3f}")
    print(
        f"   too short for anyone: {len(hopeless)}, not opened {refused:.3f}, "
        f"said before it opened {warned:.3f} ({plainly:.3f} of the {len(clearly)} a "
        f"fifth too short; of those long enough {wrongly:.3f})"
    )
    print(f"   never inside: {len(results) - len(reached)}")
    print(
        "   left inside by closing before settled, mL, 95 % at most: "
        + " ".join(f"{v:.1f}" for v in late)
        + " (with marks, timer only)"
    )
    return {
        "possible": len(possible),
        "taken": taken,
        "refused": refused,
        "warned": warned,
        "warned_plainly": plainly,
        "warned_wrongly": wrongly,
    }


def _judge_jobs(figures: Figures) -> Misses:
    misses = []
    inside = float(figures["this_gate_closed_inside"] or 0)
    claimed = float(figures["this_gate_claimed"] or 0)
    if not inside >= CLOSED_INSIDE:
        misses.append(f"closed inside {inside:.3f} < {CLOSED_INSIDE}")
    for name in ("closed_inside", "stayed"):
        off = abs(float(figures[f"this_gate_{name}"] or 0) - claimed)
        if not off <= CLAIM_OFF:
            misses.append(f"{name} is {off:.3f} off the claim, over {CLAIM_OFF}")
    return misses


def show_drips(pool: Pool) -> tuple[Figures, Misses]:
    """Call the settling of drip trains, and of pulses that are no surplus."""
    seeds = [(SEED, i) for i in range(TRAINS)]
    trains = pool.map(gate_drips.judge_train, seeds, chunksize=4)
    only = pool.map(gate_drips.judge_pulses, seeds[:PULSES], chunksize=4)
    print("\nSettling called over true settling (marks missed, doubled, late)")
    print(f"   {'':22}{'trains':>7}{'in 20 %':>9}{'p5':>7}{'p50':>7}{'p95':>7}")
    figures: Figures = {}
    for name, some in (
        ("all", trains),
        ("exponential", [t for t in trains if t.kind == "exponential"]),
        ("hyperbolic", [t for t in trains if t.kind == "hyperbolic"]),
        ("with pulses", [t for t in trains if t.pulses]),
    ):
        ratios = np.array([t.ratio for t in some])
        within = share(list(abs(ratios - 1.0) <= 0.2))
        figures[f"within_fifth_{name.replace(' ', '_')}"] = within
        low, middle, high = np.percentile(ratios, [5, 50, 95])
        print(
            f"   {name:22}{len(some):7}{within:9.3f}{low:7.2f}{middle:7.2f}{high:7.2f}"
        )
    with_pulses = [t for t in trains if t.pulses]
    shift = float(np.median([t.ratio - t.plain_ratio for t in with_pulses]))
    called = share([not p.late for p in only])
    more = float(np.percentile([p.more_ml for p in only], 95))
    print(f"   pulses shift the call by {shift:+.3f} of the settle time (median)")
    print(
        f"   level right, pulses only: {len(only)}, called in time {called:.3f}, "
        f"said to come still at most {more:.2f} mL (95 %)"
    )
    figures |= {"pulse_shift": shift, "pulses_called": called, "pulses_more_ml": more}
    # a short run has too few trains to judge each kind by itself
    judged = ["all"] if QUICK else ["all", "exponential", "hyperbolic", "with_pulses"]
    misses = [
        f"{key}: {figures[key]:.3f} < {WITHIN_FIFTH}"
        for key in (f"within_fifth_{name}" for name in judged)
        if not float(figures[key] or 0) >= WITHIN_FIFTH
    ]
    if not called >= PULSE_CALLED:
        misses.append(f"pulses taken for surplus: called {called:.3f}")
    if not more <= 1.0:
        misses.append(f"pulses said to be surplus: {more:.2f} mL")
    return figures, misses


def main() -> int:
    """Show everything; 1 if a figure misses."""
    start = time.monotonic()
    figures: Figures = {"show": "gate", "seed": SEED, "quick": int(QUICK)}
    misses: Misses = []
    with Pool(2) as pool:
        for show in (show_states, show_jobs, show_drips):
            found, missed = show(pool)
            figures |= found
            misses += missed
    for miss in misses:
        print("MISS", miss)
    figures |= {"seconds": round(time.monotonic() - start, 1), "misses": len(misses)}
    print(json.dumps({k: _round(v) for k, v in figures.items()}))
    return 1 if misses else 0


def _round(value: float | str | None) -> float | int | str | None:
    return round(value, 4) if isinstance(value, float) else value


if __name__ == "__main__":
    sys.exit(main())
