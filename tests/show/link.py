"""`make show-link`: what the link does under every fault, and how fast it polls.

Sections: every fault by name; random faults by seed; silence, unplugging and the
first reading; polling against the wire's own limit, and against peers in real time;
an hour of faults at speed; Ctrl-C in every state. SEED=N, QUICK=1.
"""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.show.parts.link.faults import every_fault, faults_from_the_start, random_runs
from tests.show.parts.link.life import first_moments, interrupts, long_run
from tests.show.parts.link.speed import against_peers, against_the_wire


def main() -> int:
    """Print the tables and the JSON line; 1 if a figure misses its mark."""
    seed = int(os.environ.get("SEED", "1"))
    quick = os.environ.get("QUICK", "") not in ("", "0")
    figures: dict[str, object] = {"seed": seed, "quick": quick}
    misses: list[str] = []
    for section in (
        lambda: every_fault(misses, quick=quick),
        lambda: faults_from_the_start(misses, quick=quick),
        lambda: random_runs(misses, seed=seed, runs=24 if quick else 2000),
        lambda: first_moments(misses, tries=3 if quick else 20),
        lambda: against_the_wire(misses, for_s=5.0 if quick else 30.0),
        lambda: against_peers(misses, for_s=1.5 if quick else 8.0),
        lambda: long_run(misses, seed=seed, for_s=120.0 if quick else 3600.0),
        lambda: interrupts(misses, quick=quick),
    ):
        figures.update(section())
        print(flush=True)
    figures["misses"] = misses
    print(json.dumps(figures))
    return 1 if misses else 0


if __name__ == "__main__":
    sys.exit(main())
