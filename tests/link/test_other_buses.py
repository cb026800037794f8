"""The buses before CAN, J1939, and an extended session, against the bench."""

from __future__ import annotations

import pytest

from bridge.protocol.frames import BadFrames, Message
from bridge.protocol.framing import Framing, read_messages
from bridge.protocol.legacy import crc_j1850
from bridge.sheets import parse_sheet
from bridge.values.readings import LinkState
from bridge.values.sheet import Role, Sheet
from simulators.car.scenes import make_bench
from tests.link.character_rig import HEAD, OLDER, sheet_for
from tests.link.rig import watch

GROUP = """
[link]
protocol = "A"
[[signal]]
role = "fluid-temperature"
pgn = 65272
source = 3
first_byte = 4
length = 2
data_length = 8
byte_order = "little"
factor = 0.03125
offset = -273.0
unit = "degC"
not_available = [0xFFFF]
"""
SESSION = """
[link]
session = "extended"
[[signal]]
role = "fluid-temperature"
request_id = "7E1"
service = 0x22
identifier = 0x1157
offset = -40.0
unit = "degC"
"""


def sheet(body: str) -> Sheet:
    return parse_sheet(HEAD.partition("[link]")[0] + body, "test")


@pytest.mark.parametrize("protocol", ["1", "2", "3", "4", "5"])
@pytest.mark.few(2)
def test_a_gearbox_on_a_bus_before_can(protocol: str) -> None:
    old = parse_sheet(HEAD.format(protocol=protocol) + OLDER, "test")
    bench = make_bench("warm-day", old)
    snapshots, lines = watch(bench, old, 25.0)
    last, truth = snapshots[-1], bench.truth()
    assert truth is not None
    assert truth.sensor_c is not None
    assert last.link is LinkState.LIVE
    assert last.raw_c == pytest.approx(truth.sensor_c, abs=1.1)
    assert last.engine_rpm is not None
    assert last.speed_kmh == 0.0
    assert not {s[:2] for s in lines if s[:2] not in ("AT", "01", "21", "!")} - {
        "03",
        "07",
        "09",
        "0A",
    }


def test_long_answers_outside_the_usual_ids_get_filter_and_flow_control() -> None:
    odd = sheet_for("CAN 11, ids of its own")
    bench = make_bench("warm-day", odd)
    snapshots, lines = watch(bench, odd, 20.0)
    truth = bench.truth()
    assert truth is not None
    assert truth.sensor_c is not None
    assert snapshots[-1].raw_c == pytest.approx(truth.sensor_c, abs=1.1)
    assert snapshots[-1].engine_rpm is not None
    assert {"ATCRA77C", "ATFCSH712", "ATFCSD300000", "ATFCSM1", "ATFCSM0"} <= set(lines)


def test_an_adapter_that_cannot_filter_says_so() -> None:
    odd = sheet_for("CAN 11, ids of its own")
    bench = make_bench("warm-day", odd)
    bench.fault("filter-refused")
    snapshots, _ = watch(bench, odd, 10.0)
    assert snapshots[-1].temp_c is None
    fault = dict(snapshots[-1].faults)[Role.FLUID_TEMPERATURE]
    assert "cannot be told to receive 77C" in fault.detail


def test_a_j1939_gearbox_is_listened_to_and_nothing_is_sent() -> None:
    truck = sheet(GROUP)
    bench = make_bench("warm-day", truck)
    snapshots, lines = watch(bench, truck, 25.0)
    last, truth = snapshots[-1], bench.truth()
    assert truth is not None
    assert truth.sensor_c is not None
    assert last.raw_c == pytest.approx(truth.sensor_c, abs=0.1)
    assert last.engine_rpm == pytest.approx(750.0, abs=15.0)
    assert last.speed_kmh == 0.0
    assert all(s.startswith("AT") or s == "!" for s in lines)


def test_j1939_not_available_and_error_values_are_no_temperature() -> None:
    # SAE J1939-71: above FAFF a two-byte raw value is not a measurement.
    from bridge.protocol.signal_value import read_signal
    from bridge.values.readings import Fault, Reading

    signal = sheet(GROUP).signal(Role.FLUID_TEMPERATURE)
    assert signal is not None
    good = read_signal(
        signal, bytes.fromhex("FFFFFFFF2027FFFF"), t_s=0.0, raw=b""
    )  # 40 degC: check vector of SPN 177
    assert isinstance(good, Reading)
    assert good.value == 40.0
    for raw in ("FFFF", "00FE", "FFFE", "00FB"):
        data = bytes.fromhex("FFFFFFFF" + raw + "FFFF")
        assert isinstance(read_signal(signal, data, t_s=0.0, raw=b""), Fault)


def test_an_extended_session_is_asked_for_only_by_a_sheet_that_wants_it() -> None:
    wanting = sheet(SESSION)
    plain = sheet(SESSION.replace('session = "extended"', ""))
    runs = []
    for told in (wanting, plain):
        bench = make_bench("warm-day", told)
        bench.fault("session-needed")
        runs.append(watch(bench, told, 20.0))
    (seen, with_it), (unseen, without) = runs
    assert "1003" in with_it
    assert with_it.count("3E00") > 5
    assert seen[-1].temp_c is not None
    assert not {"1003", "3E00"} & set(without)
    assert unseen[-1].temp_c is None
    assert "active session" in dict(unseen[-1].faults)[Role.FLUID_TEMPERATURE].detail


def test_kwp_frames_of_the_standard() -> None:
    # ISO 14230: 83 F1 10 7F 21 12 with checksum 36 (sum modulo 256).
    assert read_messages(["83F1107F211236"], Framing.KWP) == [
        Message(0x10, bytes.fromhex("7F2112"))
    ]
    for broken in ("83F1107F211237", "83F1107F2112", "82F1107F211235", "83F1107F21"):
        with pytest.raises(BadFrames):
            read_messages([broken], Framing.KWP)


def test_a_copy_that_omits_the_checksum_does_not_eat_a_data_byte() -> None:
    # python-OBD issue 132: 83 F1 10 41 05 86 (86h = 94 degC) became -40.
    with pytest.raises(BadFrames):
        read_messages(["83F110410586"], Framing.KWP)


def test_the_crc_of_j1850() -> None:
    # SAE J1850: the CRC over a message and its CRC leaves the residue 0xC4.
    message = bytes.fromhex("486B10410C1AF8")
    whole = message + bytes([crc_j1850(message)])
    assert crc_j1850(whole) ^ 0xFF == 0xC4
    assert read_messages([whole.hex().upper()], Framing.J1850_VPW) == [
        Message(0x10, bytes.fromhex("410C1AF8"))
    ]
