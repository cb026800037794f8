"""The session: what goes stale, what is disbelieved, what a clock jump does."""

from dataclasses import replace

import pytest

from bridge.level.step.step_values import Phase
from bridge.session.session import advance, apply, snapshot_at
from bridge.session.session_state import Session, begin
from bridge.snapshot import Snapshot
from bridge.values.conditions import Reason, Verdict
from bridge.values.events import ClockJump, Dropout, LinkChange, Mark, Marked, Tilted
from bridge.values.readings import Fault, FaultKind, LinkState, Reading
from bridge.values.sheet import Confirmation, Role, Sheet, Signal, Window

SHEET = Sheet(
    name="t",
    source="t",
    window=Window(low_c=35.0, high_c=45.0),
    settle_time_s=20.0,
    signals=(
        Signal(
            role=Role.FLUID_TEMPERATURE,
            service=0x22,
            identifier=0x1157,
            request_id=0x7E1,
            reply_id=0x7E9,
            offset=-40.0,
        ),
    ),
)


def car(until_s: int, temp_c: float = 40.0, session: Session | None = None) -> Session:
    """Feed a steady, standing, idling car with a reading a second."""
    session = session or apply(
        begin(SHEET, interval_s=0.2), LinkChange(state=LinkState.LIVE, t_s=0.0)
    )
    for t_s in range(until_s + 1):
        for role, value in (
            (Role.ENGINE_SPEED, 750.0),
            (Role.VEHICLE_SPEED, 0.0),
            (Role.FLUID_TEMPERATURE, temp_c),
        ):
            session = apply(session, Reading(role=role, value=value, t_s=float(t_s)))
    return session


def say(session: Session, now_s: float) -> Snapshot:
    return snapshot_at(session, now_s=now_s)


def test_a_steady_car_inside_the_window_is_go() -> None:
    shown = say(car(300), 300.2)
    assert shown.verdict is Verdict.GO
    assert shown.temp_c == pytest.approx(40.0, abs=0.6)


def silent_car(untold: tuple[Role, ...]) -> Session:
    """Return a car that tells its fluid's temperature and not the engine's speed."""
    live = LinkChange(state=LinkState.LIVE, t_s=0.0, untold=untold)
    session = apply(begin(SHEET, interval_s=0.2), live)
    for t_s in range(301):
        reading = Reading(role=Role.FLUID_TEMPERATURE, value=40.0, t_s=float(t_s))
        session = apply(session, reading)
    for what in (Confirmation.ENGINE, Confirmation.STANDING):
        session = apply(session, Marked(mark=Mark.CONFIRMED, confirms=what, t_s=300.0))
    return session


def test_the_persons_word_stands_in_only_for_what_no_unit_tells() -> None:
    both = (Role.ENGINE_SPEED, Role.VEHICLE_SPEED)
    assert say(silent_car(both), 300.2).verdict is Verdict.GO
    assert say(silent_car(()), 300.2).verdict is Verdict.NO_GO
    only_standing = say(silent_car((Role.VEHICLE_SPEED,)), 300.2)
    assert only_standing.reasons == (Reason.ENGINE_UNKNOWN,)


def test_the_persons_word_never_stands_in_for_a_car_that_told_before() -> None:
    session = silent_car((Role.ENGINE_SPEED, Role.VEHICLE_SPEED))
    told = Reading(role=Role.ENGINE_SPEED, value=750.0, t_s=100.0)
    assert Reason.ENGINE_UNKNOWN in say(apply(session, told), 300.2).reasons


def test_a_reading_is_stale_after_two_seconds_and_its_number_is_gone() -> None:
    session = car(300)
    assert say(session, 301.9).verdict is Verdict.GO
    late = say(session, 302.1)
    assert late.verdict is Verdict.NO_GO
    assert Reason.READING_STALE in late.reasons
    assert (late.temp_c, late.opens, late.shuts) == (None, None, None)
    assert (late.raw_c, late.age_s) == (40.0, pytest.approx(2.1))


