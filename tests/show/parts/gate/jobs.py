"""Whole level-setting jobs: a thermal plant, the real core, and a person.

A job knows everything; the core sees one reading a second in steps of 1 °C, the
person sees what the step calls and what runs out of the plug. Two plain methods go
over the same fluid at the same time. Reaction times: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from bridge.level.gate import Facts, ReadingState, judge, verdict
from bridge.level.settling.settle_time import stay_until_settled
from bridge.level.step.machine import advance, begin, remaining
from bridge.level.step.marks import mark
from bridge.level.step.plan import Plan
from bridge.level.step.step_values import Instruction, Phase, Step, StepView
from bridge.level.volume import level_error
from bridge.session.session import apply
from bridge.session.session_facts import fresh, reading_state
from bridge.session.session_state import begin as begin_session
from bridge.thermal import estimator as est
from bridge.thermal.forecast import forecast
from bridge.values.events import LinkChange, Mark
from bridge.values.readings import LinkState, Reading
from bridge.values.sheet import EngineRule, Role
from tests.show.parts.gate import drips as gate_drips
from tests.show.parts.gate.world import AMBIENTS, SPAN_S, Job, make_job, true_settle_s

LEFT_ML = 5.0
"""Left inside by closing early: a tenth of a millimetre over 500 cm2."""
FILL_ML = 6000.0
"""Of every simulated gearbox; only the comparison of errors rests on it."""


class Eye:
    """The real core, fed with the job's readings: what the gate sees of the car."""

    def __init__(self, job: Job) -> None:
        idling = job.sheet.engine is EngineRule.IDLING
        assumed = {
            Role.ENGINE_SPEED: 750.0 if idling else 0.0,
            Role.VEHICLE_SPEED: 0.0,
        }
        session = begin_session(
            job.sheet,
            interval_s=1.0,
            sensor=est.Sensor(resolution_c=1.0),
            assumed=assumed,
        )
        self.session = apply(session, LinkChange(state=LinkState.LIVE, t_s=0.0))
        self.job = job

    def hear(self, t: int) -> None:
        """Let the session have the reading of second ``t``."""
        value = float(self.job.read_c[t])
        if math.isnan(value):
            return
        reading = Reading(role=Role.FLUID_TEMPERATURE, value=value, t_s=float(t))
        self.session = apply(self.session, reading)

    def look(self, step: Step, plan: Plan, now_s: float) -> StepView:
        """The snapshot's view, the stay chance over the whole settle time."""
        session, sheet = self.session, self.job.sheet
        state = reading_state(session, now_s)
        live = state is ReadingState.LIVE
        now = est.estimate(session.track, now_s=now_s) if live else None
        ahead = forecast(session.track, sheet.window, now_s=now_s) if live else None
        if now is None or ahead is None:
            return StepView()
        left = remaining(step, plan, now.temp_c, now_s)
        stay = stay_until_settled(ahead.stay_chance, left)
        fluid = session.readings[Role.FLUID_TEMPERATURE]
        facts = Facts(
            link=session.link,
            reading=state,
            raw_c=fluid.value,
            temp_c=now.temp_c,
            inside_chance=ahead.inside_chance,
            stay_chance=stay,
            engine_rpm=fresh(session, Role.ENGINE_SPEED, now_s),
            speed_kmh=fresh(session, Role.VEHICLE_SPEED, now_s),
        )
        answer, reasons = verdict(judge(facts, sheet))
        return StepView(
            verdict=answer,
            reasons=reasons,
            temp_c=now.temp_c,
            temp_sd_c=now.temp_sd_c,
            rate_c_per_s=now.rate_c_per_s,
            trend=now.trend,
            opens=ahead.opens,
            shuts=ahead.shuts,
            outlook=ahead.outlook,
            settles_at_c=ahead.settles_at_c,
            stay_chance=stay,
            stays_s=ahead.stays_s(sheet.stay_chance),
        )


@dataclass(slots=True, kw_only=True)
class Done:
    """How one method fared on one job."""

    called: bool = False
    opened_s: float | None = None
    closed_s: float | None = None
    claimed: float | None = None
    inside: bool = False
    """The fluid itself was inside from opening to closing."""
    closed_inside: bool = False
    """The fluid itself was inside when the plug went in."""
    settled: bool = False
    """What would still have come is less than the tool itself would notice."""
    left_ml: float = 0.0
    """What would still have come until it had settled."""
    stays: bool = False
    """The fluid stayed inside until the surplus had truly settled, and the reaction."""
    error_ml: float | None = None
    """Of the temperature at closing alone."""
    said_too_short: bool = False
    """'The window will be too short' came before it opened."""
    timer_only: bool = True
    withdrawn: int = 0


