"""The simulated adapter against the exchanges printed in the ELM327 data sheet.

Source unless a test says otherwise: ELM327 data sheet (v2.x), as quoted in
independent public test suites; the byte strings are those of the sheet. Chapter
'Multiline responses' for the VIN and calibration examples, 'Talking to the vehicle'
and 'Interpreting trouble codes' for the others.
"""

from __future__ import annotations

import pytest

from simulators.car.ecu import Unit
from tests.simulators.rig import Rig, quiet

DATA_SHEET_VIN = "1D4GP00R55B123456"  # its check digit is wrong in the sheet too


def engine(answers, *, service=1, request_id=0x7E0, reply_id=0x7E8, **more):
    """A unit that answers the sheet's own bytes, unpadded as the sheet prints them."""
    table = {pid: constant(bytes.fromhex(data)) for pid, data in answers.items()}
    tables = {"pids": table} if service == 1 else {"infos": table}
    made = {"padding": None, **tables, **more}
    return lambda car: Unit(
        car=car, name="sheet", request_id=request_id, reply_id=reply_id, **made
    )


def constant(data):
    return lambda _car: data


def both(*makers):
    return lambda car: [make(car) for make in makers]


SUPPORTED = both(
    engine({0x00: "BE 3F A8 13"}),
    engine({0x00: "98 18 80 10"}, request_id=0x7E2, reply_id=0x7EA, latency_s=0.012),
)


def test_supported_pids_with_headers_off():
    rig = quiet(units=both(engine({0x00: "BE 3E B8 11"})))
    assert rig.raw(b"01 00\r") == b"41 00 BE 3E B8 11 \r\r>"


def test_supported_pids_of_two_units_with_headers_on():
    rig = quiet(units=SUPPORTED)
    assert rig.ask("ATH1", "01 00") == [
        "7E8 06 41 00 BE 3F A8 13",
        "7EA 06 41 00 98 18 80 10",
    ]


def test_coolant_and_engine_speed():
    """Values 83 degC and 1726 rpm of the sheet's chapter on OBD commands."""
    rig = quiet(units=both(engine({0x05: "7B", 0x0C: "1A F8"})))
    assert rig.ask("01 05") == ["41 05 7B"]
    assert rig.ask("01 0C") == ["41 0C 1A F8"]


def test_searching_is_printed_before_the_first_answer():
    rig = Rig(units=both(engine({0x00: "BE 3E B8 11"})))
    rig.ask("ATE0", "ATL0", "ATSP0")
    assert rig.raw(b"0100\r") == b"SEARCHING...\r41 00 BE 3E B8 11 \r\r>"


@pytest.fixture
def vin_rig():
    return quiet(vin=DATA_SHEET_VIN)


def test_vin_on_can_with_headers_off(vin_rig):
    vin_rig.ask("ATS1", "ATSH7E0")
    assert vin_rig.raw(b"0902\r") == (
        b"014\r0: 49 02 01 31 44 34 \r1: 47 50 30 30 52 35 35 \r"
        b"2: 42 31 32 33 34 35 36 \r\r>"
    )


def test_vin_on_can_with_headers_on(vin_rig):
    assert vin_rig.ask("ATH1", "0902") == [
        "7E8 10 14 49 02 01 31 44 34",
        "7E8 21 47 50 30 30 52 35 35",
        "7E8 22 42 31 32 33 34 35 36",
    ]


def test_vin_before_can():
    """Five messages with an order byte, three zeros in front (J1850 / ISO 9141-2)."""
    rig = Rig(vin=DATA_SHEET_VIN, protocol="3")
    rig.ask("ATE0", "ATSP3")
    assert rig.ask("0902")[1:] == [
        "49 02 01 00 00 00 31",
        "49 02 02 44 34 47 50",
        "49 02 03 30 30 52 35",
        "49 02 04 35 42 31 32",
        "49 02 05 33 34 35 36",
    ]


def test_calibration_ids_of_two_units_interleave_with_headers_off():
    """Data sheet p. 45: nobody can tell which line belongs to which unit."""
    first = "01 35 36 30 32 38 39 34 39 41 43 00 00 00 00 00 00"
    second = "01 35 36 30 32 38 39 35 34 41 43 00 00 00 00 00 00"
    units = both(
        engine({0x04: first}, service=9, padding=0x31),
        engine({0x04: second}, service=9, padding=0x00, latency_s=0.0111,
               request_id=0x7E1, reply_id=0x7E9),
    )  # fmt: skip
    assert quiet(units=units).ask("0904") == [
        "013", "0: 49 04 01 35 36 30", "1: 32 38 39 34 39 41 43",
        "013", "0: 49 04 01 35 36 30", "2: 00 00 00 00 00 00 31",
        "1: 32 38 39 35 34 41 43", "2: 00 00 00 00 00 00 00",
    ]  # fmt: skip


def test_trouble_codes_on_can_and_before():
    """`43 01 01 33` on CAN, `43 01 33 00 00 00 00` before it (SAE J1979)."""
    assert quiet(stored=("P0133",)).ask("ATSH7E0", "03") == ["43 01 01 33"]
    old = Rig(stored=("P0133",), protocol="1")
    assert old.ask("ATSP1", "ATE0", "03")[0] == "43 01 33 00 00 00 00"