@pytest.mark.parametrize("state", [s for s in LinkState if s is not LinkState.LIVE])
def test_a_link_that_is_not_live_is_no_go_at_once(state: LinkState) -> None:
    session = apply(
        car(300), Reading(role=Role.AMBIENT_TEMPERATURE, value=20.0, t_s=300.0)
    )
    assert say(session, 300.1).ambient_c == 20.0
    shown = say(apply(session, LinkChange(state=state, t_s=300.1)), 300.1)
    assert shown.verdict is Verdict.NO_GO
    assert (shown.ambient_c, shown.engine_rpm, shown.speed_kmh) == (None, None, None)
    assert (shown.temp_c, shown.opens, shown.shuts) == (None, None, None)
    assert shown.raw_c == 40.0


@pytest.mark.parametrize(
    "kind", [FaultKind.REFUSED, FaultKind.NOT_AVAILABLE, FaultKind.OUT_OF_RANGE]
)
def test_a_unit_that_denies_the_value_is_no_go_at_once(kind: FaultKind) -> None:
    fault = Fault(kind=kind, t_s=300.1, detail="x", role=Role.FLUID_TEMPERATURE)
    shown = say(apply(car(300), fault), 300.1)
    assert Reason.READING_REFUSED in shown.reasons
    assert shown.temp_c is None


def test_a_failed_request_does_not_take_a_denial_back() -> None:
    session = car(300)
    for kind in (FaultKind.NOT_AVAILABLE, FaultKind.NO_DATA, FaultKind.BAD_REPLY):
        fault = Fault(kind=kind, t_s=300.1, detail="x", role=Role.FLUID_TEMPERATURE)
        session = apply(session, fault)
    assert Reason.READING_REFUSED in say(session, 300.2).reasons
    session = apply(
        session, Reading(role=Role.FLUID_TEMPERATURE, value=40.0, t_s=300.4)
    )
    assert Reason.READING_REFUSED not in say(session, 300.4).reasons


def test_one_failed_request_leaves_the_last_good_value_until_it_is_old() -> None:
    fault = Fault(
        kind=FaultKind.BAD_REPLY, t_s=300.1, detail="x", role=Role.FLUID_TEMPERATURE
    )
    session = apply(car(300), fault)
    assert say(session, 300.2).verdict is Verdict.GO
    assert say(session, 302.2).verdict is Verdict.NO_GO


def test_a_jump_no_fluid_can_make_is_disbelieved() -> None:
    session = apply(
        car(300), Reading(role=Role.FLUID_TEMPERATURE, value=-40.0, t_s=300.5)
    )
    shown = say(session, 300.5)
    assert shown.verdict is Verdict.NO_GO
    assert Reason.READING_IMPLAUSIBLE in shown.reasons
    assert shown.raw_c == 40.0  # the last accepted reading, not the jump


def test_a_suspended_machine_makes_everything_older_than_it_looks() -> None:
    session = apply(car(300), ClockJump(t_s=300.1, gap_s=600.0))
    shown = say(session, 300.2)
    assert Reason.CLOCK_JUMPED in shown.reasons
    assert (shown.engine_rpm, shown.temp_c) == (None, None)
    for role, value in ((Role.ENGINE_SPEED, 750.0), (Role.FLUID_TEMPERATURE, 40.0)):
        session = apply(session, Reading(role=role, value=value, t_s=301.0))
    again = say(session, 301.1)
    assert again.engine_rpm == 750.0
    assert again.raw_c == 40.0
    assert Reason.CLOCK_JUMPED not in again.reasons


def test_a_stamp_from_the_future_is_not_fresh() -> None:
    session = car(300)
    assert say(session, 290.0).verdict is Verdict.NO_GO


@pytest.mark.parametrize(
    ("role", "value", "reason"),
    [
        (Role.ENGINE_SPEED, 0.0, Reason.ENGINE_STOPPED),
        (Role.ENGINE_SPEED, 2000.0, Reason.ENGINE_TOO_FAST),
        (Role.VEHICLE_SPEED, 3.0, Reason.VEHICLE_MOVING),
    ],
)
def test_engine_and_movement_close_the_gate(
    role: Role, value: float, reason: Reason
) -> None:
    session = apply(car(300), Reading(role=role, value=value, t_s=300.1))
    assert reason in say(session, 300.2).reasons


