"""Typed readings: read, aged, forecast, gated and held against the car's sensor."""

from __future__ import annotations

import pytest

from bridge.level.thermometer import (
    GO_AGE_S,
    TYPED_STALE_S,
    WORD_S,
    ReadingWanted,
    Thermometer,
    next_reading,
)
from bridge.session import thermometer_status
from bridge.session.session import advance, apply
from bridge.session.session_state import Session, begin
from bridge.snapshot import Snapshot
from bridge.thermal.forecast import forecast
from bridge.thermal.measurement_bias import biased_forecast
from bridge.values.conditions import Reason, ToldBy, Verdict
from bridge.values.events import LinkChange, Mark, Marked, Measured
from bridge.values.readings import LinkState, Reading
from bridge.values.sheet import Confirmation, Role, Sheet, Signal, Window

SHEET = Sheet(
    name="t", source="t", window=Window(low_c=30.0, high_c=50.0), settle_time_s=20.0
)


def hand(accuracy_c: float = 2.0, *, alone: bool = True) -> Session:
    thermometer = Thermometer(accuracy_c=accuracy_c, alone=alone)
    session = begin(SHEET, interval_s=0.2, thermometer=thermometer)
    return apply(session, LinkChange(state=LinkState.LIVE, t_s=0.0))


def confirm(session: Session, t_s: float) -> Session:
    for what in (Confirmation.ENGINE, Confirmation.STANDING):
        told = Marked(mark=Mark.CONFIRMED, confirms=what, t_s=t_s)
        session = apply(session, told)
    return session


def run(session: Session, until_s: float, temps) -> tuple[Session, Snapshot]:
    """Type a reading every minute, tick every five seconds, and at the end."""
    seen = None
    for t_s in sorted({*range(0, int(until_s) + 1, 5), int(until_s)}):
        if t_s % 60 == 0 and (value := temps(t_s)) is not None:
            typed = Measured(
                temp_c=value, accuracy_c=session.thermometer.accuracy_c, t_s=float(t_s)
            )
            session = apply(session, typed)
        session, seen = advance(session, now_s=float(t_s))
    return session, seen


def test_go_needs_readings_and_the_persons_word():
    session, seen = run(hand(), 300, lambda _: 40.0)
    assert Reason.ENGINE_UNKNOWN in seen.reasons
    assert Reason.MOVEMENT_UNKNOWN in seen.reasons
    session, seen = advance(confirm(session, 301.0), now_s=301.0)
    assert (seen.verdict, seen.reasons) == (Verdict.GO, ())
    by = {c.name.value: c.by for c in seen.conditions}
    assert by["engine"] is ToldBy.PERSON


def test_a_typed_reading_ages_into_no_go_and_its_number_goes():
    session, seen = run(confirm(hand(), 0.0), 300, lambda _: 40.0)
    assert seen.verdict is Verdict.GO
    spreads = []
    for ahead_s in (0.0, 60.0, 120.0):
        _, seen = advance(session, now_s=300.0 + ahead_s)
        spreads.append(seen.temp_sd_c)
    assert spreads == sorted(spreads)
    assert spreads[0] < spreads[-1]
    _, seen = advance(session, now_s=300.0 + GO_AGE_S + 1.0)
    assert Reason.TEMPERATURE_UNCERTAIN in seen.reasons
    _, seen = advance(session, now_s=300.0 + TYPED_STALE_S + 1.0)
    assert seen.temp_c is None
    assert Reason.READING_STALE in seen.reasons


def test_the_word_expires():
    session = confirm(hand(), 0.0)
    session, seen = run(session, WORD_S - 1, lambda _: 40.0)
    assert Reason.ENGINE_UNKNOWN not in seen.reasons
    _, seen = advance(session, now_s=WORD_S + 1.0)
    assert Reason.ENGINE_UNKNOWN in seen.reasons
    assert seen.step is not None
    assert Confirmation.ENGINE not in seen.step.confirmed


@pytest.mark.slow
def test_a_coarser_thermometer_is_less_sure():
    chances, spreads = [], []
    for accuracy_c in (1.0, 3.0, 6.0):
        session = confirm(hand(accuracy_c), 0.0)
        _, seen = run(session, 240, lambda t: 30.5 + t / 240.0)
        chances.append(seen.reasons)
        spreads.append(seen.temp_sd_c)
    assert spreads == sorted(spreads)
    unsure = {Reason.AT_WINDOW_EDGE, Reason.TEMPERATURE_UNCERTAIN}
    assert unsure & set(chances[-1])


def test_no_reading_no_number():
    _, seen = run(confirm(hand(), 0.0), 10, lambda _: None)
    assert seen.temp_c is None
    assert Reason.NO_READING in seen.reasons
    assert seen.thermometer_status is not None
    assert (seen.thermometer_status.due_in_s, seen.thermometer_status.ask) == (
        0.0,
        ReadingWanted.FIRST,
    )


