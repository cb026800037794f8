"""Levels set in phases, led by typed lines on a simulated car, against the truth."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace

from bridge.level.step.step_values import Instruction, Phase
from bridge.service.log import OneCircuit, circuits_of
from bridge.service.sums import balance_of
from simulators.car.plant import Body, Heat, Plant
from tests.show.parts.service import ways
from tests.show.parts.service.ways import Job, Outcome

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
    ways.mark_drips(job)


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


def judged_by(job: Job, bad: list[str]) -> None:
    """Hold the fluid at closing against the window that the truth asks for."""
    true_c, window = job.plant.heat.fluid_c, job.session.lead.window
    if not window.low_c - 0.5 <= true_c <= window.high_c + 0.5:
        bad.append(f"closed at {true_c:.1f} °C")


def by_air(rng: random.Random) -> Outcome:
    """The window of the air there is; some type another air than there is."""
    job, bad = begin("rime-by-air", rng, start_c=27.0), []
    refill(job, bad)
    confirm(job)
    true_air = rng.uniform(-5.0, 28.0)
    job.engine_rpm = 750.0
    if rng.random() < 0.5:
        job.air_c = round(true_air)
    else:
        job.say(f"air {true_air:.1f} C")
    if rng.random() < 0.15:
        wrong = 20.0 if true_air < 10.0 else 0.0
        job.say(f"air {wrong:.0f} C")
        bad.append("another air typed than there is")
    drips(job, bad)
    judged_by(job, bad)
    done = ways._end(job, bad)
    if bad == ["another air typed than there is"]:
        return replace(done, bad=())  # no program knows better than what it is told
    return done


def in_gear(rng: random.Random) -> Outcome:
    """In D, one at the brake, one under the car; some shift with the plug out."""
    job, bad = begin("fen-in-gear", rng, start_c=36.0), []
    refill(job, bad)
    confirm(job)
    job.engine_rpm = 750.0
    if rng.random() < 0.2:
        job.say("confirm brake-held Ann, Ben")  # before the lever is moved: not kept
    for _ in range(20):
        job.tick()
    job.selector = "D"
    job.tick()
    job.say("confirm brake-held Ann, Ben")
    if rng.random() < 0.2:
        job.until({Phase.GO})
        job.say("opened")
        job.tick()
        job.selector = "N"
        bad.append("shifted with the plug out")
        for _ in range(3):
            job.tick()
        called = job.seen.step and job.seen.step.instruction is Instruction.COME_OUT
        bad += [] if called else ["nobody was called out"]
        job.selector = "D"
    drips(job, bad)
    return ways._end(job, bad)


def hybrid(rng: random.Random) -> Outcome:
    """Engine off for two minutes; in some its engine starts by itself."""
    job, bad = begin("moss-hybrid", rng, start_c=rng.uniform(50.0, 58.0)), []
    refill(job, bad)
    confirm(job)
    job.say("confirm drive-safe Ann")
    off_s = job.now_s
    if rng.random() < 0.3:
        for _ in range(rng.randint(10, 100)):
            job.tick()
        job.engine_rpm = 1100.0
        job.tick()
        job.engine_rpm = 0.0
        job.tick()
        off_s = job.now_s
        job.say("confirm drive-safe Ann")
    drips(job, bad)
    step = job.seen.step
    if step and step.opened_at_s is not None and step.opened_at_s - off_s < 119.0:
        bad.append("opened before the two minutes were over")
    judged_by(job, bad)
    return ways._end(job, bad)


def electric(rng: random.Random) -> Outcome:
    """On its own pump, up to 45 degC, by the person's word."""
    job, bad = begin("moor-electric", rng, start_c=rng.uniform(20.0, 44.0)), []
    refill(job, bad)
    confirm(job)
    job.say("confirm drive-safe Ann")
    job.say("confirm engine")
    if rng.random() < 0.15:
        hasty(job)
        bad.append("closed at once, a stream still running")
    else:
        drips(job, bad)
        judged_by(job, bad)
    return ways._end(job, bad)


def two_circuits(rng: random.Random) -> Outcome:
    """Two fluids, each drained, filled and set; some pour them the wrong way round."""
    job, bad = begin("gill-two-circuits", rng, start_c=rng.uniform(30.0, 38.0)), []
    sheet, nets = job.sheet, {c.name: 0.0 for c in job.sheet.service.circuits}
    expected = {d.circuit: d for d in sheet.service.drains}
    put = {name: drain.expected_ml or 0.0 for name, drain in expected.items()}
    slip = rng.choice(["mixed", "one left empty", "", "", "", "", ""])
    if slip == "mixed":
        put = dict(zip(put, reversed(list(put.values())), strict=True))
        bad.append("poured into the wrong circuit")
    for name, drain in expected.items():
        out = (drain.expected_ml or 0.0) * rng.uniform(0.97, 1.03)
        job.say(f"out {drain.name} {ways.jug(rng, out) / 1000.0:.2f} L at 20 C")
        nets[name] -= out
    for name, ml in put.items():
        if slip == "one left empty" and name == "final drive":
            bad.append("the final drive was not filled")
            continue
        line = f"in {name} {ways.jug(rng, ml) / 1000.0:.2f} L at 20 C"
        job.say(line)
        nets[name] += ml
    confirm(job)
    drips(job, bad)
    job.say("next")
    if slip == "" and rng.random() < 0.15:
        bad.append("the gear side's level never set")
        return ways._end(job, bad)
    job.engine_rpm = 750.0
    drips(job, bad)
    judged_by(job, bad)
    one = rng.choice(circuits_of(sheet, job.session.log))  # k = 2 is of one figure
    held = _held(one, nets[one.name])
    return ways._end(job, bad, net_held=None if slip else held)


def _held(one: OneCircuit, true_ml: float) -> bool:
    found = balance_of(one.sheet, one.log)
    return not isinstance(found, str) and (
        abs(found.net.ml - true_ml) <= found.net.expanded_ml
    )


WAYS: dict[str, Callable[[random.Random], Outcome]] = {
    "static, then warm": static_then_warm,
    "window by air": by_air,
    "level in D": in_gear,
    "hybrid, wait": hybrid,
    "electric, one end": electric,
    "two circuits": two_circuits,
}
