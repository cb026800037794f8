"""Every way a level is set, led by typed lines on a simulated car, against its truth.

A way is a sheet and a world: the car's temperatures (simulators.car.plant), the true
level, the true mixing, jugs and sticks that are read as persons read them. In each
service the person may slip; the truth, not the program, says whether it went wrong.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

from bridge.level.step.step_values import Phase
from bridge.level.step.stick import marks_at
from bridge.service.against import against, is_complete
from bridge.service.fastening import ticks_wanted
from bridge.service.log import applying, is_done, ticked
from bridge.service.rounds import refits
from bridge.service.sums import balance_of, old_share_of
from bridge.session.session import advance, apply
from bridge.session.session_state import Session, begin
from bridge.sheets import load
from bridge.snapshot import Snapshot
from bridge.values.events import LinkChange, PersonEvent
from bridge.values.readings import LinkState, Reading
from bridge.values.service_events import ServiceEvent
from bridge.values.service_sheet import StepKind
from bridge.values.sheet import EngineRule, Role, Sheet
from simulators.car.plant import Body, Heat, Plant
from tui.inputs.answers import Refused
from tui.inputs.line_reader import LineReader
from tui.words.instructions import instruction_text

WAYS_FOLDER = Path(__file__).parents[3] / "data" / "sheets" / "ways"
TICK_S = 1.0
PATIENCE_S = 900.0


@dataclass
class Job:
    """One service under way: a session, its car, and what the person types."""

    sheet: Sheet
    rng: random.Random
    plant: Plant
    session: Session = field(init=False)
    seen: Snapshot = field(init=False)
    now_s: float = 0.0
    engine_rpm: float = 0.0
    selector: str = "P"
    air_c: float | None = None
    refused: list[str] = field(default_factory=list)
    words: set[str] = field(default_factory=set)
    refitted: set[str] = field(default_factory=set)
    """Plugs ticked round by round, so not again at the end."""

    def __post_init__(self) -> None:
        self.session = begin(self.sheet, interval_s=TICK_S)
        self.lines = LineReader(self.sheet)
        self.session = apply(self.session, LinkChange(state=LinkState.LIVE, t_s=0.0))
        self.tick()

    def tick(self) -> None:
        """Let a second pass: the car goes on, is read, and the step looks."""
        self.now_s += TICK_S
        self.plant.engine_on = self.engine_rpm > 0.0
        self.plant.step(TICK_S)
        fluid_c = round(self.plant.heat.sensor_c * 10.0) / 10.0
        told = {
            Role.FLUID_TEMPERATURE: fluid_c,
            Role.ENGINE_SPEED: self.engine_rpm,
            Role.VEHICLE_SPEED: 0.0,
        }
        if self.air_c is not None:
            told[Role.AMBIENT_TEMPERATURE] = self.air_c
        if self.sheet.signal(Role.SELECTOR) is not None:
            told[Role.SELECTOR] = float("PRND".index(self.selector))
        for role, value in told.items():
            label = self.selector if role is Role.SELECTOR else ""
            reading = Reading(role=role, value=value, t_s=self.now_s, label=label)
            self.session = apply(self.session, reading)
        self.look()

    def look(self) -> None:
        """Decide anew."""
        self.session, self.seen = advance(self.session, now_s=self.now_s)
        if self.seen.step is not None:
            self.words.add(instruction_text(self.seen.step.instruction))

    def say(self, line: str) -> None:
        """Type a line, twice where it is asked back."""
        told: PersonEvent | Refused = self.lines.read(line, self.seen)
        if isinstance(told, Refused) and told.again:
            told = self.lines.read(line, self.seen)
        if isinstance(told, Refused):
            self.refused.append(f"{line}: {told.words}")
            return
        told = replace(told, t_s=self.now_s)
        if isinstance(told, ServiceEvent):
            told = replace(told, at_utc_s=1.8e9 + self.now_s)
        self.session = apply(self.session, told)
        self.look()

    def until(self, phases: set[Phase]) -> bool:
        """Wait for a phase; False: it did not come."""
        end_s = self.now_s + PATIENCE_S
        while self.now_s < end_s:
            if self.seen.step is not None and self.seen.step.phase in phases:
                return True
            self.tick()
        return False

    @property
    def complete(self) -> bool:
        """What the program says of the service."""
        return is_complete(self.sheet, self.session.log)


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What came of one service."""

    bad: tuple[str, ...]
    """What went wrong in truth."""
    complete: bool
    share_held: bool | None = None
    net_held: bool | None = None
    told_good: bool = False
    refused: tuple[str, ...] = ()
    words: frozenset[str] = frozenset()