def test_the_next_reading_is_asked_for():
    probe = Thermometer(accuracy_c=2.0)

    def asked(**told):
        usual = {"age_s": 10.0, "temp_sd_c": 0.5, "near_s": None, "plug_open": False}
        return next_reading(probe, **(usual | told))

    assert asked() == (80.0, ReadingWanted.REGULAR)
    assert asked(near_s=100.0) == (20.0, ReadingWanted.NEAR_WINDOW)
    assert asked(plug_open=True) == (20.0, ReadingWanted.PLUG_OPEN)
    assert asked(age_s=25.0, temp_sd_c=2.0) == (0.0, ReadingWanted.TOO_VAGUE)
    assert asked(age_s=None) == (0.0, ReadingWanted.FIRST)


CAR = Sheet(
    name="t",
    source="t",
    window=SHEET.window,
    settle_time_s=20.0,
    signals=(Signal(role=Role.FLUID_TEMPERATURE, service=0x22, identifier=1),),
)


def driven(session: Session, until_s: float) -> Session:
    for n in range(int(until_s * 2)):
        t_s = n * 0.5
        for role, value in (
            (Role.FLUID_TEMPERATURE, 40.0),
            (Role.ENGINE_SPEED, 750.0),
            (Role.VEHICLE_SPEED, 0.0),
        ):
            session = apply(session, Reading(role=role, value=value, t_s=t_s))
    return session


@pytest.mark.parametrize(("typed_c", "agrees"), [(41.0, True), (52.0, False)])
def test_both_sources_check_each_other(typed_c, agrees):
    thermometer = Thermometer(accuracy_c=2.0, alone=False)
    session = begin(CAR, interval_s=0.2, thermometer=thermometer)
    session = apply(session, LinkChange(state=LinkState.LIVE, t_s=0.0))
    session = driven(session, 200.0)
    session = apply(session, Measured(temp_c=typed_c, accuracy_c=2.0, t_s=199.6))
    _, seen = advance(session, now_s=199.7)
    assert seen.raw_c == 40.0  # the car's reading stays the car's
    assert (Reason.SOURCES_DISAGREE in seen.reasons) is not agrees
    assert (seen.verdict is Verdict.GO) is agrees
    session = apply(session, Measured(temp_c=40.5, accuracy_c=2.0, t_s=199.7))
    assert advance(session, now_s=199.75)[1].verdict is Verdict.GO


def test_a_slip_of_the_key_is_not_believed():
    session, _ = run(confirm(hand(), 0.0), 240, lambda _: 40.0)
    session = apply(session, Measured(temp_c=83.0, accuracy_c=2.0, t_s=245.0))
    _, seen = advance(session, now_s=245.0)
    assert Reason.READING_IMPLAUSIBLE in seen.reasons
    session = apply(session, Measured(temp_c=40.0, accuracy_c=2.0, t_s=250.0))
    assert advance(session, now_s=250.0)[1].verdict is Verdict.GO


def test_the_chance_of_being_inside_falls_while_nobody_reads():
    """Between two typed readings the heating may change unseen."""
    session, _ = run(hand(), 300, lambda _: 46.0)
    chances = []
    for age_s in (1.0, 20.0, 40.0):
        ahead = thermometer_status.expect(session, 300.0 + age_s)
        alone = forecast(session.track, SHEET.window, now_s=300.0 + age_s)
        chances.append(alone.inside_chance - ahead.inside_chance)
    assert chances[0] < chances[1] < chances[2]
    # 40 s at 0.04 degC/s: 1.6 degC as a deviation, beside the thermometer's own 0.5
    off = biased_forecast(session.track, SHEET.window, now_s=340.0, bias_sd_c=1.68)
    told = thermometer_status.expect(session, 340.0)
    assert told.inside_chance == pytest.approx(off.inside_chance, abs=0.001)


def test_a_thermometer_that_may_be_off_makes_the_edge_less_sure():
    session, _ = run(hand(), 300, lambda _: 40.0)
    near = Window(low_c=39.0, high_c=60.0)
    sure = biased_forecast(session.track, near, now_s=300.0, bias_sd_c=0.0)
    off = biased_forecast(session.track, near, now_s=300.0, bias_sd_c=2.0)
    # Gauss-Hermite with three points (Abramowitz and Stegun, 25.4.46): a sixth of the
    # weight each lies sqrt(3) deviations to either side, and low counts as outside
    assert off.inside_chance == pytest.approx(
        2 / 3 * sure.inside_chance + 1 / 6 * 0.0 + 1 / 6 * 1.0, abs=0.01
    )