@dataclass(slots=True, kw_only=True)
class Result:
    """One job under the three methods."""

    climate: str
    width_c: float
    cooling: bool
    margin: float | None
    """Time the fluid was inside over what settling and both reactions took: who knew
    everything could have closed inside, settled, from 1 on. None: it never came in."""
    ours: Done = field(default_factory=Done)
    at_once: Done = field(default_factory=Done)
    timer: Done = field(default_factory=Done)


def _finish(job: Job, done: Done, opened_s: float, closed_s: float) -> None:
    """Say how a job that was opened and closed really went."""
    window = job.sheet.window
    seconds = np.arange(SPAN_S)

    def within(until_s: float) -> bool:
        span = (seconds >= opened_s) & (seconds <= until_s)
        temps = job.true_c[span]
        return bool(((temps >= window.low_c) & (temps <= window.high_c)).all())

    settle_s = true_settle_s(job, opened_s)
    end_c = float(np.interp(closed_s, seconds, job.true_c))
    done.opened_s, done.closed_s = opened_s, closed_s
    done.inside = within(closed_s)
    done.closed_inside = window.low_c <= end_c <= window.high_c
    done.left_ml = _left_ml(job, settle_s, closed_s - opened_s)
    done.settled = done.left_ml <= LEFT_ML
    done.stays = within(opened_s + settle_s + job.react[1])
    done.error_ml = level_error(end_c, window, fill_ml=FILL_ML).volume_ml


def _left_ml(job: Job, settle_s: float, open_s: float) -> float:
    """What still comes from closing to the true settling, in drops of 0.05 mL.

    A stream is more than drops: the curve itself goes on rising backwards.
    """
    if open_s >= settle_s:
        return 0.0
    t = np.linspace(open_s, settle_s, 400)
    rates = gate_drips.rate(t, settles_s=settle_s, steep=job.steep, b=job.b)
    return float(0.05 * np.trapezoid(rates, t))


def _drip_marks(job: Job, rng: np.random.Generator, settle_s: float) -> list[float]:
    if not job.marks:
        return []
    shape = {"settles_s": settle_s, "steep": job.steep, "b": job.b}
    fell = gate_drips.drops(rng, until_s=settle_s * 2.5 + 60.0, **shape)
    fell = fell[np.isfinite(fell)]
    t = np.arange(0.0, settle_s * 2, 0.1)
    slow = np.flatnonzero(gate_drips.rate(t, **shape) < rng.uniform(3, 6))
    begins = max(float(slow[0]) * 0.1, 2.0) + rng.uniform(0, 3)
    return [float(m) for m in gate_drips.marked(rng, fell, begins)]


class Person:
    """Does what the step calls, late; sees the screen once a second."""

    def __init__(self, job: Job, rng: np.random.Generator) -> None:
        self.job, self.rng = job, rng
        self.ready_s: float | None = None
        self.act_s: float | None = None
        self.settle_s = 0.0
        self.marks: list[float] = []
        self.slow_s = 0.0

    def before(self, step: Step, now_s: float) -> bool:
        """Return whether the plug is opened now."""
        if step.phase in (Phase.GET_READY, Phase.GO) and self.ready_s is None:
            self.ready_s = now_s + self.job.react[2]
        if step.phase is not Phase.GO:
            self.act_s = None
            return False
        if self.act_s is None:
            self.act_s = max(now_s, self.ready_s or now_s) + self.job.react[0]
        return now_s >= self.act_s

    def open_it(self, now_s: float) -> None:
        self.act_s = None
        self.settle_s = true_settle_s(self.job, now_s)
        self.marks = _drip_marks(self.job, self.rng, self.settle_s)

    def streams(self, elapsed_s: float) -> bool:
        """Whether what runs is a stream still, to the eye: over five drops a second."""
        rate = gate_drips.rate(
            np.array([elapsed_s]),
            settles_s=self.settle_s,
            steep=self.job.steep,
            b=self.job.b,
        )
        return bool(rate[0] > 5.0)

    def marks_until(self, step: Step, plan: Plan, now_s: float) -> Step:
        """Mark what fell since the last look, each at its own time."""
        opened = step.opened_at_s or 0.0
        while self.marks and opened + self.marks[0] <= now_s:
            step = mark(step, plan, Mark.DRIP, opened + self.marks.pop(0))
        return step

    def while_open(self, step: Step, plan: Plan, now_s: float) -> tuple[Step, bool]:
        """Return whether the plug goes in now, or is kept out because it streams."""
        opened = step.opened_at_s or 0.0
        if step.phase not in (Phase.SETTLED, Phase.CLOSE):
            self.act_s = None
            return step, False
        doubtful = step.instruction is Instruction.CLOSE_TIMER
        sees = doubtful and self.job.obeys_streaming and self.streams(now_s - opened)
        if sees:
            self.act_s = None
            return mark(step, plan, Mark.STREAMING, now_s), False
        if self.act_s is None:
            self.act_s = now_s + self.job.react[1]
        return step, now_s >= self.act_s


