"""The simulated car: what its control units know, moved on by bench time."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from simulators.car.curve import Column, Curve
    from simulators.car.plant import Plant

GRID_S = 0.1
"""The car moves in steps of this size, so who asks when cannot change its course."""
_LOG_ROWS = 6_000  # ten minutes of car time


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """What really was at one moment of car time."""

    t_s: float
    fluid_c: float | None
    """The fluid itself; None: a dropout of the trace that stands in for it."""
    sensor_c: float | None
    """What the lagging sensor gives its control unit; None: no reading."""


@dataclass(slots=True, kw_only=True)
class Car:
    """One car; the attributes may be changed while it runs.

    ``scale`` is car seconds per bench second (a bench served to a real program
    may warm up faster than life while its adapter keeps real time).
    """

    plant: Plant
    trace: Curve | None = None
    scale: float = 1.0
    ignition: bool = True
    engine_on: bool = True
    idle_rpm: float = 750.0
    speed_kmh: float = 0.0
    selector: str = "P"
    vin: str = "11111111111111111"
    protocol: str = "6"
    """The protocol its diagnostic socket speaks, as the adapter's digit."""
    voltage_drop_v: float = 0.0
    sensor_broken: bool = False
    """True: the control unit has no reading of the fluid."""
    sensor_fixed_c: float | None = None
    """A sensor stuck at this value, in °C; None: it works."""
    stored: tuple[str, ...] = ()
    """Trouble codes such as 'P0711'; also pending and permanent below."""
    pending: tuple[str, ...] = ()
    permanent: tuple[str, ...] = ()
    now_s: float = 0.0
    """Car time, on the grid."""
    run_s: float = 0.0
    """Time since the engine was started; 0 while it stands."""
    log: deque[Truth] = field(default_factory=lambda: deque(maxlen=_LOG_ROWS))
    _ticks: int = 0

    def advance(self, bench_s: float) -> None:
        """Move on to a moment of bench time; an earlier one changes nothing."""
        goal = math.floor(bench_s * self.scale / GRID_S + 1e-6)
        while self._ticks < goal:
            self._tick()

    def _tick(self) -> None:
        self._ticks += 1
        self.now_s = self._ticks * GRID_S
        running = self.engine_running
        self.run_s = self.run_s + GRID_S if running else 0.0
        self.plant.engine_on = running
        self.plant.step(GRID_S)
        self.log.append(
            Truth(t_s=self.now_s, fluid_c=self.fluid_c, sensor_c=self.sensor_c)
        )

    @property
    def engine_running(self) -> bool:
        """Whether the engine turns now."""
        return self.engine_on and self.ignition

    def _recorded(self, column: Column, otherwise: float) -> float:
        """What the trace tells, if there is one and it does."""
        value = self.trace.value(column, self.now_s) if self.trace else None
        return otherwise if value is None else value

    @property
    def fluid_c(self) -> float | None:
        """The true fluid temperature in °C (of a trace: the curve itself)."""
        if self.trace is not None:
            return self.trace.value("temp_c", self.now_s)
        return self.plant.heat.fluid_c

    @property
    def sensor_c(self) -> float | None:
        """What the gearbox unit's sensor gives, in °C; None: no reading."""
        if self.sensor_broken:
            return None
        if self.sensor_fixed_c is not None:
            return self.sensor_fixed_c
        return self.fluid_c if self.trace else self.plant.heat.sensor_c

    @property
    def ended(self) -> bool:
        """Whether the trace, if there is one, has come to its end."""
        return self.trace is not None and self.now_s > self.trace.length_s

    @property
    def engine_rpm(self) -> float:
        """Engine speed in rpm: the trace's, else idling with a little ripple."""
        idling_rpm = self.idle_rpm + 6.0 * math.sin(1.7 * self.now_s)
        return self._recorded("engine_rpm", idling_rpm if self.engine_running else 0.0)

    @property
    def road_speed_kmh(self) -> float:
        """Vehicle speed in km/h: the trace's, else ``speed_kmh``."""
        return self._recorded("speed_kmh", self.speed_kmh)

    @property
    def coolant_c(self) -> float:
        """Coolant in °C: the trace's, else the plant's."""
        return self._recorded("coolant_c", self.plant.heat.coolant_c)

    @property
    def ambient_c(self) -> float:
        """Outside air in °C: the trace's, else the plant's."""
        return self._recorded("ambient_c", self.plant.ambient_c)

    @property
    def voltage_v(self) -> float:
        """Supply voltage at the diagnostic socket and the engine unit."""
        healthy_v = 14.1 if self.engine_running else 12.4
        return max(0.0, healthy_v - self.voltage_drop_v)
