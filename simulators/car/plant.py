"""A gearbox as three lumps of heat: fluid, case and engine coolant.

First-order lumps joined by conductances, the textbook model of a warming body
(Newton's law of cooling). The figures are those of a mid-size automatic, chosen
so that idling from 20 °C passes 42 °C in about twelve minutes (common practice,
no source). Pure: no clock, no chance; whoever steps it owns the time.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

_MAX_STEP_S = 1.0  # far below the fastest time constant of a body


@dataclass(frozen=True, slots=True, kw_only=True)
class Body:
    """Heat capacities (J/K), conductances (W/K) and heat sources (W) of a car."""

    fluid_j_per_k: float = 13_000.0
    case_j_per_k: float = 20_000.0
    coolant_j_per_k: float = 32_000.0
    fluid_case_w_per_k: float = 75.0
    case_air_w_per_k: float = 7.0
    fluid_air_w_per_k: float = 2.0
    """The gearbox's own air cooler, if any; works while the engine circulates."""
    exchanger_w_per_k: float = 15.0
    """Coolant to fluid while the engine runs; a tenth of it when it stands."""
    churning_w: float = 380.0
    """Pump, converter and churning losses at idle with the fluid at 40 °C."""
    engine_w: float = 4_200.0
    """Waste heat of the idling engine that reaches its coolant."""
    coolant_air_w_per_k: float = 14.0
    thermostat_c: float = 86.0
    radiator_w_per_k: float = 600.0
    sensor_lag_s: float = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Heat:
    """Temperatures of the lumps, in °C; ``sensor_c`` follows ``fluid_c`` late."""

    fluid_c: float
    case_c: float
    coolant_c: float
    sensor_c: float

    @classmethod
    def soaked(cls, temp_c: float) -> Heat:
        """Everything at one temperature, as after a night."""
        return cls(fluid_c=temp_c, case_c=temp_c, coolant_c=temp_c, sensor_c=temp_c)


class Plant:
    """The thermal state of one car, moved on by ``step``."""

    def __init__(
        self, heat: Heat, *, ambient_c: float, body: Body | None = None
    ) -> None:
        self.heat = heat
        self.ambient_c = ambient_c
        self.body = body or Body()
        self.engine_on = True

    def step(self, seconds: float) -> None:
        """Move on by a time in seconds, 0 or more; raises ValueError if negative."""
        if not seconds >= 0:
            raise ValueError(f"a plant cannot step by {seconds} s")
        whole = math.ceil(seconds / _MAX_STEP_S)
        for _ in range(whole):
            self._small_step(seconds / whole)

    def coarse_step(self) -> None:
        """Move on by ten seconds at once: right in the end, rough on the way."""
        self._small_step(10.0)

    def _small_step(self, dt_s: float) -> None:
        heat, body = self.heat, self.body
        to_case_w = body.fluid_case_w_per_k * (heat.fluid_c - heat.case_c)
        to_fluid_w = self._exchanger_w()
        fluid_w = self._churning_w() + to_fluid_w - to_case_w - self._air_w()
        case_w = to_case_w - body.case_air_w_per_k * (heat.case_c - self.ambient_c)
        coolant_w = self._engine_w() - to_fluid_w
        lag = -math.expm1(-dt_s / body.sensor_lag_s) if body.sensor_lag_s > 0 else 1.0
        fluid_c = heat.fluid_c + fluid_w * dt_s / body.fluid_j_per_k
        self.heat = Heat(
            fluid_c=fluid_c,
            case_c=heat.case_c + case_w * dt_s / body.case_j_per_k,
            coolant_c=heat.coolant_c + coolant_w * dt_s / body.coolant_j_per_k,
            sensor_c=heat.sensor_c + lag * (fluid_c - heat.sensor_c),
        )

    def _churning_w(self) -> float:
        """Losses fall as the fluid thins; cold fluid is capped, the pump relieves."""
        if not self.engine_on:
            return 0.0
        thickness = math.exp((40.0 - self.heat.fluid_c) / 90.0)
        return self.body.churning_w * min(thickness, 1.6)

    def _exchanger_w(self) -> float:
        flow = 1.0 if self.engine_on else 0.1
        gap_c = self.heat.coolant_c - self.heat.fluid_c
        return self.body.exchanger_w_per_k * flow * gap_c

    def _air_w(self) -> float:
        flow = 1.0 if self.engine_on else 0.25
        gap_c = self.heat.fluid_c - self.ambient_c
        return self.body.fluid_air_w_per_k * flow * gap_c

    def _engine_w(self) -> float:
        """Net heat into the coolant, losses to the air and the radiator taken off."""
        body, coolant_c = self.body, self.heat.coolant_c
        made_w = body.engine_w if self.engine_on else 0.0
        lost_w = body.coolant_air_w_per_k * (coolant_c - self.ambient_c)
        radiator_w = body.radiator_w_per_k * max(0.0, coolant_c - body.thermostat_c)
        return made_w - lost_w - radiator_w


@functools.lru_cache(maxsize=64)
def settles_at(body: Body, *, ambient_c: float, engine_on: bool) -> float:
    """Return the fluid temperature in °C after four hours of nothing changing."""
    plant = Plant(Heat.soaked(ambient_c), ambient_c=ambient_c, body=body)
    plant.engine_on = engine_on
    for _ in range(1440):
        plant.coarse_step()
    return plant.heat.fluid_c
