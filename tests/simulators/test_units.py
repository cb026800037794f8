"""Control units: any sheet's signals are encoded so that they decode to the car."""

from __future__ import annotations

import isotp
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from bridge.values.sheet import Role, Signal
from simulators.adapter.isotp import FlowControl, gap_s, pad, parse_flow, segment
from simulators.adapter.legacy_bus import check_byte, messages
from simulators.car.car import Car
from simulators.car.car_units import make_units
from simulators.car.ecu import Unit, code_bytes, supported
from simulators.car.plant import Heat, Plant
from simulators.car.signal_bytes import NoReading, encode


def car(temp_c=20.0, **options) -> Car:
    return Car(plant=Plant(Heat.soaked(temp_c), ambient_c=temp_c), **options)


def engine_and_gearbox(**options):
    return make_units(car(**options))


def answer(unit: Unit, request: str, ident=None, now_s=0.0) -> str:
    replies = unit.answer(ident or unit.request_id, bytes.fromhex(request), now_s)
    return " | ".join(reply.payload.hex(" ").upper() for reply in replies)


# -- encoding ------------------------------------------------------------------

signals = st.builds(
    Signal,
    role=st.just(Role.FLUID_TEMPERATURE),
    service=st.just(0x22),
    identifier=st.just(0x1234),
    length=st.integers(1, 4),
    signed=st.booleans(),
    byte_order=st.sampled_from(["big", "little"]),
    factor=st.floats(0.01, 2.0) | st.floats(-2.0, -0.01),
    offset=st.floats(-273.0, 100.0),
)


@given(signals, st.floats(-40.0, 150.0))
def test_every_signal_decodes_to_the_value_it_was_made_from(signal, temp_c):
    raw_bytes = encode(signal, car(temp_c))
    assert len(raw_bytes) == signal.length
    raw = int.from_bytes(raw_bytes, signal.byte_order, signed=signal.signed)
    bits = 8 * signal.length
    low, high = (
        (-(2 ** (bits - 1)), 2 ** (bits - 1) - 1) if signal.signed else (0, 2**bits - 1)
    )
    exact = (temp_c - signal.offset) / signal.factor
    assume(low <= exact <= high)
    assert abs(raw - exact) <= 0.5 + 1e-6


@given(signals, st.floats(-273.0, 2000.0))
def test_values_beyond_the_bytes_are_held_at_their_end(signal, temp_c):
    assert len(encode(signal, car(temp_c))) == signal.length


def byte_signal(**options) -> Signal:
    made = {"offset": -40.0, "role": Role.FLUID_TEMPERATURE, **options}
    return Signal(service=0x22, identifier=1, **made)


def test_no_reading_takes_the_code_for_it_or_is_refused():
    broken = car(sensor_broken=True)
    assert encode(byte_signal(not_available=(0xFE, 0xFF)), broken) == b"\xfe"
    with pytest.raises(NoReading):
        encode(byte_signal(), broken)


def test_a_reading_never_looks_like_no_reading():
    assert encode(byte_signal(not_available=(0xFF,)), car(400.0)) == b"\xfe"
    assert encode(byte_signal(not_available=(0x64,)), car(60.0)) == b"\x65"


def test_selector_positions_by_their_label():
    signal = byte_signal(role=Role.SELECTOR, labels=((1, "P"), (8, "Drive")))
    assert encode(signal, car(selector="P")) == b"\x01"
    assert encode(signal, car(selector="d")) == b"\x08"
    with pytest.raises(NoReading):
        encode(signal, car(selector="R"))


# -- services -------------------------------------------------------------------


def test_standard_identifiers_of_the_engine():
    engine, _gearbox = engine_and_gearbox(speed_kmh=50.0)
    assert answer(engine, "01 05") == "41 05 3C"
    assert answer(engine, "01 0D") == "41 0D 32"
    assert answer(engine, "01 42") == "41 42 37 14"
    assert answer(engine, "01 1F", now_s=3600.0) == "41 1F 0E 10"  # J1979 example

    engine, _gearbox = engine_and_gearbox()
    assert answer(engine, "01 0D 05") == "41 0D 00 05 3C"
    assert answer(engine, "01 05 99") == "41 05 3C"


def test_supported_identifiers_agree_with_what_is_answered():
    """Bitmap: bit 7 of A is the next identifier (SAE J1979)."""
    engine, _gearbox = engine_and_gearbox()
    found = set()
    for base in (0x00, 0x20, 0x40):
        bits = int(answer(engine, f"01 {base:02X}").replace(" ", "")[4:], 16)
        found |= {base + place for place in range(1, 33) if bits >> (32 - place) & 1}
    for pid in range(0x60):
        known = answer(engine, f"01 {pid:02X}").startswith("41")
        assert known == (pid in found or pid == 0)


