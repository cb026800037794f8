"""`make show-evidence`: that a job's record survives, and that a change shows.

Sections: killed recorders; a service killed and taken up; tampering; hostile jobs; a
full disk; a day-long trace and its report; every kind of job replayed to the same
decisions. SEED=N, QUICK=1.
"""

from __future__ import annotations

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
from tests.show.parts.show_run import ShowRun

SCENES = ("cold-start", "warm-day", "hot", "deep-cold")


def replayed(folder: Path, told: ShowRun) -> None:
    """Record jobs with and without faults, with a person; replay each one."""
    runs, for_s = told.size((2, 30.0), (24, 240.0))
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
            seed=told.seed + i,
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
        told.misses += [f"{path.name}: {d}" for d in again.differences]
        if check(path).state is not FileState.INTACT:
            told.misses.append(f"{path.name} is {check(path).sentence}")
        print(f"  {path.name:16} {again.sentence}")
    told.tell("replayed_jobs", len(paths))
    told.tell("replayed_events", events)
    told.tell("replayed_decisions", looks)
    told.tell("replayed_changes", changes)
    told.tell("replayed_differences", differences, want=0)


def main() -> int:
    """Show everything; 1 if a figure misses its mark."""
    told = ShowRun("evidence")
    with tempfile.TemporaryDirectory(prefix="evidence-") as name:
        for show in (
            killed,
            taken_up_after_kills,
            tampered,
            hostile,
            lambda _, told: pages(told),
            full_disk,
            day,
            replayed,
        ):
            show(Path(name), told)
            print(flush=True)
    return told.end()


if __name__ == "__main__":
    sys.exit(main())
