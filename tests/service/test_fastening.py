"""What is ticked at a fastener, what is missing, its words, the lift of a tube."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.service.fastening import (
    line_of,
    missing,
    pitch_mm,
    ticks_wanted,
    tube_lift,
)
from bridge.values.service_sheet import Fastener, Renewal, Tick

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


def test_what_is_missing_is_listed_in_the_sheets_order():
    done = {"level plug": {Tick.TIGHTENED}, "overflow tube": set(Tick)}
    left = missing((PLUG, TUBE, PAN), done)
    assert [(m.fastener.name, m.tick) for m in left] == [
        ("level plug", Tick.RENEWED),
        ("level plug", Tick.ANGLE),
        ("pan bolts", Tick.RENEWED),
        ("pan bolts", Tick.TIGHTENED),
    ]
    assert missing((), {}) == ()


fasteners = st.builds(
    Fastener,
    name=st.sampled_from("abc"),
    torque_nm=st.none() | st.floats(1, 100),
    angle_deg=st.none() | st.floats(0, 180),
    turns_back=st.none() | st.floats(0, 5),
    renew=st.lists(st.sampled_from(Renewal), max_size=2).map(tuple),
)


@given(st.lists(fasteners, max_size=4))
def test_ticking_all_that_is_missing_leaves_nothing(some):
    done: dict[str, set[Tick]] = {}
    for item in missing(some, done):
        done.setdefault(item.fastener.name, set()).add(item.tick)
    assert missing(some, done) == ()


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
