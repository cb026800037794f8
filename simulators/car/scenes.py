"""Named situations a car can be met in, each fitted to the window of a sheet."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bridge.values.errors import UsageError
from bridge.values.sheet import EngineRule, Window
from simulators.adapter.adapter import Adapter
from simulators.adapter.adapter_settings import AdapterSettings
from simulators.car.car import Car
from simulators.car.car_units import is_wide, make_units
from simulators.car.plant import Body, Heat, Plant, settles_at
from simulators.serve.bench import Bench

if TYPE_CHECKING:
    from bridge.values.sheet import Sheet
    from simulators.car.curve import Curve
    from simulators.faults.fault import BenchFault

_ROOM_C = 20.0
_PAST_C = 22.0
"""How far above the window idling settles: so that the fluid still warms by 1 °C a
minute where it leaves the window."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """Where a scene starts: the body of the car, its heat and the air around it."""

    body: Body
    heat: Heat
    ambient_c: float


def _cold_start(window: Window) -> Setting:
    """A night's soak, then idling up to the window and past it."""
    start_c = min(_ROOM_C, window.low_c - 10.0)
    body = _that_settles(Body(), start_c, above_c=window.high_c + _PAST_C)
    return Setting(body=body, heat=Heat.soaked(start_c), ambient_c=start_c)


def _warm_day(window: Window) -> Setting:
    """A warm place, the fluid already a third of the way through the window."""
    fluid_c = window.low_c + 0.35 * (window.high_c - window.low_c)
    ambient_c = min(30.0, fluid_c - 4.0)
    body = _that_settles(Body(), ambient_c, above_c=window.high_c + _PAST_C)
    heat = Heat(
        fluid_c=fluid_c,
        case_c=fluid_c - 4.0,
        coolant_c=fluid_c + 20.0,
        sensor_c=fluid_c,
    )
    return Setting(body=body, heat=heat, ambient_c=ambient_c)


def _hot(window: Window) -> Setting:
    """After a drive: the gearbox cools through the window, idling or not.

    For a sheet that wants the engine running it has an air cooler strong enough to
    bring the fluid down while it idles.
    """
    fluid_c = window.high_c + 12.0
    ambient_c = min(_ROOM_C, window.low_c - 25.0)
    body = replace(Body(), exchanger_w_per_k=0.0, fluid_air_w_per_k=10.0)
    body = _that_settles(body, ambient_c, below_c=window.low_c - 6.0)
    heat = Heat(fluid_c=fluid_c, case_c=fluid_c - 3.0, coolant_c=88.0, sensor_c=fluid_c)
    return Setting(body=body, heat=heat, ambient_c=ambient_c)


def _deep_cold(window: Window) -> Setting:
    """Air so cold that idling never brings the fluid up to the window."""
    ambient_c = min(-25.0, window.low_c - 55.0)
    body = replace(Body(), exchanger_w_per_k=5.0, case_air_w_per_k=12.0)
    body = _that_settles(body, ambient_c, below_c=window.low_c - 6.0)
    return Setting(body=body, heat=Heat.soaked(ambient_c), ambient_c=ambient_c)


SCENES: dict[str, Callable[[Window], Setting]] = {
    "cold-start": _cold_start,
    "warm-day": _warm_day,
    "hot": _hot,
    "deep-cold": _deep_cold,
}
_DEFAULT_WINDOW = Window(low_c=42.0, high_c=52.0)


def _that_settles(
    body: Body,
    ambient_c: float,
    *,
    above_c: float | None = None,
    below_c: float | None = None,
) -> Body:
    """Turn heat up, or cooling, until idling settles where the scene needs it."""
    for _ in range(60):
        end_c = settles_at(body, ambient_c=ambient_c, engine_on=True)
        if above_c is not None and end_c < above_c:
            body = _warmer(body)
        elif below_c is not None and end_c > below_c:
            body = replace(
                body,
                case_air_w_per_k=1.1 * body.case_air_w_per_k,
                fluid_air_w_per_k=1.15 * body.fluid_air_w_per_k,
            )
        else:
            return body
    return body


