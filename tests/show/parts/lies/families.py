"""The families of units that lie, and the honest ones they are weighed against."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from bridge.values.sheet import Window
from simulators.car.plant import Heat, Plant
from tests.show.parts.lies.world import (
    IDLE_RPM,
    POURED,
    SPAN_S,
    Case,
    case,
    cooling,
    finer,
    first,
    recorded,
    rounded,
    run,
    warming,
)

Rng = np.random.Generator


def _middle(made: Case) -> float:
    return round(0.5 * (made.window.low_c + made.window.high_c))


def _left(made: Case) -> int:
    """The second at which the truth has left the window for good."""
    return min(first(made.true_c > made.window.high_c) + 5, len(made.true_c) - 60)


def _after(made: Case, at: int, value: float) -> Case:
    says = made.says_c.copy()
    says[at:] = value
    return replace(made, says_c=says)


def jump(rng: Rng) -> Case:
    """From the truth to a fallback value inside the window, for good."""
    made = case(rng, "jump", warming(rng))
    at = _left(made) + int(rng.integers(0, 40))
    made = _after(made, at, _middle(made))
    bare = bool(rng.integers(0, 2))
    return replace(made, coolant_c=None, ambient_c=None) if bare else made


def key_cycle(rng: Rng) -> Case:
    """Out of the window; key off for a while; then a fallback value inside it."""
    made = case(rng, "key cycle", warming(rng))
    at = _left(made) + int(rng.integers(20, 60))
    off = int(rng.integers(5, 40))
    made = _after(made, at, _middle(made))
    rpm = made.rpm if made.rpm is not None else np.zeros(len(made.true_c))
    says, rpm = made.says_c.copy(), rpm.copy()
    says[at : at + off], rpm[at : at + off] = np.nan, 0.0
    return replace(made, says_c=says, rpm=rpm)


def _fast(made: Case, span: int = 300) -> tuple[Case, int]:
    """Five readings a second, from a minute before the truth leaves the window."""
    at = _left(made)
    begin = max(0, at - 60)
    grid = np.arange(begin, min(begin + span, len(made.true_c) - 1), 0.2)
    old = np.arange(len(made.true_c))
    coolant, rpm = made.coolant_c, made.rpm
    fast = replace(
        made,
        dt_s=0.2,
        true_c=np.interp(grid, old, made.true_c),
        says_c=rounded(np.interp(grid, old, made.true_c), made.code_c),
        coolant_c=None if coolant is None else np.interp(grid, old, coolant),
        rpm=None if rpm is None else np.interp(grid, old, rpm),
    )
    return fast, (at - begin) * 5


def dips(rng: Rng) -> Case:
    """The truth, with two seconds of a value inside the window now and then."""
    made, at = _fast(case(rng, "dips", warming(rng)))
    says = made.says_c.copy()
    for begin in range(at, len(says), int(rng.integers(40, 120))):
        says[begin : begin + 10] = _middle(made)
    return replace(made, says_c=says)


def five_and_five(rng: Rng) -> Case:
    """Five true readings, five inside the window, and so on."""
    made, at = _fast(case(rng, "five and five", warming(rng)))
    says, n = made.says_c.copy(), np.arange(len(made.says_c))
    says[(n >= at) & (n // 5 % 2 == 0)] = _middle(made)
    return replace(made, says_c=says)


def in_turn(rng: Rng) -> Case:
    """One true reading, one inside the window, and so on."""
    made, at = _fast(case(rng, "in turn", warming(rng)))
    says, n = made.says_c.copy(), np.arange(len(made.says_c))
    says[(n >= at) & (n % 2 == 0)] = _middle(made)
    return replace(made, says_c=says)


def frozen_warming(rng: Rng) -> Case:
    """Stops inside the window while the truth goes on and leaves it."""
    made = case(rng, "frozen warming", warming(rng))
    window = made.window
    span = window.high_c - window.low_c
    level = window.low_c + float(rng.uniform(0.1, 0.9)) * span
    at = first(made.true_c > level)
    made = _after(made, at, float(made.says_c[at]))
    bare = bool(rng.integers(0, 2))
    return replace(made, coolant_c=None, ambient_c=None) if bare else made


def frozen_flicker(rng: Rng) -> Case:
    """The same, with a flicker of one code every seven seconds."""
    made = replace(frozen_warming(rng), family="frozen, flickering")
    at = first(np.arange(len(made.says_c)) > len(made.says_c))
    still = np.flatnonzero(np.diff(made.says_c) != 0)
    at = int(still[-1]) + 1 if len(still) else 0
    says = made.says_c.copy()
    says[at::7] += made.code_c
    return replace(made, says_c=says)


def frozen_cooling(rng: Rng) -> Case:
    """Engine off, cooling; the unit stops inside the window."""
    truth = cooling(rng)
    made = case(rng, "frozen cooling", truth)
    span = made.window.high_c - made.window.low_c
    level = made.window.low_c + float(rng.uniform(0.2, 0.9)) * span
    at = first(made.true_c < level)
    return _after(made, at, float(made.says_c[at]))


def _from_start(rng: Rng, family: str, *, keep: str, warm: bool) -> Case:
    start = float(rng.uniform(60, 75)) if warm else None
    truth = warming(rng, start_c=start) if warm else warming(rng)
    made = case(rng, family, truth)
    where = float(rng.uniform(33, 45))
    window = Window(low_c=round(where - 5), high_c=round(where + 5))
    made = replace(made, window=window, says_c=np.full(len(made.says_c), round(where)))
    return replace(
        made,
        coolant_c=made.coolant_c if "c" in keep else None,
        ambient_c=made.ambient_c if "a" in keep else None,
        evidence="c" in keep,
    )


def start_all(rng: Rng) -> Case:
    """Frozen inside the window from the first reading on; cold engine, all read."""
    return _from_start(rng, "frozen from start", keep="ca", warm=False)


def start_coolant(rng: Rng) -> Case:
    """The same with only the coolant read."""
    return _from_start(rng, "frozen from start, coolant", keep="c", warm=False)


def start_warm(rng: Rng) -> Case:
    """The same with a warm engine, whose coolant does not move any more."""
    return _from_start(rng, "frozen from start, warm", keep="ca", warm=True)


def start_air(rng: Rng) -> Case:
    """The same with only the air read: nothing speaks against it."""
    return _from_start(rng, "frozen from start, air", keep="a", warm=False)


def start_bare(rng: Rng) -> Case:
    """The same with nothing else read."""
    return _from_start(rng, "frozen from start, bare", keep="", warm=False)


def slow_renewal(rng: Rng) -> Case:
    """A value renewed only every 10 to 60 seconds."""
    made = case(rng, "slow renewal", warming(rng))
    every = int(rng.integers(10, 61))
    n = np.arange(len(made.says_c)) // every * every
    return replace(made, says_c=made.says_c[n])


def drift(rng: Rng) -> Case:
    """Reads further and further off, half to one and a half degrees a minute."""
    made = case(rng, "drift", warming(rng), evidence=False)
    off = -float(rng.uniform(0.5, 1.5)) / 60.0 * np.arange(len(made.says_c))
    return replace(made, says_c=rounded(made.true_c + off, made.code_c))


def _offset(rng: Rng, family: str, *, bare: bool) -> Case:
    made = case(rng, family, warming(rng), evidence=not bare)
    off = float(rng.uniform(10, 25)) * float(rng.choice([-1.0, 1.0]))
    made = replace(made, says_c=rounded(made.true_c + off, made.code_c))
    return replace(made, coolant_c=None, ambient_c=None) if bare else made


def offset(rng: Rng) -> Case:
    """Off by 10 to 25 degC after a night's rest, coolant and air read."""
    return _offset(rng, "offset", bare=False)


