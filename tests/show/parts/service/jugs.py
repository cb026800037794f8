"""Random balances, and services measured with simulated jugs and thermometers.

The person measures what is true with a jug whose marks are off, reads to the nearer
mark one jug full after the other, spills and leaves some behind, and reads a
temperature that is off or does not know it. The balance is computed from what was
read only, and compared with the truth.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field

from bridge.service import balance
from bridge.service.amounts import (
    DRAINED,
    POURED,
    RAN_OFF,
    Jug,
    MeasuredAmount,
    TempSpan,
    Terms,
)
from bridge.service.balance import BalanceVerdict
from bridge.values.service_sheet import Service

JUG = Jug()
FILL_ML, TOLERANCE_ML = 5000.0, 250.0
SERVICE = Service(service_fill_ml=FILL_ML, service_fill_tolerance_ml=TOLERANCE_ML)


def by_54d(ml: float, from_c: float, to_c: float, density: float) -> float:
    """The table's own formula once more, so that ours is not judged by itself."""
    alpha = 0.6278 / density

    def factor(temp_c: float) -> float:
        d = temp_c - 15.0
        return math.exp(-alpha * d - 0.8 * (alpha * d) ** 2)

    return ml * factor(from_c) / factor(to_c)


def random_measures(rng: random.Random, most: int) -> list[MeasuredAmount]:
    """So many amounts at most, some without a temperature."""
    return [
        MeasuredAmount(
            ml=rng.uniform(0.0, 8000.0),
            temp_c=None if rng.random() < 0.3 else rng.uniform(-30.0, 120.0),
            place=f"place {i}",
        )
        for i in range(rng.randint(0, most))
    ]


def conserved(seed: int, cases: int) -> tuple[float, float]:
    """Worst of many balances, in mL: under a change of reference, and against 54D.

    A balance at one reference temperature, brought to another, is the balance at the
    other; and it is what the table's formula gives amount by amount.
    """
    rng = random.Random(seed)
    moved_worst = own_worst = 0.0
    for _ in range(cases):
        a, b, c = (random_measures(rng, 4) for _ in range(3))
        first_c, second_c = rng.uniform(-10.0, 60.0), rng.uniform(-10.0, 60.0)
        density = rng.uniform(800.0, 1164.0)
        one = balance.balance(
            a, b, c, Terms(reference_c=first_c, density_kg_m3=density)
        )
        two = balance.balance(
            a, b, c, Terms(reference_c=second_c, density_kg_m3=density)
        )
        moved = by_54d(one.net.ml, first_c, second_c, density)
        moved_worst = max(moved_worst, abs(moved - two.net.ml))
        by_hand = (
            _sum(b, POURED, first_c, density, -1.0)
            - _sum(a, DRAINED, first_c, density, 1.0)
            - _sum(c, RAN_OFF, first_c, density, 1.0)
        )
        own_worst = max(own_worst, abs(by_hand - one.net.ml))
    return moved_worst, own_worst


