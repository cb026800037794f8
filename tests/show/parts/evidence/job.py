"""Jobs to show evidence with: bench, monitor, recorder, and a person who marks."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from bridge.jobfile.adapter_id import Ear
from bridge.jobfile.recorder import Job, Recorder, start
from bridge.level.step.step_values import BEFORE_OPENING, Phase
from bridge.link.ports.port import Port
from bridge.monitor import Monitor
from bridge.sheets import find_sheet, load
from bridge.snapshot import Snapshot
from bridge.values.errors import LinkLost, PortError
from bridge.values.events import Mark, Marked
from simulators.car.scenes import make_bench
from simulators.faults.fault_schedule import random_faults
from simulators.serve.paced_loop import PacedLoop
from simulators.serve.pipe import BenchPipe
from tui.live import pages

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
        tool="sumpgate 0.1.0",
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
) -> None:
    """Run bench and monitor until the time is over; the recorder stays open."""
    sheet = load(SHEET)
    bench = make_bench(scene, sheet, seed=seed)
    if faults_every_s is not None:
        bench.plan(random_faults(seed, faults_every_s, length_s=for_s))

    async def opener() -> Port:
        try:
            return BenchPipe(bench)
        except LinkLost as lost:
            raise PortError(str(lost)) from None

    def deliver(snapshot: Snapshot) -> None:
        tick(snapshot)
        if person is not None:
            loop.call_soon(person.sees, snapshot)

    async def main() -> None:
        ear = Ear(recorder.note_event)
        monitor = Monitor(
            sheet=sheet,
            open_port=ear.wrap(opener),
            deliver=deliver,
            witness=recorder,
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


def whole_job(path: Path, *, for_s: float = 1300.0) -> None:
    """Record a whole service on the bench: level step, volumes, plugs, notes."""
    calendar = Calendar()
    recorder = start(path, job(), complain, utc=calendar)
    cautions = pages.cautions(load(SHEET))
    recorder.note_event("caution", {"act": "shown", "lines": cautions})
    calendar.at_s += 8.0
    recorder.note_event("caution", {"act": "confirmed", "lines": cautions})
    for kind, told in _before():
        recorder.note_event(kind, told)
    run_job(recorder, for_s=for_s, person=Person(), tick=calendar.sees)
    for kind, told in _after():
        recorder.note_event(kind, told)
    assert recorder.close()


def _before() -> Iterator[tuple[str, dict[str, object]]]:
    yield "odometer", {"km": 61200.0, "text": "61200 km"}
    yield (
        "volume",
        {
            "what": "drained",
            "ml": 5150.0,
            "temp_c": 22.0,
            "text": "measured in two 3 L jugs",
        },
    )
    yield (
        "old-fluid",
        {"colour": "dark red", "smell": "none", "particles": "fine grey film"},
    )
    yield (
        "fastener",
        {
            "what": "drain plug",
            "torque_nm": 28.0,
            "turn_deg": None,
            "renewed": "sealing washer",
        },
    )
    yield (
        "fastener",
        {
            "what": "pan bolts",
            "torque_nm": 3.5,
            "turn_deg": 60.0,
            "renewed": "pan gasket, bolts",
        },
    )
    yield "volume", {"what": "filled", "ml": 5550.0, "temp_c": 20.0}


def _after() -> Iterator[tuple[str, dict[str, object]]]:
    yield (
        "fastener",
        {
            "what": "standpipe plug",
            "torque_nm": 16.0,
            "turn_deg": None,
            "renewed": "sealing washer",
        },
    )
    yield (
        "next-due",
        {"km": 141200.0, "date": "", "text": "by distance"},
    )
    yield "note", {"text": "Dry after the drive. Invented job on the bench."}
