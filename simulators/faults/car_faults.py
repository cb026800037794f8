"""Not faults of the link but of the car, or what somebody does to it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from simulators.faults.fault import BenchFault

if TYPE_CHECKING:
    from simulators.adapter.hooks import Host


class EngineOff(BenchFault):
    """The engine is switched off, the ignition stays on."""

    name = "engine-off"
    about = "the engine stands while it is on"

    def started(self, bench: Host) -> None:
        """Stop the engine."""
        super().started(bench)
        self._was = bench.car.engine_on
        bench.car.engine_on = False

    def stopped(self, bench: Host) -> None:
        """Back to what it was."""
        bench.car.engine_on = self._was


class IgnitionOff(BenchFault):
    """The ignition is off: no control unit answers."""

    name = "ignition-off"
    about = "the ignition is off, the adapter alone answers"

    def started(self, bench: Host) -> None:
        """Turn the key back."""
        super().started(bench)
        bench.car.ignition = False

    def stopped(self, bench: Host) -> None:
        """Turn it on again; the units have to be found anew."""
        bench.car.ignition = True
        bench.adapter.memory.connected = False


class Moving(BenchFault):
    """The car rolls."""

    name = "moving"
    about = "the vehicle moves (kmh=8)"

    def __init__(self, *, kmh: float = 8.0) -> None:
        super().__init__()
        self.kmh = kmh

    def started(self, bench: Host) -> None:
        """Set it rolling."""
        super().started(bench)
        bench.car.speed_kmh = self.kmh

    def stopped(self, bench: Host) -> None:
        """Bring it to a stand."""
        bench.car.speed_kmh = 0.0


class Revving(BenchFault):
    """Somebody holds the accelerator."""

    name = "revving"
    about = "the engine turns faster than it should (rpm=2500)"

    def __init__(self, *, rpm: float = 2500.0) -> None:
        super().__init__()
        self.rpm = rpm

    def started(self, bench: Host) -> None:
        """Press."""
        super().started(bench)
        self._was = bench.car.idle_rpm
        bench.car.idle_rpm = self.rpm

    def stopped(self, bench: Host) -> None:
        """Let go."""
        bench.car.idle_rpm = self._was


class SensorDropout(BenchFault):
    """The fluid sensor has no reading."""

    name = "sensor-dropout"
    about = "the unit has no fluid reading: 'not available', or a refusal"

    def started(self, bench: Host) -> None:
        """Break the sensor."""
        super().started(bench)
        bench.car.sensor_broken = True

    def stopped(self, bench: Host) -> None:
        """Mend it."""
        bench.car.sensor_broken = False


class SensorStuck(BenchFault):
    """The fluid sensor gives one value whatever the fluid does."""

    name = "sensor-stuck"
    about = "the unit repeats one fluid temperature (temp=nan: the present one)"

    def __init__(self, *, temp: float = float("nan")) -> None:
        super().__init__()
        self.temp_c = temp

    def started(self, bench: Host) -> None:
        """Hold the value."""
        super().started(bench)
        present = math.isnan(self.temp_c)
        bench.car.sensor_fixed_c = bench.car.sensor_c if present else self.temp_c

    def stopped(self, bench: Host) -> None:
        """Let it go."""
        bench.car.sensor_fixed_c = None


CAR_FAULTS: tuple[type[BenchFault], ...] = (
    EngineOff, IgnitionOff, Moving, Revving, SensorDropout, SensorStuck,
)  # fmt: skip
