"""The coolant offered as the fluid: is it ever confirmed by a thermometer?

The person reads the true fluid with an honest thermometer, again and again through a
warm-up, and stops at the first 'confirmed'. Beside it the true signal, which must be
confirmed, or the rule would be worth nothing.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

from bridge.level.found_signal import why_not
from bridge.search.confirming import checkpoints
from bridge.search.scaling import SCALINGS, BytePlace
from bridge.search.watched import Address, Series, Typed, Watch
from simulators.car.hidden import hidden_bench

COOLANT = Address(0x7E1, 0x7E9, 0x22, 0x1000)
FLUID = Address(0x7E1, 0x7E9, 0x22, 0x1001)
PLACE = BytePlace(first_byte=0, byte_order="big", scaling=SCALINGS[0])
LASTS_S = 5400.0


@dataclass(slots=True)
class Tried:
    """One warm-up with both signals."""

    coolant_accepted: bool
    fluid_accepted: bool
    readings: int


def _byte(temp_c: float) -> bytes:
    return bytes([min(max(round(temp_c + 40), 0), 254)])


def attempt(seed: int) -> Tried:
    """Warm one random car up and read the thermometer every few minutes."""
    chance = random.Random(seed)
    bench, _ = hidden_bench(seed)
    car = bench.car
    car.engine_on = True
    accuracy_c = chance.choice([1.0, 1.5, 2.0, 3.0, 4.0])
    watch = Watch({COOLANT: Series(), FLUID: Series()})
    next_s, bias_c = chance.uniform(0, 60), chance.gauss(0.0, accuracy_c / 4)
    accepted = [False, False]
    t_s = 0.0
    while t_s < LASTS_S:
        car.advance(t_s)
        fluid_c, coolant_c = car.sensor_c or 0.0, car.coolant_c
        for address, value in ((COOLANT, coolant_c), (FLUID, fluid_c)):
            watch.series[address].t_s.append(t_s)
            watch.series[address].data.append(_byte(value))
        watch.coolant.append((t_s, float(round(coolant_c))))
        if t_s >= next_s:
            read_c = (car.fluid_c or 0.0) + bias_c + chance.gauss(0.0, accuracy_c / 2)
            watch.typed.append(Typed(t_s, round(read_c, 1), accuracy_c))
            next_s = t_s + chance.uniform(60, 420)
            for place, address in enumerate((COOLANT, FLUID)):
                told = checkpoints(watch, address, PLACE, str)
                accepted[place] = accepted[place] or not why_not(told)
        t_s += 5.0
    return Tried(
        coolant_accepted=accepted[0],
        fluid_accepted=accepted[1],
        readings=len(watch.typed),
    )
