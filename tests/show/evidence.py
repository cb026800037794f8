"""`make show-evidence`: that a job's record survives, and that a change shows.

Sections: killed recorders; a service killed and taken up; tampering; hostile jobs; a
full disk; a day-long trace and its report; every kind of job replayed to the same
decisions. SEED=N, QUICK=1.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from bridge.jobfile.file.check import FileState, check
from bridge.jobfile.recorder import start
from bridge.jobfile.rerun import rerun
from bridge.sheets import parse_sheet
from tests.show.parts.evidence.day import day
from tests.show.parts.evidence.disk import full_disk
from tests.show.parts.evidence.hostile import hostile
from tests.show.parts.evidence.job import Person, complain, job, run_job, whole_job
from tests.show.parts.evidence.kill import killed
from tests.show.parts.evidence.pages import pages
from tests.show.parts.evidence.taken_up import taken_up_after_kills
from tests.show.parts.evidence.tamper import tampered

SCENES = ("cold-start", "warm-day", "hot", "deep-cold")


def replayed(
    folder: Path, misses: list[str], *, seed: int, runs: int, for_s: float
) -> dict[str, object]:
    """Record jobs with and without faults, with a person; replay each one."""
    print("Replayed: job, events, decisions, changes, differences")
    paths = [folder / "whole.job"]
    whole_job(paths[0], for_s=900.0)
    for i in range(runs):
        path = folder / f"replay-{i}.job"
        recorder = start(path, job(), complain)
        every_s = None if i % 3 == 0 else 6.0
        person = Person() if i % 2 else None
        run_job(
            recorder,
            scene=SCENES[i % len(SCENES)],
            for_s=for_s,
            seed=seed + i,
            faults_every_s=every_s,
            person=person,
        )
        assert recorder.close()
        paths.append(path)
    events = looks = changes = differences = 0
    for path in paths:
        again = rerun(path, parse_sheet)
        events, looks = events + again.events, looks + again.looks
        changes += len(again.changes)
        differences += len(again.differences)
        misses += [f"{path.name}: {d}" for d in again.differences]
        if check(path).state is not FileState.INTACT:
            misses.append(f"{path.name} is {check(path).sentence}")
        print(f"  {path.name:16} {again.sentence}")
    return {
        "replayed_jobs": len(paths),
        "replayed_events": events,
        "replayed_decisions": looks,
        "replayed_changes": changes,
        "replayed_differences": differences,
    }


def main() -> int:
    """Print the tables and the JSON line; 1 if a figure misses its mark."""
    seed = int(os.environ.get("SEED", "1"))
    quick = os.environ.get("QUICK", "") not in ("", "0")
    figures: dict[str, object] = {"seed": seed, "quick": quick}
    misses: list[str] = []
    with tempfile.TemporaryDirectory(prefix="evidence-") as name:
        folder = Path(name)
        for section in (
            lambda: killed(folder, misses, seed=seed, runs=6 if quick else 300),
            lambda: taken_up_after_kills(
                folder, misses, seed=seed, runs=3 if quick else 100
            ),
            lambda: tampered(folder, misses, seed=seed, runs=66 if quick else 550),
            lambda: hostile(folder, misses, seed=seed, runs=24 if quick else 500),
            lambda: pages(misses, seed=seed, runs=50 if quick else 1000),
            lambda: full_disk(folder, misses),
            lambda: day(folder, misses, hours=1.0 if quick else 24.0),
            lambda: replayed(
                folder,
                misses,
                seed=seed,
                runs=2 if quick else 24,
                for_s=30.0 if quick else 240.0,
            ),
        ):
            figures.update(section())
            print(flush=True)
    figures["misses"] = misses
    print(json.dumps(figures))
    return 1 if misses else 0


if __name__ == "__main__":
    sys.exit(main())