def offset_bare(rng: Rng) -> Case:
    """The same with nothing else read."""
    return _offset(rng, "offset, bare", bare=True)


def coolant(rng: Rng) -> Case:
    """The coolant, read in the fluid's place."""
    made = case(rng, "coolant in its place", warming(rng))
    truth = made.coolant_c if made.coolant_c is not None else made.true_c
    return replace(made, says_c=rounded(truth, made.code_c))


LIARS: tuple[Callable[[Rng], Case], ...] = (
    jump,
    key_cycle,
    dips,
    five_and_five,
    in_turn,
    frozen_warming,
    frozen_flicker,
    frozen_cooling,
    start_all,
    start_coolant,
    start_warm,
    start_air,
    start_bare,
    slow_renewal,
    drift,
    offset,
    offset_bare,
    coolant,
)


def cold_start(rng: Rng) -> Case:
    """A night's rest, then idling through the window."""
    return case(rng, "cold start", warming(rng), honest=True)


def warm_start(rng: Rng) -> Case:
    """Heard of first when the fluid is inside the window already."""
    start = float(rng.uniform(36, 44))
    made = case(rng, "warm start", warming(rng, start_c=start), honest=True)
    low = round(start - float(rng.uniform(2, 5)))
    return replace(made, window=Window(low_c=low, high_c=low + 12.0))