def test_monitor_status_tells_lamp_and_count():
    """`41 01 81 07 65 04`: the lamp is on and one code is stored."""
    assert quiet(stored=("P0133",)).ask("ATSH7E0", "01 01") == ["41 01 81 07 65 04"]


def test_kwp_line_with_headers_ends_in_a_checksum():
    """ISO 14230-2: format byte, target, source, data, sum of all modulo 256.

    `83 F1 10 41 05 86` is the message of python-OBD issue 132; its sum is 50h.
    """
    rig = Rig(units=both(engine({0x05: "86"})), protocol="5")
    assert rig.ask("ATE0", "ATSP5", "ATH1", "0105")[-1] == "83 F1 10 41 05 86 50"


def test_refusal_on_kwp():
    """`83 F1 10 7F 21 12` has checksum 36h (ISO 14230-2 sum)."""
    rig = Rig(units=lambda car: [
        Unit(car=car, name="k", request_id=0x7E0, reply_id=0x7E8,
             locals_={0x30: lambda _car: b"\x00"}),
    ], protocol="5")  # fmt: skip
    rig.ask("ATE0", "ATSP5", "ATH1", "ATSH 82 10 F1")
    line = rig.ask("2101")[-1]
    assert line.startswith("83 F1 10 7F 21")
    assert sum(bytes.fromhex(line)[:-1]) % 256 == bytes.fromhex(line)[-1]


def test_power_up_defaults():
    """Echo and spaces on, headers off, automatic formatting on (command summary)."""
    rig = Rig(units=both(engine({0x05: "7B"})))
    assert rig.raw(b"ATI\r").startswith(b"ATI\r")
    assert rig.ask("ATSP6", "0105") == ["0105", "41 05 7B"]


def test_reset_prints_the_version_after_two_empty_lines():
    rig = Rig()
    assert rig.raw(b"ATZ\r") == b"ATZ\r\n\r\n\r\nELM327 v2.1\r\n\r\n>"


def test_an_empty_line_repeats_the_last_command():
    rig = quiet(units=both(engine({0x05: "7B"})))
    assert rig.ask("0105") == rig.ask("")


def test_spaces_and_case_do_not_matter():
    rig = quiet(units=both(engine({0x05: "7B"})))
    assert rig.ask("at sh 7 e 0") == ["OK"]
    assert rig.ask(" 0 1 0 5 ") == ["41 05 7B"]


def test_not_understood():
    rig = quiet()
    for nonsense in ("AT XYZ", "HELLO", "AT SH 12", "AT SP Z", "\x7f\x7f", "AT ST 1"):
        assert rig.ask(nonsense) == ["?"], nonsense


def test_no_data_when_nobody_answers():
    assert quiet().ask("AT SH 7E5", "22 12 34") == ["NO DATA"]


def test_a_character_too_early_stops_the_operation():
    rig = quiet()
    rig.adapter.receive(b"0105\r", rig.now_s)
    rig.now_s += 0.005
    rig.adapter.take(rig.now_s)
    out = rig.raw(b"x")
    assert out.endswith(b"STOPPED\r\r>")


def test_protocol_numbers():
    rig = Rig()
    rig.ask("ATE0", "ATSP0")
    assert rig.ask("ATDPN") == ["0"]
    rig.ask("0100")
    assert rig.ask("ATDPN") == ["A6"]
    assert rig.ask("ATDP") == ["AUTO, ISO 15765-4 (CAN 11/500)"]
    assert rig.ask("ATSP6", "ATDPN") == ["6"]


def test_listening_time_is_counted_in_4_096_ms():
    """0x96 counts are 614.4 ms: the time from request to prompt without a digit."""
    rig = quiet(units=both(engine({0x05: "7B"})))
    rig.ask("ATAT0", "0105")
    times = []
    for counts in ("19", "96"):
        rig.ask(f"ATST{counts}")
        before = rig.now_s
        rig.ask("0105")
        times.append(rig.now_s - before)
    assert times[1] - times[0] == pytest.approx((0x96 - 0x19) * 0.004096, abs=1e-6)


def test_the_count_digit_ends_the_wait():
    rig = quiet(units=both(engine({0x05: "7B"})))
    rig.ask("ATAT0", "0105")
    before = rig.now_s
    assert rig.ask("0105 1") == ["41 05 7B"]
    # '0105 1' CR in, '41 05 7B ' CR CR > out, ten bits each; the unit's own 10 ms
    assert rig.now_s - before == pytest.approx(0.01 + (7 + 12) * 10 / 115200, abs=5e-4)


def test_29_bit_headers_from_priority_and_three_bytes():
    """CP sets the upper five bits, SH the other 24 (ISO 15765-4: 18 DA 18 F1)."""
    rig = Rig(protocol="7")
    rig.ask("ATE0", "ATSP7", "ATH1", "AT CP 18", "AT SH DA 18 F1")
    assert rig.ask("22 11 60") == ["18 DA F1 18 05 62 11 60 01 40 AA AA"]
    assert rig.ask("AT SH 18 DA 10 F1", "01 05") == [
        "18 DA F1 10 03 41 05 3C AA AA AA AA"
    ]