def jug(rng: random.Random, ml: float, lost: float = -1.0) -> float:
    """Return what a kitchen jug reads of a true volume: scale, marks, what clings.

    ``lost``: -1 of what came out (some never reached the jug), 1 of what went in.
    """
    clings = lost * rng.uniform(0.0, 20.0) if ml else 0.0
    return max(0.0, round((ml * rng.uniform(0.985, 1.015) + clings) / 50.0) * 50.0)


def _plant(sheet: Sheet, rng: random.Random) -> Plant:
    window = sheet.window
    if not sheet.has_level_step:
        return Plant(Heat.soaked(20.0), ambient_c=20.0)
    if sheet.engine is EngineRule.OFF:
        start = window.high_c - rng.uniform(1.0, 2.0)
        body = replace(Body(), exchanger_w_per_k=0.0, case_air_w_per_k=9.0)
        heat = Heat(fluid_c=start, case_c=start - 2.0, coolant_c=start, sensor_c=start)
        return Plant(heat, ambient_c=15.0, body=body)
    start = window.low_c + rng.uniform(-1.0, 1.0)
    body = replace(Body(), exchanger_w_per_k=6.0)
    heat = Heat(
        fluid_c=start, case_c=start - 4.0, coolant_c=start + 15.0, sensor_c=start
    )
    return Plant(heat, ambient_c=18.0, body=body)


def _begin(name: str, rng: random.Random) -> Job:
    sheet = load(name)
    job = Job(sheet=sheet, rng=rng, plant=_plant(sheet, rng))
    fits = [v for v in sheet.service.variants if v.fits]
    if fits:
        job.say(f"variant {fits[0].name}")
    return job


def _tick_all(job: Job, bad: list[str]) -> None:
    """Tick off what the sheet has, one thing perhaps left out on purpose."""
    service = job.sheet.service
    items = [p.name for p in service.parts if not p.only_for]
    for fastener in service.fasteners:
        if not fastener.only_for and fastener.name not in job.refitted:
            items += [f"{fastener.name} {t.value}" for t in ticks_wanted(fastener)]
    if service.exercise:
        items.append("selector worked")
    if job.rng.random() < 0.1:
        gone = job.rng.choice(items)
        items.remove(gone)
        bad.append(f"not done: {gone}")
    for item in items:
        job.say(f"tick {item}")


def _refit(job: Job, number: int, bad: list[str]) -> None:
    """Put the drains' plugs back and tick them, in one round perhaps not."""
    forgot = job.rng.random() < 0.04
    for fastener in job.sheet.service.fasteners:
        if fastener.name not in {d.fastener for d in job.sheet.service.drains}:
            continue
        job.refitted.add(fastener.name)
        if forgot:
            bad.append(f"{fastener.name} not ticked in round {number}")
            continue
        log = job.session.log
        done = ticked(log, fastener, refits(job.sheet.service, log, fastener))
        for what in ticks_wanted(fastener):
            if what not in done:  # nothing is asked for in a round that was not told
                job.say(f"tick {fastener.name} {what.value}")


def _see(job: Job, bad: list[str]) -> None:
    if job.rng.random() < 0.1:
        what = job.rng.choice(["milky", "chips", "glitter", "lining-bits"])
        job.say(f"saw old-fluid {what}")
        bad.append(f"old fluid {what}")
    else:
        job.say("saw old-fluid dark")


def _steps(job: Job) -> None:
    """Mark every step done that nothing else tells of, the level least of all."""
    for step in job.sheet.service.order:
        if step is not StepKind.LEVEL and not is_done(job.session.log, step):
            job.say(f"done {step.value}")


def _drain(job: Job, share: float, bad: list[str], *, first: bool) -> float:
    """Drain a share of what is usual at each place; return the true sum."""
    whole = 0.0
    for drain in applying(job.sheet.service, job.session.log).drains:
        true_ml = (drain.expected_ml or 0.0) * share
        whole += true_ml
        if first and job.rng.random() < 0.05:
            bad.append(f"{drain.name} not measured")
            continue
        job.say(f"out {drain.name} {jug(job.rng, true_ml) / 1000.0:.2f} L at 20 C")
    return whole


def _fill(job: Job, true_ml: float, bad: list[str]) -> float:
    """Fill in what is due, or by a slip much more or less; return the true amount."""
    slip = job.rng.choice([-0.35, 0.35]) if job.rng.random() < 0.08 else 0.0
    if slip:
        bad.append("filled far off")
    put = true_ml * (1.0 + slip)
    job.say(f"in {jug(job.rng, put, 1.0) / 1000.0:.2f} L at 20 C")
    return put


def _confirm(job: Job) -> None:
    for what in ("cautions", *job.sheet.confirm):
        job.say(f"confirm {what}")


