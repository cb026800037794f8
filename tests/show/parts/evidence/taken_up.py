"""A service killed at any moment: what was shown is there, what was not told is not.

A child works through a service and level steps at random, event by event, as the
screen does: each is told to the monitor, and once the snapshot with its effect is back
the child says so to its parent. The parent kills it and compares what the file gives.
"""

from __future__ import annotations

import asyncio
import json
import os
import random
import select
import shutil
import signal
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from bridge.jobfile.recorder import NOT_YET, Recorder, start
from bridge.jobfile.taking_up import taken_up
from bridge.link.clock import sleep
from bridge.link.ports.port import Port
from bridge.monitor import Monitor
from bridge.service.log import Log, standing
from bridge.session.taken_up import NEW, TakenUp
from bridge.sheets import find_sheet, load
from bridge.snapshot import Snapshot
from bridge.values.codec import to_plain
from bridge.values.events import Mark, Marked, PersonEvent
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.service_sheet import StepKind, Tick
from bridge.values.sheet import Confirmation
from simulators.car.scenes import make_bench
from simulators.serve.paced_loop import PacedLoop
from simulators.serve.pipe import BenchPipe
from tests.show.parts.evidence.job import SHEET, job
from tests.show.parts.show_run import ShowRun

SPEED = 60.0
LATEST_S, LONGEST_BEGIN_S = 2.5, 60.0
"""Killed at the latest so many seconds after the child told of something; it is waited
for that at most so long. Real time."""
EARLY = 0.2
"""This share is killed so long after it was started, whatever it told by then."""
_STEPS = [s for s in StepKind if s not in (StepKind.CAUTIONS, StepKind.EXERCISE)]


def state_of(told: Log, step: Any) -> dict[str, Any]:
    """Return what counts of a job's state, as JSON has it.

    A dry run is left out: the session sees it, between two things that are told.
    """
    said = [e for e in told if e.kind is not ServiceKind.RAN_DRY]
    return {
        "told": [[e.kind.value, e.name, e.ml, e.back, str(e.step)] for e in said],
        "confirmed": sorted(c.value for c in step.confirmed) if step else [],
        "added_ml": step.added_ml if step else 0.0,
        "drips": len(step.drips_s) if step else 0,
        "plug_open": bool(step and step.plug_open),
        "attempt": step.attempt if step else 1,
    }


