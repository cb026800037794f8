"""A car nobody has a sheet for: a gearbox unit full of identifiers, drawn by chance.

One of them is the fluid's temperature; the others count, drift, follow the coolant,
hold voltages, pressures, speeds, positions and the temperatures of other things.
`hidden_bench` keeps the truth beside it, for whoever wants to judge a search.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import dataclass

from simulators.adapter.adapter import Adapter
from simulators.adapter.adapter_settings import AdapterSettings
from simulators.car.car import Car
from simulators.car.car_units import ENGINE_11, ENGINE_29, GEARBOX_11, make_units
from simulators.car.ecu import Source, Unit
from simulators.car.plant import Body, Heat, Plant
from simulators.serve.bench import Bench

Value = Callable[[Car], float]
FIRST_22, LAST_22 = 0x1000, 0x1FFF
OTHER_PLACES_29 = range(0x18, 0x20)


@dataclass(frozen=True, slots=True, kw_only=True)
class Code:
    """How a value becomes bytes."""

    length: int
    factor: float
    offset: float
    order: str = "big"

    def bytes_of(self, value: float) -> bytes:
        """Return the bytes, held within what they can carry."""
        raw: int = math.floor((value - self.offset) / self.factor + 0.5)
        size = 256**self.length
        if self.length == 2 and raw < 0:
            raw += size  # two's complement
        kept: int = min(max(raw, 0), size - 1)
        return kept.to_bytes(self.length, "little" if self.order == "little" else "big")


FLUID_CODES = (
    Code(length=1, factor=1.0, offset=-40.0),
    Code(length=1, factor=0.5, offset=-40.0),
    Code(length=2, factor=0.0625, offset=0.0),
    Code(length=2, factor=0.1, offset=0.0),
    Code(length=2, factor=0.1, offset=-40.0),
    Code(length=2, factor=0.03125, offset=-273.0, order="little"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class HiddenTruth:
    """Where the fluid's temperature is."""

    request_id: int
    reply_id: int
    service: int
    identifier: int
    first_byte: int
    code: Code


class _Lag:
    """A first-order follower of something, moved on by the car's own time."""

    def __init__(self, follows: Value, seconds: float, start_c: float) -> None:
        self._follows, self._seconds = follows, seconds
        self._value, self._t_s = start_c, 0.0

    def __call__(self, car: Car) -> float:
        dt_s = max(0.0, car.now_s - self._t_s)
        self._t_s = max(self._t_s, car.now_s)
        share = -math.expm1(-dt_s / self._seconds)
        self._value += share * (self._follows(car) - self._value)
        return self._value


class _Walk:
    """A value that wanders."""

    def __init__(self, chance: random.Random, start: float, step: float) -> None:
        self._chance, self._value, self._step = chance, start, step

    def __call__(self, _: Car) -> float:
        self._value += self._chance.gauss(0.0, self._step)
        return self._value


def _noisy(chance: random.Random, value: Value, sd: float) -> Value:
    return lambda car: value(car) + chance.gauss(0.0, sd)


Made = tuple[Value, Code]
Maker = Callable[[random.Random, float], Made]
_BYTE = Code(length=1, factor=1.0, offset=0.0)
_WORD = Code(length=2, factor=1.0, offset=0.0)


def _temp(chance: random.Random) -> Code:
    return chance.choice(FLUID_CODES)


def _counter(chance: random.Random, _: float) -> Made:
    rate, at = chance.uniform(0.005, 4.0), chance.uniform(0, 200)
    small = chance.random() < 0.5
    size = 256 if small else 65536
    return lambda c: (at + rate * c.now_s) % size, _BYTE if small else _WORD


def _drift(chance: random.Random, _: float) -> Made:
    return _Walk(chance, chance.uniform(20, 230), chance.uniform(0.05, 1.0)), _BYTE


def _coolant(chance: random.Random, _: float) -> Made:
    return (lambda c: c.coolant_c), _temp(chance)


def _volts(chance: random.Random, _: float) -> Made:
    fine = chance.random() < 0.5
    code = Code(length=2, factor=0.001, offset=0.0)
    return _noisy(chance, lambda c: c.voltage_v, 0.05), (
        code if fine else Code(length=1, factor=0.1, offset=0.0)
    )


def _pressure(chance: random.Random, _: float) -> Made:
    bar, thins = chance.uniform(3, 9), chance.uniform(0.0, 0.04)
    code = Code(length=2, factor=0.01, offset=0.0)
    pumped = lambda c: bar - thins * ((c.fluid_c or 20) - 20)  # noqa: E731
    return _noisy(chance, pumped, 0.08), code


def _turning(chance: random.Random, _: float) -> Made:
    share = chance.choice((0.25, 0.5, 1.0))
    factor = chance.choice((0.25, 1.0))
    return _noisy(chance, lambda c: c.engine_rpm * share, 4.0), Code(
        length=2, factor=factor, offset=0.0
    )


def _board(chance: random.Random, start_c: float) -> Made:
    above, lag_s = chance.uniform(6, 25), chance.uniform(100, 400)
    return _Lag(lambda c: c.ambient_c + above, lag_s, start_c), _temp(chance)


def _engine_oil(chance: random.Random, start_c: float) -> Made:
    share, lag_s = chance.uniform(0.8, 1.0), chance.uniform(60, 200)
    mixed = lambda c: share * c.coolant_c + (1 - share) * c.ambient_c  # noqa: E731
    first = _Lag(mixed, lag_s, start_c)
    return _Lag(first, chance.uniform(5, 60), start_c), _temp(chance)


def _intake(chance: random.Random, _: float) -> Made:
    return _noisy(chance, lambda c: c.ambient_c + 2.0, 0.7), _temp(chance)


