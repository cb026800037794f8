"""Jobs to show evidence with: bench, monitor, recorder, and a person who marks."""

from __future__ import annotations

import math
import sys
import time
from collections import deque
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

from bridge import VERSION
from bridge.jobfile.adapter_id import AdapterId
from bridge.jobfile.recorder import Job, Recorder, start
from bridge.level.step.step_values import BEFORE_OPENING, Phase
from bridge.link.ports.port import Port
from bridge.monitor import Monitor
from bridge.sheets import find_sheet, load
from bridge.snapshot import Snapshot
from bridge.values.events import Mark, Marked
from bridge.values.service_events import ServiceEvent
from simulators.car.scenes import make_bench
from simulators.faults.fault_schedule import random_faults
from simulators.serve.bench import Bench
from simulators.serve.paced_loop import PacedLoop
from simulators.serve.pipe import BenchPipe
from tui.inputs.answers import Refused
from tui.inputs.line_reader import LineReader
from tui.words.screen import pages

SHEET = "scar-eight-speed"
OPEN_AFTER_S, CLOSE_AFTER_S = 3.0, 4.0
DRIPS_S = (30.0, 33.0, 37.0, 42.0, 48.0, 55.0, 63.0, 72.0, 82.0, 93.0)


def complain(sentence: str) -> None:
    """Say on standard error what the recorder has to say."""
    print(f"recorder: {sentence}", file=sys.stderr)


def job(source: str = "bench, cold start") -> Job:
    """Return what is told at the beginning of a job on the bench."""
    return Job(
        sheet=load(SHEET),
        sheet_text=find_sheet(SHEET).read_text("utf-8"),
        tool=f"sumpgate {VERSION}",
        source=source,
        simulated=True,
    )


class Person:
    """Opens on GO, marks drips, closes when told to; as regular as a clock."""

    def __init__(self) -> None:
        self.monitor: Monitor | None = None
        self._due: list[tuple[float, Mark]] = []
        self._begun = False
        self._closing = False

    def sees(self, snapshot: Snapshot) -> None:
        """Look at the screen, and mark what is due."""
        step = snapshot.step
        if step is None:
            return
        now_s = snapshot.t_s
        if step.phase is Phase.GO and not self._begun:
            self._begun = True
            at_s = now_s + OPEN_AFTER_S
            self._due = [(at_s, Mark.OPENED)]
            self._due += [(at_s + s, Mark.DRIP) for s in DRIPS_S]
        if step.phase is Phase.CLOSE and not self._closing:
            self._closing = True
            self._due = [(now_s + CLOSE_AFTER_S, Mark.CLOSED)]
        if step.phase in BEFORE_OPENING and self._begun and not self._due:
            self._begun = self._closing = False
        while self._due and self._due[0][0] <= now_s:
            _, what = self._due.pop(0)
            assert self.monitor is not None
            self.monitor.tell(Marked(mark=what, t_s=0.0))


def run_job(
    recorder: Recorder,
    *,
    scene: str = "cold-start",
    for_s: float = 60.0,
    speed: float = math.inf,
    seed: int = 0,
    faults_every_s: float | None = None,
    person: Person | None = None,
    tick: Callable[[Snapshot], None] = lambda _: None,
    utc: Callable[[], float] = time.time,
    made: Callable[[Bench], object] = lambda _: None,
) -> None:
    """Run bench and monitor until the time is over; the recorder stays open."""
    sheet = load(SHEET)
    bench = make_bench(scene, sheet, seed=seed)
    made(bench)
    if faults_every_s is not None:
        bench.plan(random_faults(seed, faults_every_s, length_s=for_s))

    async def opener() -> Port:
        return BenchPipe(bench)

    def deliver(snapshot: Snapshot) -> None:
        tick(snapshot)
        if person is not None and not loop.is_closed():
            loop.call_soon(person.sees, snapshot)

    async def main() -> None:
        ear = AdapterId(recorder.note_event)
        monitor = Monitor(
            sheet=sheet,
            open_port=ear.wrap(opener),
            deliver=deliver,
            witness=recorder,
            utc=utc,
        )
        if person is not None:
            person.monitor = monitor
        await monitor.run(for_s=for_s)
        bench.close()

    loop = PacedLoop(speed)
    try:
        loop.run_until_complete(main())
    finally:
        loop.close()


class Calendar:
    """A wall clock that goes with the bench's time, so that a job is the same again."""

    START_UTC_S = 1_767_265_200.0
    """2026-01-01 11:00 UTC: any moment would do."""

    def __init__(self) -> None:
        self.at_s = 0.0

    def __call__(self) -> float:
        return self.START_UTC_S + self.at_s

    def sees(self, snapshot: Snapshot) -> None:
        """Go on to a snapshot's time."""
        self.at_s = max(self.at_s, snapshot.t_s)


