"""`make show-link`: what the link does under every fault, and how fast it polls.

Sections: every fault by name; random faults by seed; silence, unplugging and the
first reading; polling against the wire's own limit, and against peers in real time;
an hour of faults at speed; Ctrl-C in every state. SEED=N, QUICK=1.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.show.parts.link.faults import every_fault, faults_from_the_start, random_runs
from tests.show.parts.link.life import first_moments, interrupts, long_run
from tests.show.parts.link.speed import against_peers, against_the_wire
from tests.show.parts.show_run import ShowRun


def main() -> int:
    """Show everything; 1 if a figure misses its mark."""
    told = ShowRun("link")
    for show in (
        every_fault,
        faults_from_the_start,
        random_runs,
        first_moments,
        against_the_wire,
        against_peers,
        long_run,
        interrupts,
    ):
        show(told)
        print(flush=True)
    return told.end()


if __name__ == "__main__":
    sys.exit(main())
