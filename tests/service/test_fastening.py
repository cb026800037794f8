"""What is ticked at a fastener, bolt by bolt, its words, the lift of a tube."""

import pytest

from bridge.service.fastening import (
    line_of,
    pitch_mm,
    ticks_wanted,
    tube_lift,
)
from bridge.service.log import ticked, toggling, turns_ticked
from bridge.service.missing import missing
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.service_sheet import Fastener, Renewal, Service, StepKind, Tick

TUBE = Fastener(
    name="overflow tube",
    drive="hex socket 8 mm",
    thread="M24x1.5",
    torque_nm=3.0,
    turns_back=3.0,
    plastic=True,
)
PLUG = Fastener(
    name="level plug",
    drive="hex socket 10 mm",
    thread="M14x1.5",
    torque_nm=35.0,
    torque_tolerance_nm=3.0,
    angle_deg=90.0,
    renew=(Renewal.WASHER, Renewal.PLUG),
    note="into aluminium",
)
PAN = Fastener(name="pan bolts", count=12, hand_tight=True, renew=(Renewal.BOLT,))


def test_ticks_come_in_the_order_of_the_work():
    assert ticks_wanted(PLUG) == (Tick.RENEWED, Tick.TIGHTENED, Tick.ANGLE)
    assert ticks_wanted(TUBE) == (Tick.TIGHTENED, Tick.BACKED_OFF)
    assert ticks_wanted(PAN) == (Tick.RENEWED, Tick.TIGHTENED)
    assert ticks_wanted(Fastener(name="x")) == (Tick.TIGHTENED,)
    none = Fastener(name="x", angle_deg=0.0, turns_back=0.0)
    assert ticks_wanted(none) == (Tick.TIGHTENED,)


PAN_IN_ORDER = Fastener(
    name="pan bolts",
    count=4,
    sequence=(1, 3, 2, 4),
    stages_nm=(4.0,),
    torque_nm=8.0,
)


def turned(*numbers: int) -> tuple[ServiceEvent, ...]:
    return tuple(
        ServiceEvent(
            kind=ServiceKind.TICKED, name="pan bolts", tick=Tick.TIGHTENED, count=n
        )
        for n in numbers
    )


def test_a_set_of_bolts_is_tight_when_each_turn_of_its_order_is_ticked():
    assert PAN_IN_ORDER.turns == 8
    assert [PAN_IN_ORDER.turn(n) for n in (1, 2, 5, 8)] == [
        (1, 4.0),
        (3, 4.0),
        (1, 8.0),
        (4, 8.0),
    ]
    assert ticked(turned(*range(1, 8)), PAN_IN_ORDER) == set()
    assert ticked(turned(*range(1, 9)), PAN_IN_ORDER) == {Tick.TIGHTENED}
    # numbers beyond the order are nobody's bolts, twice is once
    assert turns_ticked(turned(1, 1, 2, 9, 0), PAN_IN_ORDER) == {1, 2}
    assert ticked(turned(*range(2, 10)), PAN_IN_ORDER) == set()


def test_a_turn_is_toggled_by_its_number():
    log = turned(1, 2)
    assert toggling(log, turned(3)[0]) == turned(3)[0]
    back = toggling(log, turned(1)[0])
    assert (back.kind, back.back) == (ServiceKind.TAKEN_BACK, 0)
    assert turns_ticked((*log, back), PAN_IN_ORDER) == {2}


def test_the_turns_left_are_told():
    service = Service(fasteners=(PAN_IN_ORDER,), order=(StepKind.REFIT,))
    lacks = missing(service, turned(1, 2, 3))
    assert any("(3 of 8 turns are)" in text for text in lacks)


def test_lines():
    plug, tube, pan = (line_of(f) for f in (PLUG, TUBE, PAN))
    assert plug.before == (
        "level plug",
        "hex socket 10 mm",
        "M14x1.5",
        "new washer and plug",
    )
    assert (plug.torque_nm, plug.torque_tolerance_nm) == (35.0, 3.0)
    assert plug.after == ("then 90° further", "into aluminium")
    assert tube.after == ("then back 3 turns", "plastic: do not overtighten")
    assert pan.before == ("pan bolts", "12 ×", "new bolt")
    assert (pan.torque_nm, pan.after) == (None, ("hand tight",))
    one = line_of(Fastener(name="x", turns_back=1.0))
    assert one.after == ("then back 1 turn",)


@pytest.mark.parametrize(
    ("thread", "pitch"),
    [
        ("M14x1.5", 1.5),
        ("m14 X 1,5", 1.5),
        ("M20×1.5", 1.5),
        (" M24*2 ", 2.0),
        ("M14", 2.0),
        ("M99", None),
        ("M14x0", None),
        ("G 1/2", None),
        ("1/8-27 NPT", None),
        ("M14x1.5 left", None),
        ("", None),
    ],
)
def test_the_pitch_of_a_thread(thread, pitch):
    assert pitch_mm(thread) == pitch


def test_the_lift_of_a_tube():
    lift = tube_lift(TUBE, None, 500.0)
    assert (lift.height_mm, lift.volume_ml) == pytest.approx((4.5, 225.0))
    told = tube_lift(TUBE, 1.0, None)
    assert (told.height_mm, told.volume_ml) == (3.0, None)
    assert tube_lift(PLUG, 1.5, 500.0) is None
    assert tube_lift(Fastener(name="x", turns_back=2.0), None, 500.0) is None
    with pytest.raises(ValueError, match="pitch in mm must be more than 0"):
        tube_lift(TUBE, 0.0, 500.0)
    with pytest.raises(ValueError, match="area in cm2 must be more than 0"):
        tube_lift(TUBE, 1.0, -1.0)