def _warmer(body: Body) -> Body:
    """A body that settles a little warmer: better wrapped rather than harder driven.

    More heat alone would reach a high window several times as fast as a car does.
    """
    return replace(
        body,
        churning_w=1.04 * body.churning_w,
        exchanger_w_per_k=1.03 * body.exchanger_w_per_k,
        fluid_case_w_per_k=1.04 * body.fluid_case_w_per_k,
        case_air_w_per_k=0.9 * body.case_air_w_per_k,
        fluid_air_w_per_k=0.9 * body.fluid_air_w_per_k,
    )


def make_bench(
    scene: str,
    sheet: Sheet | None,
    *,
    seed: int = 0,
    trace: Curve | None = None,
    baud: int | None = None,
    latency_s: float = 0.01,
    faults: Sequence[BenchFault] | None = None,
    settings: AdapterSettings | None = None,
    scale: float = 1.0,
) -> Bench:
    """Build the bench of a scene, its control units speaking as the sheet says.

    Without a sheet the demonstration units and a window of 42 to 52 °C. The engine
    idles, unless the sheet wants it off. A trace takes the place of the plant's
    fluid. ``baud``: instead of the settings' own (115200). ``faults`` are on from the
    start. ``seed`` varies the car a little (a few percent of its heat). ``scale``:
    car seconds per bench second. Raises UsageError for a scene that does not exist.
    """
    if scene not in SCENES:
        raise UsageError(
            f"There is no scene {scene!r}: choose one of {', '.join(SCENES)}."
        )
    setting = SCENES[scene](sheet.window.drawn if sheet else _DEFAULT_WINDOW)
    car = _car(setting, sheet, trace, seed, scene)
    car.scale = scale
    make = settings or AdapterSettings()
    make = replace(make, baud=baud or make.baud)
    signals = (sheet.signals if sheet else ()) or None
    units = make_units(car, signals, latency_s=latency_s)
    bench = Bench(car, Adapter(car, units, settings=make))
    for fault in faults or ():
        bench.add(fault.name, fault)
    return bench


def _car(
    setting: Setting, sheet: Sheet | None, trace: Curve | None, seed: int, scene: str
) -> Car:
    chance = random.Random(seed)  # noqa: S311 - a repeatable car, not a secret
    body = setting.body
    if seed:
        body = replace(
            body, fluid_j_per_k=body.fluid_j_per_k * chance.uniform(0.95, 1.1)
        )
    if sheet is None:
        engine_on = scene != "hot"
        idle_rpm = 750.0
    else:
        engine_on = sheet.engine is EngineRule.IDLING
        span = sheet.idle_high_rpm - sheet.idle_low_rpm
        low, high = sheet.idle_low_rpm + 0.2 * span, sheet.idle_high_rpm - 0.2 * span
        idle_rpm = min(max(750.0, low), high)
    heat, ambient_c = setting.heat, setting.ambient_c
    first_c = trace.value("temp_c", 0.0) if trace is not None else None
    if first_c is not None:
        # What the trace does not tell must have rested where its fluid has.
        heat, ambient_c = Heat.soaked(first_c), first_c
    return Car(
        plant=Plant(heat, ambient_c=ambient_c, body=body),
        trace=trace,
        engine_on=engine_on,
        idle_rpm=idle_rpm,
        selector=_first_selector(sheet),
        protocol=_protocol(sheet),
    )


def _first_selector(sheet: Sheet | None) -> str:
    """Park, or the first position the sheet knows."""
    labels = [
        label
        for signal in (sheet.signals if sheet else ())
        for _raw, label in signal.labels
    ]
    return "P" if "P" in labels or not labels else labels[0]


def _protocol(sheet: Sheet | None) -> str:
    """The sheet's protocol; automatic: what its CAN ids need."""
    if sheet is None:
        return "6"
    if sheet.protocol != "auto":
        return sheet.protocol.upper()
    return "7" if any(map(is_wide, sheet.signals)) else "6"
