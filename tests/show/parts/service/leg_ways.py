"""Levels set in phases, led by typed lines on a simulated car, against the truth."""

from __future__ import annotations

import random
from collections.abc import Callable

from bridge.level.step.step_values import Phase
from simulators.car.plant import Body, Heat, Plant
from tests.show.parts.service import ways
from tests.show.parts.service.ways import TICK_S, Job, Outcome

_DAY_C = 20.0
_MINUTES = 60


def begin(name: str, rng: random.Random, start_c: float = _DAY_C) -> Job:
    """Return a service at its beginning, engine off, all drained and filled again."""
    sheet = ways.load(str(ways.WAYS_FOLDER / f"{name}.toml"))
    heat = Heat(fluid_c=start_c, case_c=start_c, coolant_c=start_c, sensor_c=start_c)
    plant = Plant(heat, ambient_c=_DAY_C, body=Body(churning_w=rng.uniform(600, 800)))
    return Job(sheet=sheet, rng=rng, plant=plant)


def drips(job: Job, bad: list[str]) -> None:
    """Open at GO and mark the drips as they thin out; some close a stream."""
    if not job.until({Phase.GO}):
        bad.append("no GO came")
        return
    job.say("opened")
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


def hasty(job: Job) -> None:
    """Close a stream that still runs, and try to go on all the same."""
    job.until({Phase.GO})
    for word in ("opened", "streams"):
        job.say(word)
        job.tick()
    job.say("closed")
    job.tick()
    before = len(job.refused)
    job.say("next")
    del job.refused[before:]  # it must be refused: the step below shows whether it was
    job.tick()


def to_leg(job: Job, leg: int, most_s: int = 90 * _MINUTES) -> bool:
    """Wait until the readings have led on to a phase."""
    for _ in range(most_s):
        if job.seen.step and job.seen.step.leg >= leg:
            return True
        job.tick()
    return False


def refill(job: Job, bad: list[str]) -> None:
    """Drain and fill the whole service, once."""
    out = ways._drain(job, 1.0, bad, first=True)
    job.say("done filter") if job.sheet.service.filter_holds_ml else None
    ways._fill(job, out + (job.sheet.service.filter_holds_ml or 0.0), bad)


def confirm(job: Job) -> None:
    for what in ("cautions", *job.sheet.confirm):
        job.say(f"confirm {what}")


def static_then_warm(rng: random.Random) -> Outcome:
    """Static fill, selector, cooler, warm check; some slip in one of them."""
    job, bad = begin("tor-static-then-warm", rng), []
    refill(job, bad)
    confirm(job)
    slip = rng.choice(["static", "stop", "warm", "", "", ""])
    if slip == "static":
        hasty(job)
        assert job.seen.step is not None
        if job.seen.step.leg:
            bad.append("went on from a static fill that still ran")
        job.say("again")
    drips(job, bad)
    job.say("next")
    if slip == "stop":
        bad.append("stopped after the static fill")
        return ways._end(job, bad)
    job.engine_rpm = 750.0
    for _ in range(30):
        job.tick()
    job.say("next")
    if not to_leg(job, 3):
        bad.append("the cooler never opened")
        return ways._end(job, bad)
    if slip == "warm":
        hasty(job)
        bad.append("closed the warm check with a stream running")
    else:
        drips(job, bad)
        true_c, window = job.plant.heat.fluid_c, job.sheet.at(3).window
        if not window.low_c - 0.5 <= true_c <= window.high_c + 0.5:
            bad.append(f"closed at {true_c:.1f} °C")
    return ways._end(job, bad)


WAYS: dict[str, Callable[[random.Random], Outcome]] = {
    "static, then warm": static_then_warm,
}
