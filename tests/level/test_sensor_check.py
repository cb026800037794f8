"""Doubts about the fluid's sensor: raised where they must be, silent elsewhere."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.level.sensor_check import doubts, unproven
from bridge.level.sensor_seen import NOTHING_SEEN, SensorHistory, observe
from bridge.thermal.estimator import Sensor, Track, begin
from bridge.thermal.filter_bank import start
from bridge.thermal.standstill import Standstill
from bridge.values.conditions import Reason
from bridge.values.readings import Reading
from bridge.values.sheet import Role
from simulators.car.plant import Heat, Plant

F, C, A, E, R = (
    Role.FLUID_TEMPERATURE,
    Role.COOLANT_TEMPERATURE,
    Role.AMBIENT_TEMPERATURE,
    Role.ENGINE_SPEED,
    Role.ENGINE_RUN_TIME,
)


def told(history: SensorHistory, t_s: float, **values: float) -> SensorHistory:
    roles = {"f": F, "c": C, "a": A, "e": E, "r": R}
    for name, value in values.items():
        history = observe(history, Reading(role=roles[name], value=value, t_s=t_s))
    return history


def reasons(history: SensorHistory) -> list[Reason]:
    return [d.reason for d in doubts(history)]


def warm_up(read, ambient_c: float = 15.0, lasts_s: int = 1200) -> SensorHistory:
    """A plant idling from cold; ``read`` gives what the unit says from the truth."""
    plant = Plant(Heat.soaked(ambient_c), ambient_c=ambient_c)
    history = NOTHING_SEEN
    for t_s in range(lasts_s):
        heat = plant.heat
        history = told(
            history,
            float(t_s),
            e=750.0 if t_s else 0.0,
            r=float(t_s),
            a=round(ambient_c),
            c=round(heat.coolant_c),
            f=round(read(heat)),
        )
        plant.step(1.0)
    return history


@pytest.mark.parametrize("ambient_c", [-20.0, 0.0, 15.0, 35.0])
def test_an_honest_sensor_raises_no_doubt(ambient_c):
    assert reasons(warm_up(lambda h: h.sensor_c, ambient_c)) == []


def test_swapped_with_the_coolant():
    history = warm_up(lambda h: h.coolant_c)
    assert reasons(history) == [Reason.SENSOR_IS_COOLANT]
    assert "coolant" in doubts(history)[0].words


def test_stuck():
    assert Reason.SENSOR_STUCK in reasons(warm_up(lambda _: 15.0))


@pytest.mark.parametrize("off_c", [-30.0, -12.0, 12.0, 30.0])
def test_offset_after_a_cold_soak(off_c):
    history = warm_up(lambda h: h.sensor_c + off_c, lasts_s=30)
    assert Reason.SENSOR_OFFSET in reasons(history)


def test_a_small_offset_and_a_warm_car_are_no_reason():
    assert reasons(warm_up(lambda h: h.sensor_c + 4.0, lasts_s=30)) == []
    warm = told(NOTHING_SEEN, 0.0, e=750.0, r=900.0, a=15.0, c=85.0, f=55.0)
    assert reasons(warm) == []
    # not known whether the engine has just been started: no cold soak to speak of
    assert reasons(told(NOTHING_SEEN, 0.0, a=15.0, c=15.0, f=55.0)) == []


def test_colder_than_anything_that_could_cool_it():
    history = told(NOTHING_SEEN, 0.0, e=750.0, r=900.0, a=20.0, c=80.0, f=5.0)
    assert reasons(history) == [Reason.SENSOR_BELOW_AIR]
    assert "20" in doubts(history)[0].words


def test_after_a_long_drive_fluid_may_be_as_warm_as_the_coolant():
    history = NOTHING_SEEN
    for t_s in range(0, 3600, 10):
        history = told(
            history, float(t_s), e=750.0, r=5000.0 + t_s, a=20.0, c=88.0, f=87.0
        )
    assert reasons(history) == []


def test_an_old_coolant_does_not_speak_for_the_fluid():
    """A unit that echoes the coolant is not cleared by a coolant that went silent."""
    echo = warm_up(lambda h: h.coolant_c)
    assert reasons(echo) == [Reason.SENSOR_IS_COOLANT]
    for t_s in range(1220, 1300):  # the coolant's last word is 20 s old and more
        echo = told(echo, float(t_s), f=20.0 + echo.coolant.last)
    assert echo.apart_c < 3.0
    fresh = told(echo, 1300.0, c=echo.coolant.last)
    assert told(fresh, 1301.0, f=20.0 + fresh.coolant.last).apart_c > 15.0


def stands(air_c: float, for_s: float, *, rpm: float = 0.0) -> bool:
    """Whether 44 °C that has stood so long must be seen moving, in steps of 1 °C.

    The trend before is one the bank would let rest there: only the air speaks.
    """
    history = told(NOTHING_SEEN, 0.0, e=rpm, a=air_c, c=80.0, f=55.0)
    history = told(history, 400.0 + for_s, e=rpm, a=air_c, c=60.0, f=44.0)
    sensor = Sensor(resolution_c=1.0)
    settled = still_at(replace(begin(sensor), t_s=400.0 + for_s), since_s=400.0)
    return unproven(history, settled)


def still_at(track: Track, *, since_s: float) -> Track:
    bank = start(track.grid, 44.0, 0.5)
    still = Standstill(
        low_c=44.0, high_c=44.0, since_s=since_s, bank=bank, value_c=44.0, moved=True
    )
    return replace(track, still=still)


def test_fluid_in_cold_air_does_not_rest_while_the_engine_stands():
    """Newton's law of cooling, from memory of any textbook: dT/dt = (A - T) / tau.

    With tau of two hours and 41 °C between them two codes take 2 * 7200 / 41 = 351 s.
    """
    assert not stands(3.0, 345.0)
    assert stands(3.0, 355.0)
    assert not stands(24.0, 700.0)  # 20 °C: 720 s
    assert stands(24.0, 725.0)
    assert not stands(35.0, 3600.0)  # the air is too near to say anything
    assert not stands(3.0, 355.0, rpm=700.0)  # an engine warms it
