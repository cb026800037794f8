"""When a found signal may open the gate, and that nothing else lets it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.level.found_signal import spell, unconfirmed, why_not
from bridge.session.session import advance, apply
from bridge.session.session_state import begin
from bridge.sheets import find_sheet, parse_sheet
from bridge.sheets.sheet_writer import fresh_sheet, with_found, with_signal
from bridge.sheets.warnings.all_warnings import review_sheet
from bridge.values.conditions import Reason, Verdict
from bridge.values.events import LinkChange
from bridge.values.found import Checkpoint, Found
from bridge.values.readings import LinkState, Reading
from bridge.values.sheet import (
    Role,
    Sheet,
    Signal,
    Window,
)

SIGNAL = Signal(
    role=Role.FLUID_TEMPERATURE,
    service=0x22,
    identifier=0x16AB,
    request_id=0x7E1,
    reply_id=0x7E9,
    factor=0.5,
    offset=-40.0,
    minimum=-40.0,
    maximum=85.0,
)


def check(thermometer_c: float, signal_c: float, coolant_c: float | None = 80.0):
    return Checkpoint(
        when="then",
        thermometer_c=thermometer_c,
        signal_c=signal_c,
        accuracy_c=2.0,
        coolant_c=coolant_c,
    )


GOOD = (check(20.0, 20.5, 21.0), check(35.0, 34.0))


def test_two_agreeing_readings_ten_degrees_apart_confirm():
    assert why_not(GOOD) == ""


@pytest.mark.parametrize(
    ("checks", "says"),
    [
        ((), "two temperatures"),
        (GOOD[:1], "two temperatures"),
        ((check(20.0, 20.0), check(29.9, 29.9)), "9.9 °C apart"),
        ((*GOOD, check(40.0, 80.0)), "40.0 °C apart where"),
        ((check(20, 20, 20), check(40, 40, 41)), "could be the coolant"),
        ((check(20, 20, None), check(35, 35, None)), "20 °C"),
        ((check(20, 22.9), check(35, 32.1)), "scaling"),
        ((check(20, float("nan")), GOOD[1]), "apart where"),
        ((replace(GOOD[0], accuracy_c=9.0), GOOD[1]), "too coarse"),
    ],
)
def test_anything_less_does_not(checks, says):
    assert says in why_not(checks)


temps = st.floats(-30, 120)


@given(st.lists(st.tuples(temps, temps), max_size=6))
def test_what_always_shows_the_coolant_is_never_confirmed(pairs):
    checks = tuple(check(t, c, c) for t, c in pairs)
    assert why_not(checks)


@given(temps, st.lists(temps, max_size=6))
def test_a_stuck_signal_is_never_confirmed(stuck_c, readings):
    assert why_not(tuple(check(t, stuck_c) for t in readings))


def sheet(*checks: Checkpoint, signal: Signal = SIGNAL) -> Sheet:
    found = Found(when="now", how="search", signal=spell(SIGNAL), checkpoints=checks)
    return Sheet(
        name="t",
        source="t",
        window=Window(low_c=35.0, high_c=45.0),
        signals=(signal,),
        found=found,
    )


def test_another_signal_than_the_confirmed_one_is_not_confirmed():
    assert unconfirmed(sheet(*GOOD)) == ""
    moved = replace(SIGNAL, identifier=0x16AC)
    assert "another one" in unconfirmed(sheet(*GOOD, signal=moved))


def decided(a_sheet: Sheet) -> tuple[Verdict, tuple[Reason, ...]]:
    session = begin(a_sheet, interval_s=0.2)
    session = apply(session, LinkChange(state=LinkState.LIVE, t_s=0.0))
    for n in range(400):
        t_s = n * 0.5
        for role, value in (
            (Role.FLUID_TEMPERATURE, 40.0),
            (Role.ENGINE_SPEED, 750.0),
            (Role.VEHICLE_SPEED, 0.0),
        ):
            session = apply(session, Reading(role=role, value=value, t_s=t_s))
    session, seen = advance(session, now_s=200.0)
    return seen.verdict, seen.reasons


def test_the_gate_stays_shut_until_it_is_confirmed():
    assert decided(sheet(*GOOD)) == (Verdict.GO, ())
    assert decided(sheet()) == (Verdict.NO_GO, (Reason.SIGNAL_UNCONFIRMED,))
    assert decided(sheet(GOOD[0]))[1] == (Reason.SIGNAL_UNCONFIRMED,)


@pytest.mark.parametrize("name", ["scar-eight-speed", "tarn-step-automatic"])
def test_writing_keeps_comments_and_everything_else(name):
    before = find_sheet(name).read_text("utf-8")
    note = Found(when="now", how='a "search"', signal="", checkpoints=GOOD)
    after = with_signal(before, name, SIGNAL, note)
    comments = [s for s in before.split("\n") if s.startswith("#")]
    assert all(line in after.split("\n") for line in comments)
    was, now = parse_sheet(before, name), parse_sheet(after, name)
    assert now.signal(Role.FLUID_TEMPERATURE) == SIGNAL
    assert replace(now, signals=(), found=None) == replace(was, signals=(), found=None)
    assert unconfirmed(now) == ""
    assert with_signal(after, name, SIGNAL, note) == after


def test_a_bare_window_becomes_a_sheet_that_can_be_checked_and_confirmed():
    text = fresh_sheet("My gearbox", ("35 degC", "45 degC"), "service manual, page 3")
    note = Found(when="now", how="search", signal="")
    bare = with_signal(text, "mine", SIGNAL, note)
    assert any("not confirmed" in d for d in review_sheet(parse_sheet(bare, "mine")))
    found = parse_sheet(bare, "mine").found
    assert found is not None
    whole = with_found(bare, "mine", replace(found, checkpoints=GOOD))
    assert unconfirmed(parse_sheet(whole, "mine")) == ""
    assert not any("not confirmed" in d for d in review_sheet(parse_sheet(whole, "m")))
