"""`make show-find`: the search, the thermometer, the confirmation, in figures.

Search: random gearbox units (simulators/car/hidden.py) over the whole simulated wire;
ranking by the tool as shipped, no thermometer readings. SEED=n takes other cars, other
noise and other tries, QUICK=1 fewer and narrower. The ranking's weights were set on
seeds 1000 to 3099 of the same generator; shown are others.
"""

from __future__ import annotations

import os
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
for _threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
    os.environ.setdefault(_threads, "1")

from bridge.search.search_plan import DEFAULT_RANGES  # noqa: E402
from tests.show.forecast import figures  # noqa: E402
from tests.show.parts.find import hand as find_hand  # noqa: E402 - the paths come first
from tests.show.parts.find import swapped as find_swapped  # noqa: E402
from tests.show.parts.find import wire as find_wire  # noqa: E402
from tests.show.parts.forecast import plants  # noqa: E402
from tests.show.parts.forecast.asking import data_folder  # noqa: E402
from tests.show.parts.show_run import ShowRun  # noqa: E402

TRIES = 50
QUICK_SPANS = "21:01-FF 22:1000-1FFF"


def searches(pool: Any, told: ShowRun) -> None:
    """Search the random units."""
    count, spans = told.size((12, QUICK_SPANS), (24, DEFAULT_RANGES))
    jobs = [(100_000 * told.seed + n, spans) for n in range(count)]
    hunts = list(pool.map(find_wire.hunt, jobs))
    print(f"Search of {count} random gearbox units, {spans}, 15 min of warm-up")
    print(f"{'seed':>8}{'answer':>8}{'place':>7}{'claimed':>9}{'search':>9}  first")
    for h in hunts:
        print(
            f"{h.seed:8}{h.identifiers:8}{h.place or '-':>7}{h.chance:9.2f}"
            f"{h.search_s:8.0f}s  {h.first}"
        )
    told.tell("units", count)
    told.tell("ranked_first", sum(h.place == 1 for h in hunts), least=11 * count / 12)
    told.tell("ranked_in_three", sum(1 <= h.place <= 3 for h in hunts), want=count)
    told.tell("claimed", sum(h.chance for h in hunts) / count)
    told.tell("requests", sum(len(h.sent.requests) for h in hunts))
    told.tell("forbidden", sum(len(h.sent.forbidden) for h in hunts), want=0)
    fastest = max(h.sent.most_per_s for h in hunts)
    told.tell("most_per_s", fastest, most=find_wire.PACE)


def curves() -> list[Path]:
    """The even warm-ups, as `make show-forecast` holds them back."""
    folder = data_folder("warmup")
    return sorted(folder.glob("*.csv")) if folder else []


ASKED_AT = (("entry", 60), ("entry", 120), ("entry", 300), ("exit", 60), ("exit", 120))
Table = dict[str, dict[str, dict[str, float]]]


def table(told: list[dict[str, list[Any]]], title: str) -> Table:
    """Print and return the figures of everybody at every distance."""
    print(f"\n{title}")
    print(
        "  median/90th percentile of the error (s), interval holds; shown, of it holds"
    )
    rows: Table = {}
    for name in told[0]:
        cells = []
        rows[name] = {}
        for kind, ahead in ASKED_AT:
            marks = [m for t in told for m in t[name] if m.question.kind == kind
                     and m.question.ahead_s == ahead]  # fmt: skip
            f = rows[name][f"{kind} {ahead}"] = figures(marks)
            cells.append(
                f"{kind} {ahead}: {f['median_s']:.0f}/{f['p90_s']:.0f} "
                f"{100 * f['coverage']:.0f}%; {100 * f['shown']:.0f}% "
                f"{100 * f['shown_coverage']:.0f}%"
            )
        print(f"  {name:12}" + "   ".join(cells))
    return rows


def by_hand(pool: Any, told: ShowRun) -> None:
    """Judge thermometer mode, on the real curves and on simulated idling ones."""
    paths = curves()[1 :: told.size(4, 2)]
    real = list(pool.map(find_hand.forecasts, [(p, told.seed) for p in paths]))
    print("\nThermometer every 60 to 90 s, noise 2 degC sd")
    driven = table(real, f"{len(paths)} real driven curves")
    count = told.size(6, 20)
    simulated = [
        (curve, told.seed)
        for family in ("gearbox", "slow idle")
        for curve in plants.curves(family, count, told.seed)
    ]
    hands = list(pool.map(find_hand.idling, simulated))
    idling = table(hands, f"the same, {len(simulated)} simulated idling gearboxes")
    told.figures["thermometer"] = {"driven": driven, "idling": idling}
    for where, rows in (("idling", idling), ("driven", driven)):
        hand, line = rows["thermometer"]["entry 60"], rows["line"]["entry 60"]
        ratio = hand["p90_s"] / max(line["p90_s"], 1e-9)
        told.tell(f"{where}_entry_60_p90_of_the_line's", ratio, most=1.1)
    for kind in ("entry 60", "exit 60"):
        coverage = idling["thermometer"][kind]["coverage"]
        told.tell(f"idling_{kind.replace(' ', '_')}_coverage", coverage, least=0.85)


def gate(pool: Any, told: ShowRun) -> None:
    """Judge the gate: GO only while the curve itself is inside."""
    paths = curves()[:: told.size(6, 1)]
    done = list(pool.map(find_hand.gate, [(p, told.seed) for p in paths]))
    go_s, outside_s = sum(g.go_s for g in done), sum(g.outside_s for g in done)
    print("\nThe gate, by thermometer, on real curves")
    told.tell("gate_curves", len(done))
    told.tell("gate_curves_with_go", sum(g.go_s > 0 for g in done), least=1)
    told.tell("gate_inside_s", sum(g.inside_s for g in done))
    told.tell("gate_go_s", go_s)
    told.tell("gate_outside_s", outside_s)
    told.tell("gate_outside_share", outside_s / go_s if go_s else 0.0, most=0.05)
    told.tell("gate_worst_c", max((g.worst_c for g in done), default=0.0))


def swapped(pool: Any, told: ShowRun) -> None:
    """Offer the coolant for the fluid."""
    first = 100_000 * told.seed + 50_000
    tries = list(pool.map(find_swapped.attempt, range(first, first + TRIES)))
    print("\nCoolant offered as the fluid, and the fluid itself")
    told.tell("tries", TRIES)
    told.tell("coolant_confirmed", sum(t.coolant_accepted for t in tries), want=0)
    fluid = sum(t.fluid_accepted for t in tries)
    told.tell("fluid_confirmed", fluid, least=0.9 * TRIES)
    told.tell("thermometer_readings", sum(t.readings for t in tries))


def main() -> int:
    """Show everything; 1 if a figure misses its mark."""
    told = ShowRun("find")
    with ProcessPoolExecutor() as pool:
        for show in (searches, by_hand, gate, swapped):
            show(pool, told)
    return told.end()


if __name__ == "__main__":
    sys.exit(main())