def run_ours(job: Job, rng: np.random.Generator) -> Done:
    """Run the step with the real core; looks once a second when it matters."""
    eye, done, person = Eye(job), Done(), Person(job, rng)
    plan = Plan(
        window=job.sheet.window,
        engine=job.sheet.engine,
        settle_s=job.sheet.settle_time_s,
        stay_chance=job.sheet.stay_chance,
        fill_ml=FILL_ML,
    )
    step, next_look = begin(0.0), 0.0
    for t in range(SPAN_S):
        eye.hear(t)
        if t < next_look:
            continue
        now_s = t + 0.2
        view = eye.look(step, plan, now_s)
        was_go = step.phase is Phase.GO
        if step.plug_open:
            step = person.marks_until(step, plan, now_s)
        step = advance(step, plan, view, now_s)
        done.called |= step.phase is Phase.GO
        done.withdrawn += was_go and step.phase is not Phase.GO
        before = view.temp_c is None or not view.opens or view.opens.p50_s != 0.0
        done.said_too_short |= before and step.instruction is Instruction.TOO_SHORT
        next_look = t + _pace(step, view)
        if step.plug_open:
            step, closes = person.while_open(step, plan, now_s)
            if closes:
                step = mark(step, plan, Mark.CLOSED, now_s)
                step = advance(step, plan, view, now_s)
                break
        elif person.before(step, now_s):
            step = mark(step, plan, Mark.OPENED, now_s)
            person.open_it(now_s)
        if step.phase is Phase.MISSED:
            break
    found = step.judgement
    if step.opened_at_s is not None:
        closed_s = step.closed_at_s if step.closed_at_s is not None else SPAN_S - 1.0
        done.claimed = step.claimed
        done.timer_only = found.timer_only if found else True
        _finish(job, done, step.opened_at_s, closed_s)
    return done


def _pace(step: Step, view: StepView) -> int:
    """Seconds to the next look: seldom while the window is far."""
    if step.plug_open or step.phase is Phase.GET_READY:
        return 2
    if step.phase is Phase.GO:
        return 1
    opens = view.opens
    if opens is not None and (opens.p05_s is None or opens.p05_s > 90.0):
        return 15
    return 4


def run_plain(job: Job, *, fixed_s: float | None) -> Done:
    """Open as soon as the reading is inside; close when settled, or by a timer.

    Without a timer the person watches the stream and the reading: closes when it has
    settled or the reading has left the window, whichever is first.
    """
    window, done = job.sheet.window, Done()
    read = job.read_c
    inside = (read >= window.low_c) & (read <= window.high_c)
    if not inside.any():
        return done
    first = int(np.argmax(inside))
    done.called = True
    # there is no call to get ready: but who waits for it stands by
    opened_s = first + job.react[0]
    if fixed_s is not None:
        closed_s = opened_s + fixed_s
    else:
        left = ~inside & ~np.isnan(read)
        later = np.flatnonzero(left & (np.arange(SPAN_S) > opened_s))
        shut_s = float(later[0]) if len(later) else math.inf
        settled_s = opened_s + true_settle_s(job, opened_s)
        closed_s = min(settled_s, shut_s) + job.react[1]
    _finish(job, done, opened_s, min(closed_s, SPAN_S - 1.0))
    return done


def _margin(job: Job) -> float | None:
    """Time of the first passage over settling and both reactions; None: no passage."""
    window = job.sheet.window
    inside = (job.true_c >= window.low_c) & (job.true_c <= window.high_c)
    if not inside.any():
        return None
    first = int(np.argmax(inside))
    out = np.flatnonzero(~inside[first:])
    stay_s = float(out[0]) if len(out) else float(SPAN_S - first)
    return stay_s / (true_settle_s(job, first) + job.react[0] + job.react[1])


def run_job(seed: tuple[int, int]) -> Result:
    """Run one job under the three methods; the same seed gives the same job."""
    rng = np.random.default_rng(seed)
    climate = list(AMBIENTS)[seed[1] % len(AMBIENTS)]
    job = make_job(rng, climate)
    window = job.sheet.window
    return Result(
        climate=climate,
        width_c=window.high_c - window.low_c,
        cooling=job.sheet.engine is EngineRule.OFF,
        margin=_margin(job),
        ours=run_ours(job, rng),
        at_once=run_plain(job, fixed_s=None),
        timer=run_plain(job, fixed_s=120.0),
    )