def _answer(job: Job, bad: list[str]) -> None:
    """Answer a balance that is off because the gearbox was off before, and that alone.

    A person who has filled far off has no such answer.
    """
    if any("far off" in what for what in bad):
        return
    for found in against(job.sheet, job.session.log):
        if found.id.endswith(("-low", "-high")) and found.answerable:
            job.say(f"answer {found.id} it was off before, no leak to be found")


def _end(job: Job, bad: list[str], **more: bool | None) -> Outcome:
    _confirm(job)
    _tick_all(job, bad)
    _see(job, bad)
    _steps(job)
    _answer(job, bad)
    job.say("close")
    step = job.seen.step
    good = bool(step and step.judgement and step.judgement.outcome.value == "good")
    return Outcome(
        bad=tuple(bad),
        complete=job.complete,
        told_good=good,
        refused=tuple(job.refused),
        words=frozenset(job.words),
        **more,
    )


def measured(rng: random.Random) -> Outcome:
    """What came out, and the filter's share, goes in; the level is where it was."""
    job, bad = _begin(str(WAYS_FOLDER / "brae-measured.toml"), rng), []
    out = _drain(job, rng.uniform(0.97, 1.03), bad, first=True)
    job.say("done filter")
    due = out + (job.sheet.service.filter_holds_ml or 0.0)
    put = _fill(job, due, bad)
    done = balance_of(job.sheet, job.session.log)
    held = None
    if not isinstance(done, str) and not any("not measured" in b for b in bad):
        held = abs(done.net.ml - (put - out)) <= done.net.expanded_ml
    return _end(job, bad, net_held=held)


def rounds(rng: random.Random) -> Outcome:
    """Drained and filled three times, with true mixing; then set by the standpipe."""
    job, bad = _begin(str(WAYS_FOLDER / "cairn-three-rounds.toml"), rng), []
    total, old, net = job.sheet.fill_ml or 0.0, 1.0, 0.0
    many = 2 if rng.random() < 0.1 else 3
    if many < 3:
        bad.append("a round left out")
    for number in range(many):
        out = _drain(job, rng.uniform(0.95, 1.0), bad, first=number == 0)
        old *= 1.0 - out / total
        if number == 0:
            job.say("done filter")
        _refit(job, number + 1, bad)
        share = job.sheet.service.filter_holds_ml or 0.0
        put = _fill(job, out + (share if number == 0 else 0.0), bad)
        net += put - out
    whole = not any("not measured" in b or "far off" in b for b in bad)
    left, done = old_share_of(job.sheet, job.session.log), None
    found = balance_of(job.sheet, job.session.log)
    if not isinstance(found, str) and whole:
        done = abs(found.net.ml - net) <= found.net.expanded_ml
    held = left.low <= old <= left.high if left is not None and whole else None
    _by_drips(job, bad)
    return _end(job, bad, share_held=held, net_held=done)


def _idle(job: Job) -> None:
    job.engine_rpm = 750.0
    for what in job.sheet.confirm:
        job.say(f"confirm {what}")


def _by_drips(job: Job, bad: list[str]) -> None:
    """Open at GO, mark the drips as they thin out, close when called."""
    _idle(job)
    if not job.until({Phase.GO}):
        bad.append("no GO came")
        return
    job.say("opened")
    if job.rng.random() < 0.1:
        bad.append("closed at once, a stream still running")
        job.say("streams")
        job.tick()
        job.say("closed")
        job.tick()
        return
    mark_drips(job)
    if job.rng.random() < 0.06:
        bad.append("topped up after the level was set")
        job.say(job.rng.choice(["added 0.6 L", "in 0.6 L at 20 C"]))


def mark_drips(job: Job) -> None:
    """Mark the drips as they thin out, and close when told to."""
    gap_s, wait_s = 1.0, 1.0
    for _ in range(400):
        job.tick()
        wait_s -= TICK_S
        if wait_s <= 0.0:
            job.say("drip")
            gap_s *= 1.15
            wait_s = gap_s
        if job.seen.step and job.seen.step.phase in {Phase.SETTLED, Phase.CLOSE}:
            break
    job.say("closed")
    job.tick()


def close_at_begun(rng: random.Random) -> Job:
    """Return a service on a sheet that closes at a temperature, the engine idling."""
    job = _begin(str(WAYS_FOLDER / "skerry-close-at.toml"), rng)
    _confirm(job)
    _idle(job)
    return job


LATE_C = 1.5
"""What a person who did not heed the call is late by. Nobody is judged between this
and the program's own limit, which rests on the estimate and not on the truth."""