class Mechanic(Person):
    """Does the whole service, and tells it in typed lines: one a second."""

    def __init__(self, calendar: Calendar, bench: Callable[[], Bench]) -> None:
        super().__init__()
        self._calendar, self._bench = calendar, bench
        self._reader = LineReader(load(SHEET), today=self._today)
        self._lines = deque(BEFORE_LINES)
        self._told_at_s = -1.0

    def sees(self, snapshot: Snapshot) -> None:
        """Tell the next line; with all of them told the engine starts."""
        if not self._lines:
            super().sees(snapshot)
            return
        self._bench().car.engine_on = False
        if snapshot.t_s < self._told_at_s + 1.0 or snapshot.codes is None:
            return
        self._told_at_s = snapshot.t_s
        self.tells(self._lines.popleft())
        if not self._lines:
            self._bench().car.engine_on = True

    def _today(self) -> date:
        return datetime.fromtimestamp(self._calendar(), UTC).date()

    def tells(self, line: str) -> None:
        """Tell one line, which is understood."""
        assert self.monitor is not None
        seen = self.monitor.last
        assert seen is not None
        told = self._reader.read(line, seen)
        assert not isinstance(told, Refused), (line, told.words)
        if isinstance(told, ServiceEvent):
            told = replace(told, who="B. Hand")
        self.monitor.tell(told)


def whole_job(path: Path, *, for_s: float = 1300.0) -> None:
    """Record a whole service on the bench as its sheet wants it, told line by line."""
    calendar = Calendar()
    recorder = start(path, job(), complain, utc=calendar)
    cautions = pages.cautions(load(SHEET))
    recorder.note_event("caution", {"act": "shown", "lines": cautions})
    calendar.at_s += 8.0
    recorder.note_event("caution", {"act": "confirmed", "lines": cautions})
    benches: list[Bench] = []
    person = Mechanic(calendar, lambda: benches[0])
    run_job(
        recorder,
        for_s=for_s,
        person=person,
        tick=calendar.sees,
        utc=calendar,
        made=benches.append,
    )
    seen = person.monitor.last if person.monitor else None
    if seen is not None and seen.step is not None and seen.step.judgement is not None:
        calendar.at_s += ROAD_S
        for line in AFTER_LINES:
            calendar.at_s += 20.0
            person.tells(line)
    assert recorder.close()


ROAD_S = 1500.0
"""From the closing of the opening to the end of the road test."""
JUGS = (
    "tick measuring jugs, a wide pan, gloves with cuffs, eye protection, cloths "
    "without lint"
)
BEFORE_LINES = (
    "confirm cautions",
    "shop Scar edge demonstration shop",
    "place bench 1",
    "mechanic B. Hand",
    "car DEMO 8",
    "model invented estate on the bench",
    "customer A. Person",
    "instrument wrench W-3, calibrated 2025-11-03",
    "instrument jug J-1, calibrated 2025-11-03",
    "variant shallow pan",
    "done identify",
    "tick automatic fluid in closed bottles",
    "tick flat filter with the seal of its neck",
    "tick pan gasket with its set of seventeen bolts",
    "tick sealing washer for the drain plug",
    "tick sealing washer for the standpipe plug",
    "tick small torque wrench, and a dial for the angle",
    "tick filling pump with a hose that is bent at its end",
    JUGS,
    "done parts",
    "odometer 61200 km",
    "codes",
    "done before",
    "done fill-plug",
    "out pan 5.15 L at 22 C",
    "done drain",
    "saw old-fluid dark",
    "done old-fluid",
    "torque filter bolts 7 N*m",
    "tick filter bolts tightened",
    "part flat filter with the seal of its neck, number 08-21-F, 1 x",
    "done filter",
    "part pan gasket with its set of seventeen bolts, number 08-21-G, 1 x",
    "tick pan bolts renewed",
    "torque pan bolts 3.5 N*m",
    "tick pan bolts tightened",
    "tick pan bolts angle",
    "tick drain plug renewed",
    "torque drain plug 28 N*m",
    "tick drain plug tightened",
    "done refit",
    "in 5.55 L at 20 C",
    "fluid Demonstration fluid 21, Scar works' leaf 21, batch 25-118, 5.8 L",
    "done fill",
    "tick selector worked",
    "confirm selector-exercised",
)
"""Told with the engine off, until the last of them."""
AFTER_LINES = (
    "tick standpipe plug renewed",
    "torque standpipe plug 16 N*m",
    "tick standpipe plug tightened",
    "tick filler plug renewed",
    "torque filler plug 9 N*m",
    "tick filler plug tightened",
    "done closing",
    "road-test 15 min, 78 C, shifts as before",
    "leak pan dry",
    "leak drain plug dry",
    "leak standpipe plug dry",
    "done recheck",
    "odometer 61212 km",
    "codes",
    "done after",
    "waste 5.2 L, used gearbox fluid, collecting point",
    "next-due",
    "done due",
    "note Invented job on the bench.",
    "close",
)
