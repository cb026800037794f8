"""The car before against after: codes, voltage, number, odometer."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.service.before_after import (
    ODDITY_TEXT,
    CodeKind,
    Oddity,
    compare,
    voltage_low,
)
from bridge.values.service_events import CarFacts

VIN = "11111111111111111"
QUIET = CarFacts(
    stored=(), pending=(), permanent=(), lamp=False, vin=VIN, voltage_v=14.1,
    engine_rpm=750.0,
)  # fmt: skip


def car(**changed):
    told = {
        "stored": (), "pending": (), "permanent": (), "lamp": False, "vin": VIN,
        "voltage_v": 14.1, "engine_rpm": 750.0,
    }  # fmt: skip
    return CarFacts(**(told | changed))


def news(found, kind):
    return next(n for n in found.codes if n.kind is kind)


def test_nothing_happened():
    found = compare(QUIET, QUIET, before_km=100.0, after_km=112.0)
    assert (found.oddities, found.new_codes, found.driven_km) == ((), (), 12.0)
    assert [n.kind for n in found.codes] == list(CodeKind)
    assert all(n.compared and not n.new and not n.gone for n in found.codes)


def test_new_gone_and_same():
    before = car(stored=("P0700", "P0420"))
    after = car(stored=("P0420", "P0730"), lamp=True)
    found = compare(before, after)
    stored = news(found, CodeKind.STORED)
    assert (stored.new, stored.gone, stored.same) == (
        ("P0730",),
        ("P0700",),
        ("P0420",),
    )
    assert found.new_codes == ("P0730",)
    assert found.oddities == (Oddity.NEW_CODES, Oddity.LAMP_CAME_ON)


def test_a_code_that_moved_up_is_not_new():
    found = compare(car(pending=("P0730",)), car(stored=("P0730",)))
    assert news(found, CodeKind.STORED).new == ("P0730",)
    assert news(found, CodeKind.PENDING).gone == ("P0730",)
    assert found.new_codes == ()
    assert Oddity.NEW_CODES not in found.oddities


def test_what_was_not_read_is_not_compared():
    found = compare(car(stored=None), car(stored=("P0730",), permanent=None))
    stored = news(found, CodeKind.STORED)
    assert (stored.compared, stored.new, stored.unjudged) == (False, (), ("P0730",))
    assert not news(found, CodeKind.PERMANENT).compared
    assert news(found, CodeKind.PENDING).compared
    assert found.new_codes == ()
    assert found.oddities == (Oddity.CODES_NOT_COMPARED,)


def test_a_fluid_sensor_code_is_told_even_if_it_is_old():
    for before in (car(), car(pending=("P0711",)), car(pending=None)):
        found = compare(before, car(pending=("P0711",)))
        assert found.oddities[0] is Oddity.FLUID_SENSOR_CODE


def test_another_car_is_compared_in_nothing():
    found = compare(QUIET, car(vin="11111111111111112", stored=("P0730",)))
    assert found.oddities == (Oddity.ANOTHER_CAR,)
    assert (found.codes, found.new_codes, found.driven_km) == ((), (), None)


def test_the_number_is_compared_as_it_is_meant():
    assert compare(car(vin="abc "), car(vin="ABC")).oddities == ()
    assert compare(car(vin=""), QUIET).oddities == (Oddity.VIN_NOT_COMPARED,)
    assert compare(QUIET, car(vin=" ")).oddities == (Oddity.VIN_NOT_COMPARED,)


def test_the_odometer():
    back = compare(QUIET, QUIET, before_km=100.0, after_km=99.0)
    assert (back.oddities, back.driven_km) == ((Oddity.ODOMETER_BACKWARDS,), None)
    assert compare(QUIET, QUIET, before_km=100.0).driven_km is None
    assert compare(QUIET, QUIET, before_km=5.0, after_km=5.0).driven_km == 0.0


@pytest.mark.parametrize(
    ("voltage", "rpm", "low"),
    [
        (11.79, 0.0, True),
        (11.8, 0.0, False),
        (12.4, 0.0, False),
        (12.4, None, False),
        (11.7, None, True),
        (12.99, 700.0, True),
        (13.0, 700.0, False),
        (11.0, 250.0, True),
        (None, 700.0, False),
        (math.nan, 700.0, False),
    ],
)
def test_low_voltage(voltage, rpm, low):
    one = car(voltage_v=voltage, engine_rpm=rpm)
    assert voltage_low(one) is low
    assert (Oddity.VOLTAGE_LOW_BEFORE in compare(one, QUIET).oddities) is low
    assert (Oddity.VOLTAGE_LOW_AFTER in compare(QUIET, one).oddities) is low


def test_every_oddity_has_its_words():
    assert set(ODDITY_TEXT) == set(Oddity)


codes = st.none() | st.lists(
    st.sampled_from(("P0700", "P0711", "P0730", "U0101")), unique=True
).map(tuple)
cars = st.builds(
    CarFacts,
    stored=codes,
    pending=codes,
    permanent=codes,
    lamp=st.none() | st.booleans(),
    vin=st.sampled_from(("", VIN, "X")),
    voltage_v=st.none() | st.floats(),
    engine_rpm=st.none() | st.floats(),
)


@given(cars, cars)
def test_no_code_is_lost_or_doubled(before, after):
    found = compare(before, after)
    order = list(Oddity)
    assert [order.index(o) for o in found.oddities] == sorted(
        order.index(o) for o in found.oddities
    )
    for one in found.codes:
        was, now = getattr(before, one.kind), getattr(after, one.kind)
        if one.compared:
            assert {*one.new, *one.same} == set(now)
            assert {*one.gone, *one.same} == set(was)
            assert not {*one.new} & {*one.gone}
        else:
            assert None in (was, now)
            assert one.unjudged == (now or ())


@given(cars)
def test_the_same_car_twice_has_no_news(one):
    found = compare(one, one, before_km=1.0, after_km=1.0)
    assert found.new_codes == ()
    assert not {Oddity.ANOTHER_CAR, Oddity.NEW_CODES, Oddity.LAMP_CAME_ON} & set(
        found.oddities
    )
