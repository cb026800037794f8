"""Stated doubts against a Monte Carlo: what a level, an amount and a share are worth.

Each case is one set of figures as they were read. Its stated figure and doubt (k = 2)
are the program's; beside them stand draws of what may truly be, made here from what
each source may be off by (JCGM 101:2008, 5 to 7: propagation of distributions;
readings that scatter are drawn from the scaled and shifted t-distribution, 6.4.9;
numbers from memory). Expansion is 54D's formula written out in ``jugs``. Stated is
held where the doubt covers at least 95 % of the draws (8.1) and is not idly wide.
"""

from __future__ import annotations

import math
import random
import statistics
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from bridge.level.budget import Closing, budget
from bridge.level.step.stick import Beside, StickRead, worth
from bridge.service.amounts import Amount, MeasuredAmount, Scale, Terms
from bridge.service.balance import balance
from bridge.service.rounds import old_share
from bridge.values.sheet import StickMarks
from tests.show.parts.service.jugs import JUG, by_54d

HELD = 0.95
WIDEST = 1.45
"""Of the half-width that truly holds 95 %. One rectangular source alone makes k = 2
1.22 of it; what is lost, taken to add up over all amounts, makes the rest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One figure as the program states it, and what may truly be."""

    name: str
    stated: float
    expanded: float
    draw: Callable[[random.Random], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What the draws say of a case."""

    name: str
    held: float
    """Share of the draws the stated doubt covers."""
    wide: float
    """The stated doubt over half of the interval that holds 95 % of the draws."""
    off: float
    """How far the stated figure is from the draws' mean, in stated doubts."""


def run(case: Case, seed: int, draws: int) -> Found:
    """Draw a case so often."""
    rng = random.Random(f"{seed} {case.name}")
    ys = sorted(case.draw(rng) for _ in range(draws))
    low, high = ys[round(0.025 * draws)], ys[round(0.975 * draws) - 1]
    inside = sum(abs(y - case.stated) <= case.expanded for y in ys)
    return Found(
        name=case.name,
        held=inside / draws,
        wide=case.expanded / (0.5 * (high - low)),
        off=abs(case.stated - statistics.fmean(ys)) / case.expanded,
    )


def cases() -> Iterator[Case]:
    """Yield every budget there is, each with figures as a service has them."""
    yield _overflow("overflow", sensor_c=1.5, tilt_deg=0.5, more_ml=30.0)
    yield _overflow("overflow, tilt alone", sensor_c=0.0, tilt_deg=1.0, more_ml=0.0)
    yield _overflow(
        "overflow, still running", sensor_c=1.0, tilt_deg=0.2, more_ml=250.0
    )
    yield _stick("stick, two that agree", (44.0, 44.0))
    yield _stick("stick, three", (43.0, 45.0, 44.0))
    yield _stick("stick, four apart", (40.0, 47.0, 44.0, 45.0))
    yield _refill("measured by volume", weighed=False)
    yield _refill("measured by weight", weighed=True)
    yield _share("share after one round", (3100.0,))
    yield _share("share after two rounds", (3100.0, 3100.0))
    yield _share("share after three rounds", (5100.0, 4900.0, 5000.0))


def _half(rng: random.Random, half: float) -> float:
    return rng.uniform(-half, half)


def _overflow(name: str, *, sensor_c: float, tilt_deg: float, more_ml: float) -> Case:
    at = Closing(
        temp_c=44.0,
        sd_c=0.2,
        meant_c=47.0,
        fill_ml=9100.0,
        density_kg_m3=851.0,
        area_cm2=640.0,
        sensor_accuracy_c=sensor_c,
        tilt_limit_deg=tilt_deg,
        opening_forward_mm=-95.0,
        opening_right_mm=55.0,
        more_ml=more_ml,
    )
    told = budget(at)

    def draw(rng: random.Random) -> float:
        true_c = rng.gauss(at.temp_c, at.sd_c) + _half(rng, sensor_c)
        off_ml = by_54d(at.fill_ml, true_c, at.meant_c, at.density_kg_m3) - at.fill_ml
        along, across = (
            math.tan(math.radians(_half(rng, tilt_deg))) * mm for mm in (95.0, 55.0)
        )
        return off_ml + (along + across) * 64.0 + rng.uniform(0.0, more_ml)

    return Case(name=name, stated=told.off_ml, expanded=told.expanded_ml, draw=draw)


_MARKS = (
    StickMarks(temp_c=60.0, low_mm=37.0, high_mm=51.0),
    StickMarks(temp_c=80.0, low_mm=41.0, high_mm=55.0),
)
"""0.2 mm/K, and 47 mm in the middle at 75 degC."""


def _stick(name: str, mm: tuple[float, ...]) -> Case:
    temp_c, sd_c, accuracy_c, tilt_mm = 75.0, 0.3, 2.0, 1.0
    reads = [StickRead(at_s=0.0, temp_c=temp_c, sd_c=sd_c, mm=m) for m in mm]
    beside = Beside(sensor_accuracy_c=accuracy_c, tilt_sd_mm=tilt_mm / math.sqrt(3.0))
    told = worth(reads, _MARKS, 430.0, beside)
    assert told is not None
    many, scatter_mm = len(mm), statistics.stdev(mm)

    def draw(rng: random.Random) -> float:
        if scatter_mm < 0.5:  # they agree: a careful hand's millimeter is what is known
            by_hand = rng.gauss(0.0, 1.0)
        else:
            chi2 = rng.gammavariate(0.5 * (many - 1), 2.0)
            by_hand = scatter_mm * rng.gauss(0.0, 1.0) / math.sqrt(chi2 / (many - 1))
        heat_c = rng.gauss(temp_c, sd_c) + _half(rng, accuracy_c)
        middle_mm = 47.0 + 0.2 * (heat_c - temp_c)
        read_mm = statistics.fmean(mm) + by_hand / math.sqrt(many)
        return 43.0 * (read_mm - middle_mm + _half(rng, tilt_mm))

    return Case(name=name, stated=told.off_ml, expanded=told.expanded_ml, draw=draw)


_TERMS = Terms(density_kg_m3=851.0, density_half_kg_m3=5.0)


def _true_ml(
    rng: random.Random, read: MeasuredAmount, scale: float, off_c: float, density: float
) -> float:
    """What may have been there, at 20 degC, of an amount that was read so."""
    full = math.ceil(read.ml / JUG.holds_ml)
    if read.weighed:
        grams = read.ml * _TERMS.density_kg_m3 / 1000.0
        grams += sum(_half(rng, 0.5 * Scale().graduation_g) for _ in range(full))
        at_15_ml = grams * (1.0 + scale) * 1000.0 / density
        return by_54d(at_15_ml, 15.0, 20.0, density)
    ml = read.ml + sum(_half(rng, 0.5 * JUG.graduation_ml) for _ in range(full))
    assert read.temp_c is not None
    return by_54d(ml * (1.0 + scale), read.temp_c + off_c, 20.0, density)


def _lost(rng: random.Random) -> float:
    return rng.uniform(0.0, JUG.left_most_ml)


def _refill(name: str, *, weighed: bool) -> Case:
    """4.2 L drained in two places and filled again; each way its jug and its fluid."""
    out_c, in_c = (15.0, 15.0) if weighed else (45.0, 12.0)
    out = [
        MeasuredAmount(ml=ml, temp_c=out_c, weighed=weighed) for ml in (3600.0, 600.0)
    ]
    put = [MeasuredAmount(ml=4200.0, temp_c=in_c, weighed=weighed)]
    told = balance(out, put, (), _TERMS).net
    half = Scale().scale_half if weighed else JUG.scale_half

    def draw(rng: random.Random) -> float:
        net_ml = 0.0
        for amounts, way in ((out, -1.0), (put, 1.0)):
            scale, off_c = _half(rng, half), _half(rng, _TERMS.thermometer_half_c)
            density = 851.0 + _half(rng, _TERMS.density_half_kg_m3)
            for read in amounts:
                net_ml += way * _true_ml(rng, read, scale, off_c, density)
                net_ml -= _lost(rng)
        return net_ml

    return Case(name=name, stated=told.ml, expanded=told.expanded_ml, draw=draw)


def _share(name: str, out_ml: tuple[float, ...]) -> Case:
    """Percent of old fluid; one jug and one thermometer through all rounds."""
    total_ml = 7600.0
    out = [MeasuredAmount(ml=ml, temp_c=45.0) for ml in out_ml]
    told = old_share(
        [balance([m], [], (), _TERMS).out for m in out], Amount(ml=total_ml)
    )

    def draw(rng: random.Random) -> float:
        share, scale = 1.0, _half(rng, JUG.scale_half)
        off_c = _half(rng, _TERMS.thermometer_half_c)
        density = 851.0 + _half(rng, _TERMS.density_half_kg_m3)
        for read in out:
            ml = _true_ml(rng, read, scale, off_c, density) + _lost(rng)
            share *= 1.0 - ml / total_ml
        return 100.0 * share

    return Case(
        name=name,
        stated=100.0 * told.share,
        expanded=200.0 * told.sd,
        draw=draw,
    )
