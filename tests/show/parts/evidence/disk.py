"""A disk that is full, for real: a little one in memory, or a limit on file size."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from tests.show.parts.show_run import ShowRun

_WATCH = r"""
import sys, time
sys.path[:0] = {paths!r}
from pathlib import Path
from tests.show.parts.evidence.job import job, run_job
from bridge.jobfile.recorder import start
if {limit}:
    import resource
    resource.setrlimit(resource.RLIMIT_FSIZE, ({limit}, {limit}))
notes, seen = [], []
began = time.monotonic()
recorder = start(Path({path!r}), job(), lambda s: notes.append((time.monotonic(), s)))
run_job(recorder, for_s=400.0, speed=60.0, tick=lambda s: seen.append(s.t_s))
recorder.close()
print(len(seen), seen[-1], len(notes), notes[0][1] if notes else "")
"""


def full_disk(folder: Path, told: ShowRun) -> None:
    """Let the disk fill up while recording; the view must go on, and be told."""
    paths = [str(Path(__file__).resolve().parents[4])]
    little = folder / "little"
    little.mkdir()
    path = str(little / "a.job")
    code = _WATCH.format(paths=paths, limit=0, path=path)
    mount = f'mount -t tmpfs -o size=300k t {little} && exec {sys.executable} -c "$1"'
    done = _run(["unshare", "-m", "sh", "-c", mount, "sh", code])
    kind = "a disk of 300 kB"
    if done is None or done.returncode:
        kind = "a limit of 200 kB on a file's size"
        done = _run(
            [sys.executable, "-c", _WATCH.format(paths=paths, limit=200_000, path=path)]
        )
    words = (done.stdout if done else "").split(None, 3)
    print(f"Full disk ({kind})")
    if done is None or done.returncode or len(words) < 4:
        why = done.stderr[-300:] if done else "no child"
        told.misses.append(f"the view ended: {why}")
        return
    looks, last_s, notes, sentence = words
    told.tell("full_disk_decisions", int(looks))
    told.tell("full_disk_last_decision_s", float(last_s), least=399.0)
    told.tell("full_disk_sentences", int(notes))
    print(f"   {sentence.strip()}")
    if "cannot be written" not in sentence:
        told.misses.append(f"full disk: said {sentence!r}")


def _run(command: list[str]) -> subprocess.CompletedProcess[str] | None:
    try:
        return subprocess.run(
            command, capture_output=True, text=True, timeout=120, env=dict(os.environ)
        )
    except (OSError, subprocess.TimeoutExpired):
        return None