def test_bitmap_of_the_published_example():
    """`41 00 BE 1F A8 13` lists these identifiers (public J1979 example)."""
    pids = [
        0x01,
        3,
        4,
        5,
        6,
        7,
        0x0C,
        0x0D,
        0x0E,
        0x0F,
        0x10,
        0x11,
        0x13,
        0x15,
        0x1C,
        0x1F,
    ]
    table = supported({pid: lambda _car: b"\x00" for pid in [*pids, 0x21]})
    assert table[0](car()) == bytes.fromhex("BE1FA813")


def test_refusals_carry_their_codes():
    """ISO 14229-1 annex A: 11, 12, 13, 31, 7F; and silence if sent to everybody."""
    engine, gearbox = engine_and_gearbox()
    assert answer(gearbox, "22 12 34") == "7F 22 31"
    assert answer(gearbox, "22 12") == "7F 22 13"
    assert answer(engine, "01 5C") == "7F 01 12"
    assert answer(engine, "09 04") == "7F 09 12"
    assert answer(engine, "22 11 57") == "7F 22 11"
    assert answer(gearbox, "21 99") == "7F 21 31"
    for writing in ("04", "11 01", "14 FF FF FF", "27 01", "2E 11 57 00", "2F 11 57 03",
                    "31 01 00 00", "34 00", "3B 01 00", "85 02"):  # fmt: skip
        assert answer(gearbox, writing) == f"7F {writing[:2]} 11"
    assert answer(engine, "01 5C", ident=0x7DF) == ""
    assert answer(gearbox, "22 12 34", ident=0x7DF) == ""


def test_sessions_open_and_time_out():
    """`50 03 00 32 01 F4`: P2 50 ms, P2* 5.0 s (ISO 14229-1, read so by udsoncan)."""
    gearbox = engine_and_gearbox()[1]
    gearbox.extended_only = frozenset({0x22})
    assert answer(gearbox, "22 11 57") == "7F 22 7F"
    assert answer(gearbox, "10 03") == "50 03 00 32 01 F4"
    assert answer(gearbox, "22 11 57", now_s=4.0) == "62 11 57 3C"
    assert answer(gearbox, "3E 00", now_s=8.0) == "7E 00"
    assert answer(gearbox, "3E 80", now_s=12.0) == ""
    assert answer(gearbox, "22 11 57", now_s=16.0).startswith("62 11 57")
    assert answer(gearbox, "22 11 57", now_s=22.0) == "7F 22 7F"
    assert answer(gearbox, "10 02") == "7F 10 12"
    assert answer(gearbox, "10") == "7F 10 13"
    assert answer(gearbox, "3E 01") == "7F 3E 12"


def test_trouble_codes():
    """Bytes of codes after SAE J2012, as python-OBD and scapy decode them."""
    known = {
        "P0133": "0133", "P0700": "0700", "U1016": "D016",
        "U0123": "C123", "C0123": "4123", "B0123": "8123",
    }  # fmt: skip
    for code, raw in known.items():
        assert code_bytes(code).hex().upper() == raw
    engine, gearbox = engine_and_gearbox(stored=("P0711",), permanent=("P0700",))
    assert answer(engine, "03") == "43 01 07 11"
    assert answer(engine, "07") == "47 00"
    assert answer(gearbox, "0A") == "4A 01 07 00"
    assert answer(engine, "01 01")[:8] == "41 01 81"


def test_vehicle_number():
    engine, gearbox = engine_and_gearbox()
    assert bytes.fromhex(answer(engine, "09 02"))[3:] == b"1" * 17
    assert answer(gearbox, "09 02") == "7F 09 11"


def test_ignition_off_means_silence():
    engine, _gearbox = engine_and_gearbox(ignition=False)
    assert answer(engine, "01 05") == ""


# -- units of a sheet -----------------------------------------------------------


def units_of(*made: Signal, **options):
    return {(u.request_id, u.reply_id): u for u in make_units(car(**options), made)}


def test_units_follow_the_ids_of_the_signals():
    def at(request, reply):
        return byte_signal(request_id=request, reply_id=reply)

    assert set(units_of(at(0x7E1, 0x7E9))) == {(0x7E0, 0x7E8), (0x7E1, 0x7E9)}
    assert set(units_of(at(0x611, 0x619))) == {(0x7E0, 0x7E8), (0x611, 0x619)}
    assert set(units_of(at(0x7E2, None))) == {(0x7E0, 0x7E8), (0x7E2, 0x7EA)}
    assert set(units_of(at(0x7DF, 0x7E9))) == {(0x7E0, 0x7E8), (0x7E1, 0x7E9)}
    assert set(units_of(at(0x18DA18F1, 0x18DAF118))) == {
        (0x18DA10F1, 0x18DAF110), (0x18DA18F1, 0x18DAF118),
    }  # fmt: skip
    assert (0x7E1, 0x7E9) in units_of(byte_signal())  # a standard one: gearbox by habit