def _exhaust(chance: random.Random, start_c: float) -> Made:
    hot = chance.uniform(180, 350)
    return _Lag(lambda c: c.ambient_c + hot, 90.0, start_c), Code(
        length=2, factor=0.1, offset=-40.0
    )


def _seconds(__: random.Random, _: float) -> Made:
    return (lambda c: c.run_s), _WORD


def _fixed(chance: random.Random, _: float) -> Made:
    value = float(chance.randrange(256))
    return (lambda _: value), _BYTE


_MAKERS: tuple[Maker, ...] = (
    _counter, _counter, _drift, _drift, _coolant, _volts, _volts, _pressure, _pressure,
    _turning, _turning, _board, _engine_oil, _intake, _exhaust, _seconds, _fixed,
    _fixed,
)  # fmt: skip
"""Makers of everything that is not the fluid's temperature, as often as listed."""


def _source(parts: list[tuple[Value, Code]]) -> Source:
    return lambda car: b"".join(code.bytes_of(value(car)) for value, code in parts)


def _spread(
    chance: random.Random, parts: list[tuple[Value, Code]]
) -> list[list[tuple[Value, Code]]]:
    """Deal the parts out into answers of one to six parts."""
    chance.shuffle(parts)
    blocks = []
    while parts:
        size = chance.choice((1, 1, 1, 2, 2, 3, 6))
        blocks.append(parts[:size])
        parts = parts[size:]
    return blocks


def _names(chance: random.Random, count: int) -> list[tuple[int, int]]:
    """Return services and identifiers, all distinct, none standing out."""
    few = min(count // 3, 40)
    locals_ = chance.sample(range(1, 0x100), few)
    wide = chance.sample(range(FIRST_22, LAST_22 + 1), count - few)
    return [(0x21, i) for i in locals_] + [(0x22, i) for i in wide]


def _car(chance: random.Random) -> Car:
    ambient_c = chance.uniform(2.0, 32.0)
    body = Body(
        fluid_j_per_k=chance.uniform(9e3, 16e3),
        case_j_per_k=chance.uniform(12e3, 28e3),
        coolant_j_per_k=chance.uniform(26e3, 45e3),
        fluid_case_w_per_k=chance.uniform(40, 140),
        case_air_w_per_k=chance.uniform(4, 12),
        exchanger_w_per_k=chance.uniform(0, 30),
        churning_w=chance.uniform(300, 1100),
        sensor_lag_s=chance.uniform(1, 8),
    )
    plant = Plant(Heat.soaked(ambient_c), ambient_c=ambient_c, body=body)
    car = Car(
        plant=plant, engine_on=False, protocol="7" if chance.random() < 0.3 else "6"
    )
    car.idle_rpm = chance.uniform(650, 900)
    return car


def hidden_bench(
    seed: int,
    *,
    span: tuple[int, int] | None = None,
    scale: float = 1.0,
    baud: int | None = None,
) -> tuple[Bench, HiddenTruth]:
    """Return a bench after a night's rest, engine off, and where its fluid is told.

    ``span``: first and last identifier of service 0x22 its answers lie in.
    """
    chance = random.Random(seed)  # noqa: S311 - a repeatable car, not a secret
    car = _car(chance)
    car.scale = scale
    wide = car.protocol == "7"
    gearbox = GEARBOX_11
    if wide:
        place = chance.choice(OTHER_PLACES_29)
        gearbox = 0x18DA00F1 | place << 8, 0x18DAF100 | place
    more = chance.choices(_MAKERS, k=chance.randrange(4, 24))
    parts = [maker(chance, car.ambient_c) for maker in (*_MAKERS, *more)]
    code = chance.choice(FLUID_CODES)
    fluid: tuple[Value, Code] = (lambda c: c.sensor_c or 0.0), code
    blocks = _spread(chance, [*parts, fluid])
    names = _names(chance, len(blocks))
    if span is not None:
        names = _packed(chance, names, span)
    table = dict(zip(names, blocks, strict=True))
    unit = Unit(
        car=car,
        name="gearbox",
        request_id=gearbox[0],
        reply_id=gearbox[1],
        latency_s=0.012,
        identifiers={i: _source(b) for (s, i), b in table.items() if s == 0x22},
        locals_={i: _source(b) for (s, i), b in table.items() if s == 0x21},
    )
    engine = next(
        u for u in make_units(car, ()) if u.request_id in (ENGINE_11[0], ENGINE_29[0])
    )
    settings = AdapterSettings(baud=baud or 115_200)
    bench = Bench(car, Adapter(car, (engine, unit), settings=settings))
    return bench, _truth(table, fluid, gearbox)


def _packed(
    chance: random.Random, names: list[tuple[int, int]], span: tuple[int, int]
) -> list[tuple[int, int]]:
    """Move the identifiers of service 0x22 into a narrower span."""
    wide = [n for n in names if n[0] == 0x22]
    fresh = chance.sample(range(span[0], span[1] + 1), len(wide))
    return [n for n in names if n[0] != 0x22] + [(0x22, i) for i in fresh]


def _truth(
    table: dict[tuple[int, int], list[tuple[Value, Code]]],
    fluid: tuple[Value, Code],
    gearbox: tuple[int, int],
) -> HiddenTruth:
    for (service, identifier), parts in table.items():
        first = 0
        for part in parts:
            if part is fluid:
                return HiddenTruth(
                    request_id=gearbox[0],
                    reply_id=gearbox[1],
                    service=service,
                    identifier=identifier,
                    first_byte=first,
                    code=fluid[1],
                )
            first += part[1].length
    raise AssertionError("the fluid was dealt out")
