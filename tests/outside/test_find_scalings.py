"""The search's scalings, addresses and codes against the standards they come from.

SAE J1979 PID 05 (raw - 40) and its unit-and-scaling ids 16h (0.1 from -40) and 96h
(signed 0.1); SAE J1939-71 SPN 177 (1/32 from -273, low byte first); ISO 15765-4
(7E0..7E7 answered by id + 8; 18DAxxF1 by 18DAF1xx); ISO 14229-1 table A.1 (negative
response codes). Vectors: the standards' tables, as quoted beside each.
"""

from __future__ import annotations

import numpy as np
import pytest
from udsoncan import Response

from bridge.search.scaling import SCALINGS, BytePlace, Scaling
from bridge.search.scan.sweep import ENOUGH, NO_SUCH_SERVICE
from bridge.search.search_plan import UNITS_11, read_spans, read_units, units_29
from bridge.values.errors import UsageError


def scaling(length: int, factor: float, offset: float, *, signed: bool) -> Scaling:
    return next(
        s
        for s in SCALINGS
        if (s.length, s.factor, s.offset, s.signed) == (length, factor, offset, signed)
    )


@pytest.mark.parametrize(
    ("which", "order", "data", "temp_c"),
    [
        # J1979 PID 05: 41 05 7B is 83 degC, 00 is -40, 50 is 40.
        (scaling(1, 1.0, -40.0, signed=False), "big", "7B", 83.0),
        (scaling(1, 1.0, -40.0, signed=False), "big", "00", -40.0),
        (scaling(1, 1.0, -40.0, signed=False), "big", "50", 40.0),
        # J1979-DA id 16h: raw 0320h is 40.0 degC.
        (scaling(2, 0.1, -40.0, signed=False), "big", "0320", 40.0),
        # J1979-DA id 96h, signed 0.1: FF38h is -20.0 degC (computed).
        (scaling(2, 0.1, 0.0, signed=True), "big", "FF38", -20.0),
        # J1939 SPN 177: bytes 20 27, low byte first, are 40 degC; raw 9696 is 30.
        (scaling(2, 0.03125, -273.0, signed=False), "little", "2027", 40.0),
        (scaling(2, 0.03125, -273.0, signed=False), "little", "E025", 30.0),
    ],
)
def test_a_standards_vector_is_read(which, order, data, temp_c):
    place = BytePlace(first_byte=0, byte_order=order, scaling=which)
    raw = np.frombuffer(bytes.fromhex(data), dtype=np.uint8).reshape(1, -1)
    assert place.values(raw)[0] == pytest.approx(temp_c)


def test_addresses_are_those_of_iso_15765_4():
    assert dict(UNITS_11) == {0x7E0 + n: 0x7E8 + n for n in range(8)}
    wide = dict(units_29())
    assert wide[0x18DA10F1] == 0x18DAF110
    assert wide[0x18DA18F1] == 0x18DAF118
    assert 0x18DAF1F1 not in wide  # the tester itself
    assert read_units("7E1, 18DA18F1") == (0x7E1, 0x18DA18F1)


@pytest.mark.parametrize("text", ["7DF", "7E8", "18DB33F1", "", "xyz"])
def test_only_single_units_are_named(text):
    if not text:
        assert read_units(text) == ()
        return
    with pytest.raises(UsageError):
        read_units(text)


@pytest.mark.parametrize(
    ("code", "name"),
    [
        (0x11, "ServiceNotSupported"),
        (0x7F, "ServiceNotSupportedInActiveSession"),
        (0x22, "ConditionsNotCorrect"),
        (0x36, "ExceedNumberOfAttempts"),
        (0x37, "RequiredTimeDelayNotExpired"),
        (0x83, "EngineIsRunning"),
        (0x92, "VoltageTooHigh"),
        (0x93, "VoltageTooLow"),
    ],
)
def test_codes_that_end_a_search_mean_what_iso_14229_says(code, name):
    assert Response.Code.get_name(code) == name
    assert code in ENOUGH or code in NO_SUCH_SERVICE


@pytest.mark.parametrize("text", ["2E:1000", "10:03", "31:0100-02FF", "22", "3E:00"])
def test_no_service_that_writes_or_acts_can_be_searched(text):
    with pytest.raises(UsageError):
        read_spans(text)


@pytest.mark.parametrize("text", ["22:2000-1000", "21:000-1FF", "22:10000", ""])
def test_a_range_that_makes_no_sense_is_refused(text):
    with pytest.raises(UsageError):
        read_spans(text)