def test_signals_share_a_block_and_keep_their_places():
    place = {"request_id": 0x7E1, "reply_id": 0x7E9, "data_length": 12}
    units = units_of(
        byte_signal(first_byte=3, **place),
        byte_signal(role=Role.SELECTOR, first_byte=8, labels=((5, "P"),), **place),
        byte_signal(role=Role.COOLANT_TEMPERATURE, first_byte=10, length=2,
                    byte_order="little", factor=0.1, **place),
    )  # fmt: skip
    data = bytes.fromhex(answer(units[0x7E1, 0x7E9], "22 00 01"))[3:]
    assert len(data) == 12
    assert (data[3], data[8]) == (60, 5)
    assert int.from_bytes(data[10:12], "little") == 600


def test_a_standard_signal_goes_to_the_engine():
    signal = Signal(
        role=Role.FLUID_TEMPERATURE, service=1, identifier=0x5F, offset=-40.0
    )
    engine = units_of(signal)[0x7E0, 0x7E8]
    assert answer(engine, "01 5F") == "41 5F 3C"


# -- frames ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("payload", "frames"),
    [
        ("01 05", ["02 01 05"]),
        ("00 01 02 03 04 05 06", ["07 00 01 02 03 04 05 06"]),
        ("00 01 02 03 04 05 06 07", ["10 08 00 01 02 03 04 05", "21 06 07"]),
        (
            "49 02 01" + "31" * 17,
            ["10 14 49 02 01 31 31 31", "21" + "31" * 7, "22" + "31" * 7],
        ),
    ],
)
def test_frames_of_the_standard(payload, frames):
    """ISO 15765-2 frames as the can-isotp package makes them (check-values 2.1)."""
    cut = segment(bytes.fromhex(payload))
    assert [frame.hex() for frame in cut] == [bytes.fromhex(f).hex() for f in frames]


def test_the_sequence_number_wraps_and_long_lengths_escape():
    cut = segment(bytes(125))
    assert [f[0] for f in cut] == [0x10, *range(0x21, 0x30), 0x20, 0x21]
    assert segment(bytes(4095))[0][:2] == b"\x1f\xff"
    assert segment(bytes(4096))[0][:6] == bytes.fromhex("100000001000")


@given(st.binary(min_size=1, max_size=300))
def test_frames_reassemble_in_an_independent_library(payload):
    """Receiver: the can-isotp package."""
    queue = [
        isotp.CanMessage(arbitration_id=0x7E9, data=pad(frame, 0xAA))
        for frame in segment(payload)
    ]
    address = isotp.Address(isotp.AddressingMode.Normal_11bits, txid=0x7E1, rxid=0x7E9)
    layer = isotp.TransportLayerLogic(
        rxfn=lambda timeout=0: queue.pop(0) if queue else None,
        txfn=lambda _message: None,
        address=address,
    )
    for _ in range(len(queue) + 2):
        layer.process()
    assert layer.recv() == payload


def test_flow_control():
    assert parse_flow(0x7E1, bytes.fromhex("30 08 14")) == FlowControl(
        ident=0x7E1, block_size=8, gap_s=0.020
    )
    assert parse_flow(0x7E1, b"\x10\x00\x00") is None
    assert gap_s(0x7F) == 0.127
    assert gap_s(0xF1) == pytest.approx(100e-6)
    assert gap_s(0xF9) == pytest.approx(900e-6)
    assert gap_s(0x80) == gap_s(0xFA) == 0.127  # reserved: the longest


def test_check_bytes_of_the_older_buses():
    """ISO 14230: sums from check-values 2.4; SAE J1850 CRC of a published frame."""
    assert check_byte("5", bytes.fromhex("81 10 F1 81")) == 0x03
    assert check_byte("5", bytes.fromhex("83 F1 10 C1 E9 8F")) == 0xBD
    assert check_byte("5", bytes.fromhex("82 10 F1 21 01")) == 0xA5
    assert check_byte("5", bytes.fromhex("83 F1 10 7F 21 12")) == 0x36
    # CRC-8/SAE-J1850 check value for '123456789' in the public CRC catalogue: 4B.
    assert check_byte("2", b"123456789") == 0x4B


def test_messages_before_can():
    assert messages(bytes.fromhex("43 00")) == (bytes.fromhex("43 00 00 00 00 00 00"),)
    four = messages(bytes.fromhex("43 04 01 08 01 18 01 26 01 11"))
    assert [m.hex() for m in four] == ["43010801180126", "43011100000000"]
