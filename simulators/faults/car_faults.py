"""Not faults of the link but of the car, or what somebody does to it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from simulators.faults.fault import BenchFault


class _EngineOff(BenchFault):
    name = "engine-off"
    about = "the engine stands while it is on"

    def started(self) -> None:
        self._was = self.bench.car.engine_on
        self.bench.car.engine_on = False

    def stopped(self) -> None:
        self.bench.car.engine_on = self._was


class _IgnitionOff(BenchFault):
    name = "ignition-off"
    about = "the ignition is off, the adapter alone answers"

    def started(self) -> None:
        self.bench.car.ignition = False

    def stopped(self) -> None:
        """Turn it on again; the units have to be found anew."""
        self.bench.car.ignition = True
        self.bench.adapter.memory.connected = False


@dataclass(eq=False, kw_only=True)
class _Moving(BenchFault):
    name = "moving"
    about = "the vehicle moves (kmh=8)"
    kmh: float = 8.0

    def started(self) -> None:
        self.bench.car.speed_kmh = self.kmh

    def stopped(self) -> None:
        self.bench.car.speed_kmh = 0.0


@dataclass(eq=False, kw_only=True)
class _Revving(BenchFault):
    name = "revving"
    about = "the engine turns faster than it should (rpm=2500)"
    rpm: float = 2500.0

    def started(self) -> None:
        self._was = self.bench.car.idle_rpm
        self.bench.car.idle_rpm = self.rpm

    def stopped(self) -> None:
        self.bench.car.idle_rpm = self._was


class _SensorDropout(BenchFault):
    name = "sensor-dropout"
    about = "the unit has no fluid reading: 'not available', or a refusal"

    def started(self) -> None:
        self.bench.car.sensor_broken = True

    def stopped(self) -> None:
        self.bench.car.sensor_broken = False


@dataclass(eq=False, kw_only=True)
class _SensorStuck(BenchFault):
    name = "sensor-stuck"
    about = "the unit repeats one fluid temperature (temp=nan: the present one)"
    temp: float = math.nan

    def started(self) -> None:
        car = self.bench.car
        car.sensor_fixed_c = car.sensor_c if math.isnan(self.temp) else self.temp

    def stopped(self) -> None:
        self.bench.car.sensor_fixed_c = None


CAR_FAULTS: tuple[type[BenchFault], ...] = (
    _EngineOff, _IgnitionOff, _Moving, _Revving, _SensorDropout, _SensorStuck,
)  # fmt: skip