class _Worker:
    """Does the next thing a person might do, at random."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)

    def next(self, seen: Snapshot) -> PersonEvent:
        """Return an event; most are of the service, the rest of the level step."""
        if self.chance.random() < 0.5:
            return self._service(seen.told or ())
        return self._mark(seen)

    def _service(self, told: Log) -> ServiceEvent:
        chance, left = self.chance, standing(told)
        kind = chance.choice(
            (ServiceKind.DONE, ServiceKind.OUT, ServiceKind.IN, ServiceKind.TICKED)
        )
        if left and chance.random() < 0.2:
            back = chance.choice(left)[0]
            return ServiceEvent(kind=ServiceKind.TAKEN_BACK, back=back)
        amount = chance.choice((500.0, 1200.0, 4300.0))
        return ServiceEvent(
            kind=kind,
            step=chance.choice(_STEPS) if kind is ServiceKind.DONE else None,
            name=f"place {chance.randrange(4)}" if kind is not ServiceKind.DONE else "",
            tick=Tick.TIGHTENED if kind is ServiceKind.TICKED else None,
            ml=amount if kind in (ServiceKind.OUT, ServiceKind.IN) else None,
        )

    def _mark(self, seen: Snapshot) -> Marked:
        chance, step = self.chance, seen.step
        what = chance.choice(tuple(Confirmation))
        marks = [
            Marked(mark=Mark.CONFIRMED, confirms=what),
            Marked(mark=Mark.ADDED, ml=250.0),
            Marked(mark=Mark.OPENED),
        ]
        if chance.random() < 0.2:
            marks.append(Marked(mark=Mark.WITHDRAWN, confirms=what))
        if step is not None and step.plug_open:
            marks += [Marked(mark=Mark.DRIP)] * 6
            marks += [Marked(mark=Mark.CLOSED), Marked(mark=Mark.UNDO)]
        elif step is not None and step.judgement is not None:
            marks.append(Marked(mark=Mark.RESTART))
        return chance.choice(marks)


def _child(path: Path, pipe: int, seed: int) -> None:
    sheet, text = load(SHEET), find_sheet(SHEET).read_text("utf-8")

    def say(what: str, told: Any) -> None:
        os.write(pipe, (json.dumps([what, told]) + "\n").encode())

    recorder = start(path, job(), lambda sentence: say("note", sentence))
    so_far = taken_up(path, sheet, text)

    with asyncio.Runner(loop_factory=lambda: PacedLoop(SPEED)) as runner:
        runner.run(_work(recorder, so_far, _Worker(seed), say))


async def _work(recorder: Recorder, so_far: TakenUp, worker: _Worker, say: Any) -> None:
    sheet = load(SHEET)
    bench = make_bench("warm-day", sheet, seed=1)
    last: list[Snapshot] = []

    async def opener() -> Port:
        return BenchPipe(bench)

    monitor = Monitor(
        sheet=sheet,
        open_port=opener,
        deliver=lambda snapshot: last.__setitem__(slice(None), [snapshot]),
        interval_s=0.5,
        witness=recorder,
        taken_up=so_far,
    )
    running = asyncio.create_task(monitor.run())
    await sleep(0.5)
    while not running.done():
        event = worker.next(last[0])
        say("telling", to_plain(event))
        seen = monitor.tell(event)
        say("shown", state_of(seen.told or (), seen.step))
        await sleep(worker.chance.uniform(0.2, 4.0))


@dataclass(slots=True)
class _Found:
    shown: int = 0
    lost: list[str] = field(default_factory=list)
    made_up: list[str] = field(default_factory=list)
    slow: int = 0
    """Killed while the screen said that what was shown last is not saved yet."""
    plugs_open: int = 0


def taken_up_after_kills(folder: Path, told: ShowRun) -> None:
    """Kill a service at random moments, three times each; compare what goes on."""
    chance, found, late = random.Random(told.seed), _Found(), 0
    kills = 3 * told.size(3, 100)
    for i in range(kills):
        path = folder / f"service-{i // 3}" / "a.job"
        path.parent.mkdir(exist_ok=True)
        after_s, early = chance.uniform(0.1, LATEST_S), chance.random() < EARLY
        said = _killed(path, after_s, chance.randrange(10**9), early=early)
        late += not said
        _compare(path, said, found)
        if i % 3 == 2:
            shutil.rmtree(path.parent)
    print("A service killed with SIGKILL, and taken up from its file")
    told.tell("service_kills", kills)
    told.tell("service_killed_before_anything", late)
    told.tell("service_events_shown", found.shown, least=2 * kills)
    told.tell("service_killed_while_said_not_saved_yet", found.slow)
    told.tell("service_plugs_open_taken_up", found.plugs_open)
    told.tell("service_shown_but_lost", len(found.lost), want=0)
    told.tell("service_never_told_but_there", len(found.made_up), want=0)
    told.misses += [*found.lost, *found.made_up]


def _killed(path: Path, after_s: float, seed: int, *, early: bool) -> list[list[Any]]:
    """Run a child and kill it; return what it said.

    ``early``: so long after it was started, else after it said something first.
    """
    out, into = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(out)
            _child(path, into, seed)
        finally:
            os._exit(1)
    os.close(into)
    if not early:  # however long a busy machine takes to begin
        select.select([out], [], [], LONGEST_BEGIN_S)
    time.sleep(after_s)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with os.fdopen(out, "rb") as pipe:
        lines = pipe.read().split(b"\n")
    return [json.loads(line) for line in lines[:-1]]


def _compare(path: Path, said: list[list[Any]], found: _Found) -> None:
    """Hold the file against what was shown last, and what was on its way."""
    if not path.exists():
        found.lost += ["no file"] if any(what == "shown" for what, _ in said) else []
        return
    text = find_sheet(SHEET).read_text("utf-8")
    job_now = taken_up(path, load(SHEET), text)
    if job_now == NEW and not said:
        return
    now = state_of(job_now.told, job_now.step)
    saved, later = _parted(said)
    found.slow += any(what == "shown" for what, _ in later)
    shown = [told for what, told in saved if what == "shown"]
    found.shown += len(shown)
    if not shown:
        return
    found.plugs_open += now["plug_open"]
    on_its_way = next((told for what, told in later if what == "telling"), None)
    may_be = [told for what, told in later if what == "shown"]
    for fact, was in shown[-1].items():
        if any(now[fact] == told[fact] for told in may_be):
            continue
        if now[fact] != was and not _explains(fact, was, now[fact], on_its_way):
            kind = found.made_up if _more(was, now[fact]) else found.lost
            kind.append(f"{path.parent.name}: {fact} was {was}, is {now[fact]}")


def _parted(said: list[list[Any]]) -> tuple[list[list[Any]], list[list[Any]]]:
    """Part what a child said where it is no more, or not yet, said to be saved."""
    notes = [n for n, (what, _) in enumerate(said) if what == "note"]
    slow = notes and NOT_YET in said[notes[-1]][1]
    place = notes[-1] if slow else len(said)
    while place and said[place - 1][0] != "shown":
        place -= 1
    return said[:place], said[place:]


def _more(was: Any, now: Any) -> bool:
    return len(now) > len(was) if isinstance(was, list) else now > was


def _explains(fact: str, was: Any, now: Any, event: dict[str, Any] | None) -> bool:
    """Return whether the one event that was on its way makes the difference."""
    if event is None:
        return False
    mark = event.get("mark")
    if fact == "told":
        return "kind" in event and now[:-1] == was
    changes = {
        "confirmed": ("confirmed", "withdrawn", "undo"),
        "added_ml": ("added", "undo"),
        "drips": ("drip", "undo", "opened", "restart"),
        "plug_open": ("opened", "closed", "undo"),
        "attempt": ("restart", "undo"),
    }
    if mark not in changes[fact]:
        return False
    return fact != "confirmed" or len(set(was) ^ set(now)) == 1