def _sum(
    some: list[MeasuredAmount],
    span: TempSpan,
    to_c: float,
    density: float,
    lost: float,
) -> float:
    middle = 0.5 * (span.low_c + span.high_c)
    return sum(
        by_54d(
            m.ml + lost * 0.5 * JUG.left_most_ml * bool(m.ml),
            middle if m.temp_c is None else m.temp_c,
            to_c,
            density,
        )
        for m in some
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """How a person measures."""

    name: str
    one_jug: bool
    """One jug and one thermometer for everything; else one each way."""
    temps_known: bool
    loses: float = 1.0
    """Up to this share of what a jug may lose at most."""


WORLDS = (
    World(name="a jug each way", one_jug=False, temps_known=True),
    World(name="one jug for all", one_jug=True, temps_known=True),
    World(name="no thermometer", one_jug=False, temps_known=False),
    World(name="one jug, no thermometer", one_jug=True, temps_known=False),
    World(name="losing little", one_jug=False, temps_known=True, loses=0.5),
)


@dataclass
class Tally:
    """How often the stated uncertainty held, and the verdicts."""

    cases: int = 0
    net_held: int = 0
    kept_held: int = 0
    widths_ml: list[float] = field(default_factory=list)
    errors_ml: list[float] = field(default_factory=list)
    verdicts: int = 0
    wrong: int = 0


class Person:
    """Someone with a jug that is off by a share, and a thermometer by some degrees."""

    def __init__(self, rng: random.Random, world: World) -> None:
        """Buy the jug and the thermometer."""
        self.rng, self.world = rng, world
        self.scale = rng.uniform(-JUG.scale_half, JUG.scale_half)
        half = Terms().thermometer_half_c
        self.off_c = rng.uniform(-half, half)

    def _lost(self) -> float:
        return self.rng.uniform(0.0, self.world.loses * JUG.left_most_ml)

    def read_out(self, true_ml: float) -> float:
        """What is read of an amount that came out."""
        left, told = max(1.0, true_ml - self._lost()), 0.0
        while left > 0.0:
            full = JUG.holds_ml * (1.0 + self.scale)
            # a full jug is filled to its mark as well as the eye can
            full += self.rng.uniform(-0.5, 0.5) * JUG.graduation_ml
            if left > full:
                told, left = told + JUG.holds_ml, left - full
                continue
            marks = left / (1.0 + self.scale) / JUG.graduation_ml
            return told + round(marks) * JUG.graduation_ml
        return told

    def pour(self, wanted_ml: float) -> float:
        """What truly went in, where a jug was filled to its marks for so much."""
        true_ml = -self._lost()
        while wanted_ml > 0.0:
            part = min(wanted_ml, JUG.holds_ml)
            error = self.rng.uniform(-0.5, 0.5) * JUG.graduation_ml
            true_ml += (part + error) * (1.0 + self.scale)
            wanted_ml -= part
        return max(0.0, true_ml)

    def temp(self, true_c: float) -> float | None:
        """What is told of a temperature."""
        return true_c + self.off_c if self.world.temps_known else None


def _one(rng: random.Random, world: World, tally: Tally) -> None:
    out_person = Person(rng, world)
    in_person = out_person if world.one_jug else Person(rng, world)
    density = rng.uniform(835.0, 865.0)
    out_c = rng.uniform(DRAINED.low_c, DRAINED.high_c)
    in_c = rng.uniform(POURED.low_c, POURED.high_c)
    over_c = rng.uniform(RAN_OFF.low_c, RAN_OFF.high_c)
    outs = [rng.uniform(2500.0, 5500.0), rng.uniform(200.0, 1500.0)]
    over, more = rng.uniform(50.0, 900.0), round(rng.uniform(100.0, 900.0), -2)
    # about the service fill and its limits, where a verdict can be wrong
    kept = FILL_ML + rng.uniform(-2.5, 2.5) * TOLERANCE_ML
    wanted = [round(kept + over - more, -1), more]
    ins = [in_person.pour(ml) for ml in wanted]
    done = balance.balance(
        [
            MeasuredAmount(ml=out_person.read_out(m), temp_c=out_person.temp(out_c))
            for m in outs
        ],
        [MeasuredAmount(ml=m, temp_c=in_person.temp(in_c)) for m in wanted],
        [MeasuredAmount(ml=out_person.read_out(over), temp_c=out_person.temp(over_c))],
    )
    true_in = by_54d(sum(ins), in_c, 20.0, density)
    true_out = by_54d(sum(outs), out_c, 20.0, density)
    true_over = by_54d(over, over_c, 20.0, density)
    _judge(done, true_in - true_over, true_out, tally)


def _judge(
    done: balance.Balance, true_kept: float, true_out: float, tally: Tally
) -> None:
    error = done.net.ml - (true_kept - true_out)
    tally.cases += 1
    tally.net_held += abs(error) <= done.net.expanded_ml
    tally.kept_held += abs(done.kept.ml - true_kept) <= done.kept.expanded_ml
    tally.errors_ml.append(error)
    tally.widths_ml.append(done.net.expanded_ml)
    judged = balance.judge(done, SERVICE)
    assert judged is not None
    by_ml = true_kept - FILL_ML
    true = {
        BalanceVerdict.HIGH: by_ml > TOLERANCE_ML,
        BalanceVerdict.LOW: by_ml < -TOLERANCE_ML,
        BalanceVerdict.WITHIN: abs(by_ml) <= TOLERANCE_ML,
    }
    if judged.verdict in true:
        tally.verdicts += 1
        tally.wrong += not true[judged.verdict]


def simulate(seed: int, cases: int, world: World) -> Tally:
    """Measure so many services in one world."""
    rng, tally = random.Random(f"{seed} {world.name}"), Tally()
    for _ in range(cases):
        _one(rng, world, tally)
    return tally
