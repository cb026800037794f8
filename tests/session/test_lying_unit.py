"""A unit that lies: jumps, stops, starts off apart; and how the doubt is answered."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from bridge.level.status_3026 import level_status
from bridge.session.session import apply, snapshot_at
from bridge.session.session_state import Session, begin
from bridge.snapshot import Snapshot
from bridge.values.conditions import Reason, Verdict
from bridge.values.events import LinkChange, Mark, Marked, Measured
from bridge.values.readings import LinkState, Reading
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.sheet import Confirmation, Role, Sheet, Signal, Window
from simulators.car.plant import Heat, Plant

SHEET = Sheet(
    name="t",
    source="t",
    window=Window(low_c=35.0, high_c=45.0),
    settle_time_s=20.0,
    signals=(Signal(role=Role.FLUID_TEMPERATURE, factor=1.0),),
)
Says = Callable[[float], float | None]


class Car:
    """An idling car that stands; what its unit says is a function of the time."""

    def __init__(
        self,
        step_s: float = 1.0,
        code_c: float = 1.0,
        told: tuple[ServiceEvent, ...] = (),
        **also: float,
    ) -> None:
        fluid = Signal(role=Role.FLUID_TEMPERATURE, factor=code_c)
        session = begin(replace(SHEET, signals=(fluid,)), interval_s=step_s, told=told)
        self.session: Session = apply(
            session, LinkChange(state=LinkState.LIVE, t_s=0.0)
        )
        self.step_s, self.t_s, self.rpm = step_s, 0.0, 750.0
        self.also = also
        self.gos: list[float] = []

    def read(self, role: Role, value: float) -> None:
        reading = Reading(role=role, value=value, t_s=self.t_s)
        self.session = apply(self.session, reading)

    def run(self, until_s: float, says: Says) -> Snapshot:
        """Let the unit say ``says(t)`` each step; None is no answer."""
        while self.t_s < until_s:
            self.t_s = round(self.t_s + self.step_s, 3)
            self.read(Role.ENGINE_SPEED, self.rpm)
            self.read(Role.VEHICLE_SPEED, 0.0)
            for name, value in self.also.items():
                self.read(Role(name.replace("_", "-") + "-temperature"), value)
            value_c = says(self.t_s)
            if value_c is not None:
                self.read(Role.FLUID_TEMPERATURE, value_c)
            # GO needs the reading inside, and a look costs a forecast
            inside = value_c is not None and 35.0 <= value_c <= 45.0
            if inside and self.look().verdict is Verdict.GO:
                self.gos.append(self.t_s)
        return self.look()

    def look(self) -> Snapshot:
        return snapshot_at(self.session, now_s=self.t_s)

    def tell(self, what: Confirmation, mark: Mark = Mark.CONFIRMED) -> None:
        told = Marked(mark=mark, confirms=what, t_s=self.t_s)
        self.session = apply(self.session, told)


def always(value_c: float) -> Says:
    return lambda _: value_c


def ramp(from_c: float, c_per_min: float, since_s: float = 0.0) -> Says:
    return lambda t: float(round(from_c + c_per_min / 60.0 * (t - since_s)))


@pytest.mark.parametrize("air", [{}, {"ambient": 20.0}])
@pytest.mark.few(1)
def test_an_impossible_jump_is_never_go_however_long_it_stands(air) -> None:
    car = Car(**air)
    car.run(120, always(62.0))
    shown = car.run(900, always(40.0))
    assert car.gos == []
    assert Reason.SENSOR_JUMPED in shown.reasons
    assert "62 to 40" in shown.doubts[0].words
    assert level_status(Reason.SENSOR_JUMPED) == 14  # SAE J1939-71, SPN 3026


def test_a_fallback_value_after_a_silent_key_cycle_is_a_jump() -> None:
    car = Car(ambient=20.0)
    car.run(120, always(62.0))
    car.rpm = 0.0
    car.run(180, lambda _: None)
    car.rpm = 750.0
    shown = car.run(400, always(40.0))
    assert car.gos == []
    assert Reason.SENSOR_JUMPED in shown.reasons


def test_a_silence_long_enough_for_the_change_is_no_jump() -> None:
    car = Car()
    car.run(120, always(62.0))
    car.run(720, lambda _: None)
    shown = car.run(760, always(40.0))
    assert Reason.SENSOR_JUMPED not in shown.reasons


@pytest.mark.parametrize("run", [1, 5, 10])
@pytest.mark.few(1)
def test_two_values_by_turns_are_never_go(run: int) -> None:
    car = Car(step_s=0.2, ambient=20.0)
    car.run(60, always(60.0))
    shown = car.run(150, lambda t: 60.0 if round(t * 5) // run % 2 else 40.0)
    assert car.gos == []
    assert Reason.SENSOR_JUMPED in shown.reasons


def test_one_garbled_reading_is_no_jump() -> None:
    car = Car()
    shown = car.run(120, lambda t: -40.0 if t == 60.0 else 40.0)
    assert Reason.SENSOR_JUMPED not in shown.reasons
    assert shown.verdict is Verdict.GO


def jumped() -> Car:
    car = Car()
    car.run(120, always(62.0))
    car.run(140, always(37.0))
    return car


def test_the_persons_word_counts_once_the_value_moves_as_fluid_does() -> None:
    car = jumped()
    car.tell(Confirmation.SENSOR)
    assert Reason.SENSOR_JUMPED in car.run(400, always(37.0)).reasons
    moving = ramp(37.0, 1.0, since_s=400.0)
    assert Reason.SENSOR_JUMPED in car.run(440, moving).reasons
    shown = car.run(540, moving)
    assert Reason.SENSOR_JUMPED not in shown.reasons
    assert shown.verdict is Verdict.GO


@pytest.mark.slow
def test_the_persons_word_can_be_taken_back_and_does_not_cover_a_later_jump() -> None:
    moving = ramp(37.0, 1.0, since_s=140.0)
    car = jumped()
    assert Reason.SENSOR_JUMPED in car.run(400, moving).reasons
    car.tell(Confirmation.SENSOR)
    assert Reason.SENSOR_JUMPED not in car.look().reasons
    car.tell(Confirmation.SENSOR, Mark.WITHDRAWN)
    assert Reason.SENSOR_JUMPED in car.look().reasons
    car.tell(Confirmation.SENSOR)
    car.run(420, always(60.0))
    assert Reason.SENSOR_JUMPED in car.run(700, ramp(36.0, 1.5, 420.0)).reasons


@pytest.mark.slow
def test_fluid_that_was_added_explains_a_drop_but_no_rise() -> None:
    for before_c, explained in ((62.0, True), (12.0, False)):
        car = Car()
        car.run(120, always(before_c))
        told = Marked(mark=Mark.ADDED, ml=300.0, t_s=110.0)
        car.session = apply(car.session, told)
        shown = car.run(420, ramp(37.0, 1.0, since_s=120.0))
        assert (Reason.SENSOR_JUMPED not in shown.reasons) == explained


@pytest.mark.slow
def test_fluid_filled_in_the_service_explains_a_drop_as_well() -> None:
    car = Car()
    car.run(120, always(62.0))
    told = ServiceEvent(kind=ServiceKind.IN, ml=3000.0, t_s=110.0)
    car.session = apply(car.session, told)
    shown = car.run(420, ramp(37.0, 1.0, since_s=120.0))
    assert Reason.SENSOR_JUMPED not in shown.reasons


@pytest.mark.parametrize(("typed_c", "cleared"), [(37.5, True), (52.0, False)])
def test_a_thermometer_that_agrees_clears_a_jump(typed_c, cleared) -> None:
    car = jumped()
    car.session = apply(
        car.session, Measured(temp_c=typed_c, accuracy_c=1.5, t_s=car.t_s)
    )
    assert (Reason.SENSOR_JUMPED not in car.look().reasons) == cleared


@pytest.mark.parametrize("rate", [3.6, 1.5, -2.0])
@pytest.mark.parametrize("flicker", [0, 7])
@pytest.mark.slow
def test_a_trend_that_stops_dead_is_no_go_before_the_fluid_leaves(
    rate: float, flicker: int
) -> None:
    start_c = 36.0 if rate > 0 else 44.0
    begin_c = start_c - rate * 4  # four minutes of trend before the edge
    still = 40.0

    def says(t: float) -> float:
        value = float(round(begin_c + rate / 60.0 * t))
        stopped = value >= still if rate > 0 else value <= still
        blink = flicker and int(t) % flicker == 0
        return still + bool(blink) if stopped else value

    car = Car()
    shown = car.run(240 + 60 * 20 / abs(rate), says)
    edge_c = 45.0 if rate > 0 else 35.0
    leaves_s = 60.0 * (edge_c - begin_c) / rate
    assert [t for t in car.gos if t > leaves_s] == []
    assert Reason.SENSOR_STOPPED in shown.reasons


def test_a_stop_clears_once_the_value_moves_on() -> None:
    car = Car()
    car.run(300, ramp(20.0, 3.0))
    assert Reason.SENSOR_STOPPED in car.run(420, always(35.0)).reasons
    shown = car.run(520, ramp(35.0, 3.0, since_s=420.0))
    assert Reason.SENSOR_STOPPED not in shown.reasons


@pytest.mark.parametrize("change", ["engine", "idle", "selector", "plug", "none"])
@pytest.mark.few(2)
def test_what_changes_the_heating_explains_a_stop(change: str) -> None:
    car = Car()
    if change == "selector":
        car.read(Role.SELECTOR, 1.0)
    car.run(300, ramp(20.0, 3.0))
    if change == "engine":
        car.rpm = 0.0
    elif change == "idle":
        car.rpm = 950.0
    elif change == "selector":
        car.read(Role.SELECTOR, 2.0)
    elif change == "plug":
        car.session = apply(car.session, Marked(mark=Mark.OPENED, t_s=car.t_s))
    shown = car.run(420, always(35.0))
    assert (Reason.SENSOR_STOPPED in shown.reasons) == (change == "none")


@pytest.mark.slow
def test_minutes_of_one_value_from_a_fine_sensor_are_a_reason() -> None:
    fine, coarse = Car(code_c=0.1), Car(code_c=1.0)
    assert Reason.SENSOR_STOPPED in fine.run(240, always(40.0)).reasons
    shown = coarse.run(240, always(40.0))
    assert shown.verdict is Verdict.GO
    # cannot be told from fluid that rests: it stands beside GO
    assert shown.unmoved_s == pytest.approx(238.0)


@pytest.mark.parametrize("coolant_c", [20.0, 85.0])
@pytest.mark.few(1)
def test_with_the_coolant_read_a_value_never_seen_to_move_is_no_go(coolant_c) -> None:
    car = Car(coolant=coolant_c)
    shown = car.run(400, always(40.0))
    assert car.gos == []
    assert Reason.SENSOR_STUCK in shown.reasons


@pytest.mark.slow
def test_what_it_did_before_the_engine_restarted_proves_no_movement() -> None:
    car = Car(coolant=85.0)
    car.run(200, ramp(40.0, 2.0))
    car.rpm = 0.0
    car.run(225, lambda _: None)
    car.rpm, car.gos = 750.0, []
    shown = car.run(700, always(44.0))  # a drop too small to be a jump
    assert car.gos == []
    assert Reason.SENSOR_STUCK in shown.reasons


@pytest.mark.slow
def test_an_agreeing_thermometer_answers_for_a_still_value_for_a_while() -> None:
    car = Car(coolant=85.0)
    car.run(400, always(40.0))
    car.session = apply(car.session, Measured(temp_c=40.2, accuracy_c=1.5, t_s=400.0))
    assert car.run(420, always(40.0)).verdict is Verdict.GO
    assert Reason.SENSOR_STUCK in car.run(600, always(40.0)).reasons


def test_no_go_on_few_readings_at_first_or_after_a_change() -> None:
    car = Car(ambient=20.0)
    car.run(59, always(40.0))
    assert car.gos == []
    car.run(70, always(40.0))
    assert car.gos
    car.rpm = 0.0
    car.run(80, always(40.0))
    car.rpm, car.gos = 750.0, []
    car.run(139, always(40.0))
    assert car.gos == []
    car.run(150, always(40.0))
    assert car.gos


def test_seldom_readings_do_not_make_a_go_by_waiting() -> None:
    car = Car(step_s=0.5, ambient=20.0)
    car.run(62, lambda t: 40.0 if t % 20 == 0 else None)
    assert car.gos == []
    assert not car.session.track.knows_at(car.t_s)
    car.run(102, lambda t: 40.0 if t % 20 == 0 else None)
    assert car.session.track.knows_at(car.t_s)


def cold(fluid_c: float, told: tuple[ServiceEvent, ...] = ()) -> Car:
    """A car after a night at 15 degC, its engine just started."""
    car = Car(coolant=15.0, ambient=15.0, told=told)
    car.rpm = 0.0
    car.run(5, always(fluid_c))
    return car


def test_an_offset_is_not_looked_for_once_fluid_was_poured_in() -> None:
    car = cold(30.0)
    assert Reason.SENSOR_OFFSET in car.look().reasons
    told = Marked(mark=Mark.ADDED, ml=4000.0, t_s=2.0)
    car.session = apply(car.session, told)
    assert Reason.SENSOR_OFFSET not in car.look().reasons


def test_fluid_filled_in_before_the_watch_leaves_no_cold_soak() -> None:
    filled = ServiceEvent(kind=ServiceKind.IN, ml=4000.0)
    for told in ((), (filled,)):
        car = cold(30.0, told=told)
        assert (Reason.SENSOR_OFFSET in car.look().reasons) == (not told)


def test_an_offset_can_be_explained_and_is_looked_at_again_after_a_night() -> None:
    car = cold(5.0)
    car.tell(Confirmation.SENSOR)
    car.rpm = 750.0
    assert Reason.SENSOR_OFFSET in car.run(30, always(5.0)).reasons
    assert Reason.SENSOR_OFFSET not in car.run(150, ramp(5.0, 2.0, 30.0)).reasons
    car.t_s += 8 * 3600.0
    car.rpm = 0.0
    assert Reason.SENSOR_OFFSET in car.run(car.t_s + 20, always(5.0)).reasons


def test_at_a_start_after_rest_fluid_is_not_far_above_the_coolant() -> None:
    car = Car(coolant=20.0)
    car.rpm = 0.0
    shown = car.run(5, always(40.0))
    assert Reason.SENSOR_OFFSET in shown.reasons


@pytest.mark.parametrize("code_c", [1.0, 0.1])
@pytest.mark.parametrize("ambient_c", [5.0, 20.0])
@pytest.mark.slow
def test_a_plain_cold_start_is_never_told_to_start_again(code_c, ambient_c) -> None:
    """Not sure to be inside yet is the near edge's doing, not a window too short."""
    plant = Plant(Heat.soaked(ambient_c), ambient_c=ambient_c)
    car, reasons = Car(code_c=code_c), set()
    while not car.gos and car.t_s < 1200:
        plant.step(1.0)
        value_c = round(plant.heat.sensor_c / code_c) * code_c
        shown = car.run(car.t_s + 1.0, always(value_c))
        if value_c >= 34.0:
            reasons |= set(shown.reasons)
    assert car.gos
    assert Reason.WINDOW_TOO_SHORT not in reasons