def close_at(rng: random.Random) -> Outcome:
    """Closed at a temperature, whatever still runs; some close too early or late."""
    job, bad = _begin(str(WAYS_FOLDER / "skerry-close-at.toml"), rng), []
    out = _drain(job, 1.0, bad, first=True)
    job.say("done filter")
    _fill(job, out + (job.sheet.service.filter_holds_ml or 0.0), bad)
    _idle(job)
    goal = job.sheet.close_at_c or 0.0
    if not job.until({Phase.GO}):
        bad.append("no GO came")
        return _end(job, bad)
    job.say("opened")
    slip = rng.choice(["early", "late", "", "", "", ""])
    if slip == "early":
        for _ in range(20):
            job.tick()
    else:
        job.until({Phase.CLOSE})
        for _ in range(rng.randint(0, 6)):
            job.tick()
        while slip and job.plant.heat.fluid_c < goal + LATE_C:
            job.tick()
    true_c = job.plant.heat.fluid_c
    job.say("closed")
    job.tick()
    if abs(true_c - goal) > 0.9 * LATE_C:
        bad.append(f"closed {slip or 'when told'} at {true_c:.1f} °C")
    return _end(job, bad)


def stick(rng: random.Random) -> Outcome:
    """Read by a stick, topped up or drawn off as told, until it says it is right."""
    job, bad = _begin("fell-belt-variator", rng), []
    out = _drain(job, 1.0, bad, first=True)
    job.say("done filter")
    _fill(job, out + (job.sheet.service.filter_holds_ml or 0.0), bad)
    area = job.sheet.sump_area_cm2 or 1.0
    low, high = marks_at(job.sheet.stick, job.plant.heat.fluid_c)
    level_mm = 0.5 * (low + high) + rng.uniform(-25.0, 20.0)
    hasty = rng.random() < 0.1
    for _ in range(4):
        if not _read(job, level_mm):
            break
        found = job.seen.step and job.seen.step.judgement
        if not found or found.stick is None or found.outcome.value == "good" or hasty:
            break
        level_mm += _correct(job, found.stick.to_middle_ml or 0.0, area)
    low, high = marks_at(job.sheet.stick, job.plant.heat.fluid_c)
    if not low - 2.0 <= level_mm <= high + 2.0:
        bad.append(f"the level stands at {level_mm:.0f} mm, {low:.0f} to {high:.0f}")
    return _end(job, bad)


def _read(job: Job, level_mm: float) -> bool:
    """Read the stick while GO stands until it is judged; False: GO did not come."""
    for _ in range(8):
        if not job.until({Phase.GO}):
            return False
        job.say(f"stick {level_mm + job.rng.gauss(0.0, 1.0):.1f} mm")
        for _ in range(10):
            job.tick()
        if job.seen.step and job.seen.step.judgement:
            return True
    return False


def _correct(job: Job, ml: float, area_cm2: float) -> float:
    """Top up or draw off so much, by a jug; return what it moves the level by, mm."""
    ml = max(-2000.0, min(2000.0, ml))
    true_ml = ml * job.rng.uniform(0.97, 1.03)
    if ml > 0.0:
        job.say(f"added {ml:.0f} mL")
    else:
        job.say(f"ran-off {-ml:.0f} mL at 70 C")
        job.say("again")
    return true_ml / area_cm2 * 10.0


WAYS: dict[str, Callable[[random.Random], Outcome]] = {
    "stick": stick,
    "three rounds": rounds,
    "measured refill": measured,
    "close at": close_at,
}
PLUGLESS = ("stick",)
"""Ways in whose words no level plug may stand."""


@dataclass
class Tally:
    """What many services of one way came to."""

    services: int = 0
    bad: int = 0
    complete: int = 0
    wrongly_complete: list[str] = field(default_factory=list)
    right: int = 0
    """Nothing went wrong in truth."""
    right_complete: int = 0
    shares: list[bool] = field(default_factory=list)
    nets: list[bool] = field(default_factory=list)
    refused: set[str] = field(default_factory=set)
    plug_words: set[str] = field(default_factory=set)

    def add(self, name: str, one: Outcome) -> None:
        """Count one service."""
        self.services += 1
        self.bad += bool(one.bad)
        self.right += not one.bad
        self.complete += one.complete
        self.right_complete += one.complete and not one.bad
        if one.complete and one.bad:
            self.wrongly_complete.append("; ".join(one.bad))
        self.shares += [] if one.share_held is None else [one.share_held]
        self.nets += [] if one.net_held is None else [one.net_held]
        self.refused |= set(one.refused)
        if name in PLUGLESS:
            self.plug_words |= {w for w in one.words if "plug" in w}


def tally(
    name: str, way: Callable[[random.Random], Outcome], seed: int, services: int
) -> Tally:
    """Return what so many services of a way come to."""
    found = Tally()
    for number in range(services):
        found.add(name, way(random.Random(f"{seed}-{name}-{number}")))
    return found