@pytest.mark.parametrize("role", [Role.ENGINE_SPEED, Role.VEHICLE_SPEED])
def test_engine_and_movement_go_stale_too(role: Role) -> None:
    session = car(300)
    kept = {r: v for r, v in session.readings.items() if r is not role}
    assert say(replace(session, readings=kept), 300.2).verdict is Verdict.NO_GO


def test_a_sheet_without_a_fluid_signal_never_opens_the_gate() -> None:
    bare = replace(SHEET, signals=())
    session = apply(
        begin(bare, interval_s=0.2), LinkChange(state=LinkState.LIVE, t_s=0.0)
    )
    shown = say(car(300, session=session), 300.2)
    assert Reason.NO_SIGNAL in shown.reasons
    assert shown.verdict is Verdict.NO_GO


def test_a_dropout_is_no_reading() -> None:
    session = apply(car(300), Dropout(t_s=301.0))
    assert say(session, 301.0).raw_c == 40.0
    assert say(session, 302.5).verdict is Verdict.NO_GO


def test_the_same_events_give_the_same_snapshots() -> None:
    assert say(car(120), 120.1) == say(car(120), 120.1)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_what_is_no_number_changes_nothing(value: float) -> None:
    session = car(300)
    reading = Reading(role=Role.FLUID_TEMPERATURE, value=value, t_s=300.1)
    assert apply(session, reading) == session


def told(session: Session, mark: Mark, t_s: float, **more: object) -> Session:
    session = apply(session, Marked(mark=mark, t_s=t_s, **more))  # type: ignore[arg-type]
    return advance(session, now_s=t_s)[0]


def test_the_step_runs_through_the_session() -> None:
    session, shown = advance(car(300), now_s=300.2)
    assert shown.step is not None
    assert shown.step.phase is Phase.GO
    session = told(session, Mark.OPENED, 300.4)
    assert session.step.plug_open
    session = told(car_on(session, 301, 305), Mark.CLOSED, 305.5)
    assert session.step.judgement is not None
    assert session.step.judgement.inside is True


def car_on(session: Session, from_s: int, to_s: int) -> Session:
    """Go on feeding the steady car, a tick for each second."""
    for t_s in range(from_s, to_s + 1):
        for role, value in (
            (Role.ENGINE_SPEED, 750.0),
            (Role.VEHICLE_SPEED, 0.0),
            (Role.FLUID_TEMPERATURE, 40.0),
        ):
            session = apply(session, Reading(role=role, value=value, t_s=float(t_s)))
        session, _ = advance(session, now_s=float(t_s))
    return session


def test_marks_that_make_no_sense_change_nothing() -> None:
    session = car(300)
    for mark in (Mark.ADDED, Mark.CONFIRMED):  # without their amount or point
        assert apply(session, Marked(mark=mark, t_s=300.1)) == session


def test_a_confirmed_point_opens_a_gate_that_waits_for_it() -> None:
    asking = replace(SHEET, confirm=("cautions",))
    session = apply(
        begin(asking, interval_s=0.2), LinkChange(state=LinkState.LIVE, t_s=0.0)
    )
    session = car(300, session=session)
    assert say(session, 300.2).reasons == (Reason.CAUTIONS_OPEN,)
    session = told(session, Mark.CONFIRMED, 300.3, confirms=Confirmation.CAUTIONS)
    assert say(session, 300.4).verdict is Verdict.GO


