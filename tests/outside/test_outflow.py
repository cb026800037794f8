"""How long a surplus runs, against Torricelli's law and the weirs of handbooks."""

import math

import numpy as np
import pytest

from bridge.level.settling.outflow import (
    Basis,
    flow_ml_per_s,
    reckoned_settle_s,
    runs_down_s,
    settle_of,
)
from bridge.level.step.plan import plan_of
from bridge.values.sheet import LevelMethod, Sheet

TUBE, HOLE = LevelMethod.OVERFLOW_TUBE, LevelMethod.LEVEL_PLUG
G = 9.80665


def test_a_deep_head_drains_as_torricelli_has_it():
    # worked example: 600 cm2, 80 mm over a hole of 10 mm, discharge coefficient 0.6:
    # 1.2526 m/s, 3.5417 L/min at the start, 162.6 s to drain by the orifice alone
    assert flow_ml_per_s(TUBE, 80.0, 10.0) * 0.06 == pytest.approx(3.5417, abs=1e-2)
    # down to 20 mm (an orifice all the way) it is half of that, since time is as the
    # root of the head
    to = flow_ml_per_s(TUBE, 20.0, 10.0)
    took = runs_down_s(TUBE, bore_mm=10.0, area_cm2=600.0, to_ml_per_s=to, head_mm=80.0)
    assert took == pytest.approx(162.633 / 2, rel=1e-3)


def test_a_thin_head_over_a_rim_is_a_weir_of_the_rims_length():
    # Poleni: Q = 2/3 C b sqrt(2 g) h^1.5, b the rim's length (ISO 1438, from memory)
    for head, bore in ((0.1, 6.0), (1.0, 10.0), (3.0, 20.0)):
        b, h = math.pi * bore / 1000, head / 1000
        weir = 2 / 3 * 0.6 * b * math.sqrt(2 * G) * h**1.5 * 1e6
        assert flow_ml_per_s(TUBE, head, bore) == pytest.approx(weir, rel=1e-9)


def test_a_thin_head_over_a_round_hole_is_a_parabolic_weir():
    # the lowest part of a circle is a parabola of width 2 sqrt(d y): the handbooks'
    # parabolic notch, Q = pi/4 C sqrt(2 g d) h^2 (from memory)
    for bore in (8.0, 18.0):
        head = bore / 400
        notch = math.pi / 4 * 0.6 * math.sqrt(2 * G * bore / 1000) * (head / 1000) ** 2
        got = flow_ml_per_s(HOLE, head, bore)
        assert got == pytest.approx(notch * 1e6, rel=5e-3)


@pytest.mark.parametrize("head", [2.0, 7.0, 14.0, 40.0])
def test_a_round_hole_is_torricelli_summed_over_its_depth(head):
    y = (np.arange(200_000) + 0.5) / 200_000 * min(head, 14.0) / 1000
    wide = 2 * np.sqrt(y * (0.014 - y))
    total = np.sum(wide * np.sqrt(2 * G * (head / 1000 - y))) * (y[1] - y[0])
    got = flow_ml_per_s(HOLE, head, 14.0)
    assert got == pytest.approx(0.6 * total * 1e6, rel=2e-3)


def test_the_last_drops_take_as_long_as_an_independent_model_has_it():
    # an independent outflow model (issue 16): down to one drop a second over 500 cm2 in
    # 200 to 250 s through a tube, 300 to 470 s through a side hole
    tube = Sheet(name="t", source="t", method=TUBE)
    hole = Sheet(name="t", source="t", method=HOLE)
    assert 200 <= reckoned_settle_s(tube) <= 250
    assert 300 <= reckoned_settle_s(hole) <= 470
    # the tube in closed form: 2 A / c (h1^-1/2 - h0^-1/2)
    c = 2 / 3 * 0.6 * math.pi * 0.01 * math.sqrt(2 * G)
    h1 = (0.05e-6 / c) ** (2 / 3)
    closed = 2 * 0.05 / c * (h1**-0.5 - 0.002**-0.5)
    got = runs_down_s(TUBE, bore_mm=10.0, area_cm2=500.0, to_ml_per_s=0.05, head_mm=2.0)
    assert got == pytest.approx(closed, rel=1e-3)


def test_nothing_runs_that_is_below_the_criterion_from_the_start():
    none = runs_down_s(
        TUBE, bore_mm=8.0, area_cm2=500.0, to_ml_per_s=0.05, head_mm=0.01
    )
    assert none == pytest.approx(0.0, abs=1e-6)


def test_what_a_sheet_states_is_kept_and_what_it_does_not_is_reckoned():
    stated = Sheet(name="t", source="t", settle_time_s=60.0, bore_mm=6.0)
    assert settle_of(stated).time_s == 60.0
    assert settle_of(stated).basis is Basis.STATED
    usual = settle_of(Sheet(name="t", source="t"))
    own = Sheet(name="t", source="t", bore_mm=6.0, sump_area_cm2=500.0)
    assert usual.basis is Basis.USUAL
    assert settle_of(own).basis is Basis.RECKONED
    assert settle_of(own).time_s == usual.time_s
    assert settle_of(own).spread > settle_of(stated).spread


def test_one_definition_of_settled_reaches_timer_and_drips():
    slow = Sheet(name="t", source="t", drop_rate_per_s=0.5)
    quick = Sheet(name="t", source="t", drop_rate_per_s=3.0)
    assert plan_of(slow).drip.settled_rate_per_s == 0.5
    assert plan_of(slow).settle_s > 1.5 * plan_of(quick).settle_s
    assert plan_of(quick).settle_s == reckoned_settle_s(quick)


def test_a_stick_needs_only_hands():
    stick = Sheet(name="t", source="t", method=LevelMethod.STICK)
    assert settle_of(stick).time_s == 60.0


def test_closing_at_a_temperature_waits_for_no_drips():
    heat = Sheet(name="t", source="t", close_at_c=43.0)
    assert settle_of(heat).time_s == 60.0
    assert reckoned_settle_s(heat) is None


@pytest.mark.parametrize("method", [TUBE, HOLE])
@pytest.mark.parametrize("area", [20.0, 5000.0])
@pytest.mark.parametrize("bore", [2.0, 60.0])
@pytest.mark.parametrize("rate", [0.2, 3.0])
def test_every_opening_a_sheet_may_have_takes_time(method, area, bore, rate):
    sheet = Sheet(
        name="t",
        source="t",
        method=method,
        sump_area_cm2=area,
        bore_mm=bore,
        drop_rate_per_s=rate,
    )
    assert settle_of(sheet).time_s > 1.0
    plan_of(sheet)