def exercised(rng: Rng) -> Case:
    """The selector worked through its places near the window: churning in bursts."""
    at = int(rng.integers(120, 500))
    own = {"w": 0.0}

    def stir(t: int, plant: Plant) -> None:
        own["w"] = own["w"] or plant.body.churning_w
        busy = at <= t < at + 60 and (t - at) % 10 < 4
        churning = own["w"] * (2.0 if busy else 1.0)
        plant.body = replace(plant.body, churning_w=churning)

    ambient = float(rng.uniform(-5, 30))
    plant = Plant(Heat.soaked(ambient), ambient_c=ambient)
    made = case(rng, "selector worked", run(rng, plant, SPAN_S, stir=stir))
    n = np.arange(SPAN_S)
    places = np.where((n >= at) & (n < at + 60), (n - at) // 10 % 4, 0.0)
    seen = bool(rng.integers(0, 2))
    return replace(made, honest=True, selector=places if seen else None)


def cold_fill(rng: Rng) -> Case:
    """Warm; engine off; cold fresh fluid poured in; started again; the person tells."""
    ambient, fresh_c = float(rng.uniform(5, 25)), float(rng.uniform(5, 22))
    share = float(rng.uniform(0.3, 0.7))

    def stir(t: int, plant: Plant) -> None:
        if 120 <= t < 180:
            heat = plant.heat
            mixed = heat.fluid_c + share / 60.0 * (fresh_c - heat.fluid_c)
            plant.heat = replace(heat, fluid_c=mixed)

    heat = Heat(fluid_c=45.0, case_c=43.0, coolant_c=80.0, sensor_c=45.0)
    truth = run(
        rng,
        Plant(heat, ambient_c=ambient),
        1500,
        engine=lambda t: t < 60 or t >= 240,
        stir=stir,
    )
    made = case(rng, "cold fill", truth, honest=True)
    low = round(float(truth.fluid_c[240]) + 6.0)
    return replace(
        made,
        window=Window(low_c=low, high_c=low + 10.0),
        told=(replace(POURED, t_s=200.0),),
    )


def hot(rng: Rng) -> Case:
    """Hot from a drive, engine off, cooling through the window."""
    return case(rng, "cooling", cooling(rng), honest=True)


def real(rng: Rng, number: int, code_c: float) -> Case:
    """A recorded warm-up, rounded anew; engine and standing taken for granted."""
    t_s, temp_c = recorded(number)
    smooth = finer(t_s, temp_c)
    grid = np.arange(t_s[0], t_s[-1])
    says = np.interp(grid, t_s, temp_c) if code_c == 1.0 else smooth
    top = float(np.max(smooth))
    low = round(float(rng.uniform(smooth[0] + 2.0, max(top - 14.0, smooth[0] + 3.0))))
    return Case(
        family=f"recorded, {code_c:g} °C",
        window=Window(low_c=low, high_c=low + 10.0),
        true_c=smooth,
        says_c=rounded(says, code_c),
        code_c=code_c,
        honest=True,
    )


HONEST: tuple[Callable[[Rng], Case], ...] = (
    cold_start,
    warm_start,
    exercised,
    cold_fill,
    hot,
)
__all__ = ["HONEST", "IDLE_RPM", "LIARS", "real"]