def test_a_tilt_is_worth_what_the_geometry_says() -> None:
    # check-values section 8 (computed): a tube 150 mm from the centroid over
    # 500 cm2, 1 degree: 2.618 mm, 130.9 mL.
    sheet = replace(
        SHEET, sump_area_cm2=500.0, opening_forward_mm=150.0, tilt_limit_deg=0.5
    )
    session = apply(
        begin(sheet, interval_s=0.2),
        Tilted(lengthways_deg=1.0, across_deg=0.0, t_s=0.0),
    )
    tilt = say(session, 0.1).tilt
    assert tilt is not None
    assert tilt.error_mm == pytest.approx(2.618, abs=0.001)
    assert tilt.error_ml == pytest.approx(130.9, abs=0.05)
    assert tilt.inside_limit is False


@pytest.mark.parametrize("angle", [31.0, -90.0, float("nan"), float("inf")])
def test_a_tilt_that_cannot_be_changes_nothing(angle: float) -> None:
    session = car(3)
    assert (
        apply(session, Tilted(lengthways_deg=angle, across_deg=0.0, t_s=4.0)) == session
    )


@pytest.mark.parametrize(("angle", "level"), [(0.3, True), (0.8, False)])
def test_angles_confirm_the_car_level_for_the_step(angle: float, level: bool) -> None:
    sheet = replace(SHEET, confirm=("car-level",), tilt_limit_deg=0.5)
    session = apply(
        begin(sheet, interval_s=0.2),
        Tilted(lengthways_deg=angle, across_deg=0.0, t_s=1.0),
    )
    assert (Confirmation.CAR_LEVEL in session.step.confirmed) == level
    back = apply(session, Tilted(lengthways_deg=2.0, across_deg=0.0, t_s=2.0))
    assert Confirmation.CAR_LEVEL not in back.step.confirmed


@pytest.mark.parametrize(("spacing_s", "same"), [(0.1, True), (0.1, False)])
def test_a_reading_too_soon_refreshes_only_an_equal_one(
    spacing_s: float, same: bool
) -> None:
    value = 40.0 if same else 41.0
    soon = Reading(role=Role.FLUID_TEMPERATURE, value=value, t_s=300.0 + spacing_s)
    shown = say(apply(car(300), soon), 300.2)
    assert shown.raw_c == 40.0
    assert shown.age_s == pytest.approx(0.1 if same else 0.2)


def test_a_burst_of_readings_is_fed_no_faster_than_five_a_second() -> None:
    session = car(300)
    for n in range(1, 20):
        soon = Reading(role=Role.FLUID_TEMPERATURE, value=40.0, t_s=300.0 + n / 100.0)
        session = apply(session, soon)
    assert session.track.t_s == 300.0
    later = Reading(role=Role.FLUID_TEMPERATURE, value=40.0, t_s=300.2)
    assert apply(session, later).track.t_s == 300.2


@pytest.mark.parametrize(("age_s", "known"), [(9.9, True), (10.2, False)])
def test_the_coolant_is_shown_for_ten_seconds(age_s: float, known: bool) -> None:
    coolant = Reading(role=Role.COOLANT_TEMPERATURE, value=80.0, t_s=300.0)
    shown = say(apply(car(300), coolant), 300.0 + age_s)
    assert (shown.coolant_c == 80.0) == known


def test_what_the_sensor_may_be_off_by_counts_against_the_windows_edge() -> None:
    # JCGM 100:2008, 4.3.7: a stated bound is rectangular, 1.5 degC over the root of 3
    fluid = replace(SHEET.signals[0], accuracy_c=1.5)
    stated = replace(SHEET, signals=(fluid,))
    live = LinkChange(state=LinkState.LIVE, t_s=0.0)
    for temp_c, near in ((36.0, True), (40.0, False)):
        plain = say(car(300, temp_c), 300.2)
        session = apply(begin(stated, interval_s=0.2), live)
        told = say(car(300, temp_c, session), 300.2)
        assert plain.verdict is Verdict.GO
        assert told.verdict is (Verdict.NO_GO if near else Verdict.GO)


def test_a_wrong_gear_is_told_apart_in_the_rows() -> None:
    sheet = replace(SHEET, selector_position="D")
    assert say(begin(sheet, interval_s=0.2), 0.0).selector_wanted == "D"
