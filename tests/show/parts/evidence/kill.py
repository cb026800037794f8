"""Recorders killed at any moment: what is left, what was lost, does it go on?"""

from __future__ import annotations

import contextlib
import os
import random
import shutil
import signal
import struct
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from bridge.jobfile.file.chain import Row
from bridge.jobfile.file.check import FileState, check
from bridge.jobfile.recorder import Recorder, start
from bridge.jobfile.rerun import rerun
from bridge.sheets import parse_sheet
from bridge.values.events import Event
from tests.show.parts.evidence.job import complain, job, run_job
from tests.show.parts.show_run import ShowRun

LONGEST_LOSS_S = 1.0
_TOLD = struct.Struct("=cqd")
"""T: an event was taken, C: a note is on the disk; its number; monotonic seconds."""
_EVENT_KINDS = ("reading", "fault", "link", "codes", "vin", "clock-jump", "mark")


def killed(folder: Path, told: ShowRun) -> None:
    """Kill recorders with SIGKILL at random moments of a fast demo.

    In every second run a person notes something ten times a second, which is to be on
    the disk at once; in the others readings wait for each other.
    """
    chance, runs = random.Random(told.seed), told.size(6, 300)
    outcomes = [
        _one(
            folder / f"kill-{i}",
            chance.uniform(0.0, 2.5),
            copy=i % 3 == 0,
            noting=i % 2 == 0,
        )
        for i in range(runs)
    ]
    begun = [o for o in outcomes if o.began]
    print("Killed with SIGKILL, at 30 times life")
    told.tell("kill_runs", runs)
    told.tell("killed_after_the_file_was_there", len(begun), least=0.8 * runs)
    told.tell("killed_opened", sum(o.opened for o in begun))
    told.tell("killed_resumed_intact", sum(o.resumed for o in begun))
    told.tell("killed_replayed_same", sum(o.same for o in begun))
    told.tell("events_taken", sum(o.taken for o in begun))
    told.tell("events_lost", sum(o.lost for o in begun))
    told.tell("longest_loss_s", max((o.loss_s for o in begun), default=0.0))
    told.tell("confirmed", sum(o.confirmed for o in begun))
    told.tell("confirmed_lost", sum(o.confirmed_lost for o in outcomes))
    told.tell("copies_while_stopped", sum(o.copies for o in outcomes))
    told.misses += [miss for o in outcomes for miss in o.misses]


@dataclass(slots=True)
class _Outcome:
    misses: list[str]
    began: bool = False
    opened: bool = False
    resumed: bool = False
    same: bool = False
    taken: int = 0
    lost: int = 0
    loss_s: float = 0.0
    confirmed: int = 0
    confirmed_lost: int = 0
    copies: int = 0


class _Telling(Recorder):
    """A recorder that tells its parent what it takes, and what is on the disk."""

    pipe = -1
    count = 0

    def took(self, event: Event) -> None:
        self.count += 1
        os.write(self.pipe, _TOLD.pack(b"T", self.count, time.monotonic()))
        super().took(event)


def _child(path: Path, pipe: int, *, noting: bool) -> None:
    recorder = start(path, job(), complain)
    recorder.__class__ = _Telling
    assert isinstance(recorder, _Telling)
    recorder.pipe = pipe
    last_s, notes = 0.0, 0

    def tick(_: object) -> None:
        nonlocal last_s, notes
        if noting and time.monotonic() - last_s > 0.1:
            last_s, notes = time.monotonic(), notes + 1
            number = notes
            done = recorder.note_event("note", {"n": number})
            done.add_done_callback(
                lambda f: (
                    f.cancelled()
                    or os.write(pipe, _TOLD.pack(b"C", number, time.monotonic()))
                )
            )

    run_job(recorder, for_s=3600.0, speed=30.0, tick=tick)


@contextlib.contextmanager
def _forked(path: Path, *, noting: bool) -> Iterator[tuple[int, int]]:
    out, into = os.pipe()
    with contextlib.suppress(ImportError, OSError, AttributeError):
        import fcntl

        fcntl.fcntl(into, fcntl.F_SETPIPE_SZ, 1 << 20)
    child = os.fork()
    if child == 0:
        try:
            os.close(out)
            _child(path, into, noting=noting)
        finally:
            os._exit(1)
    os.close(into)
    try:
        yield child, out
    finally:
        os.close(out)


def _one(folder: Path, after_s: float, *, copy: bool, noting: bool) -> _Outcome:
    folder.mkdir()
    path = folder / "a.job"
    outcome = _Outcome(misses=[])
    with _forked(path, noting=noting) as (child, out):
        time.sleep(after_s)
        if copy:
            _copy_while_stopped(child, path, outcome)
        killed_s = time.monotonic()
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        told = _read(out)
    taken = [t for kind, _, t in told if kind == b"T"]
    confirmed = max((n for kind, n, _ in told if kind == b"C"), default=0)
    outcome.taken, outcome.confirmed = len(taken), confirmed
    if path.exists():
        outcome.began = True
        _examine(path, outcome, taken, killed_s)
    elif confirmed or taken:
        outcome.misses.append(f"{folder.name}: no file, yet events had been taken")
    shutil.rmtree(folder)
    return outcome


def _copy_while_stopped(child: int, path: Path, outcome: _Outcome) -> None:
    """Take the files as they are at one moment, as a power cut would leave them."""
    os.kill(child, signal.SIGSTOP)
    os.waitpid(child, os.WUNTRACED)
    if path.exists():
        cut = path.parent / "cut"
        cut.mkdir()
        for file in path.parent.glob("a.job*"):
            if not file.name.endswith("-shm"):  # memory, not disk
                shutil.copyfile(file, cut / file.name)
        found = check(cut / "a.job")
        outcome.copies += 1
        if found.state is not FileState.OPEN:
            outcome.misses.append(f"{path.parent.name}: the copy is {found.sentence}")
    os.kill(child, signal.SIGCONT)


def _read(out: int) -> list[tuple[bytes, int, float]]:
    data = b""
    while chunk := os.read(out, 1 << 20):
        data += chunk
    whole = len(data) - len(data) % _TOLD.size
    return list(_TOLD.iter_unpack(data[:whole]))


def _examine(
    path: Path, outcome: _Outcome, taken: list[float], killed_s: float
) -> None:
    name = path.parent.name
    found: list[Row] = []
    before = check(path, found.append)
    outcome.opened = before.state is FileState.OPEN
    if not outcome.opened:
        outcome.misses.append(f"{name}: after the kill it is {before.sentence}")
    kept = sum(row.kind in _EVENT_KINDS for row in found)
    notes = sum(row.kind == "note" for row in found)
    outcome.lost = max(0, len(taken) - kept)
    if kept < len(taken):
        outcome.loss_s = killed_s - taken[kept]
    outcome.confirmed_lost = max(0, outcome.confirmed - notes)
    if outcome.loss_s > LONGEST_LOSS_S or outcome.confirmed_lost:
        outcome.misses.append(
            f"{name}: lost {outcome.loss_s:.2f} s, {outcome.confirmed_lost} confirmed"
        )
    again = start(path, job(), complain)
    again.note_event("note", {"text": "goes on"})
    sealed = again.close()
    after = check(path)
    outcome.resumed = sealed and after.state is FileState.GAPS
    outcome.resumed = outcome.resumed and after.events > before.events
    outcome.same = not rerun(path, parse_sheet).differences
    if not (outcome.resumed and outcome.same):
        outcome.misses.append(f"{name}: resumed {after.sentence}, same {outcome.same}")
