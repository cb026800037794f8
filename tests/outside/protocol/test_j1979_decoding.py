"""Standard PIDs against SAE J1979 / ISO 15031-5 vectors.

The vectors are the scalings of the standard, as two independent public decoders
(python-OBD 0.7.3 and scapy 2.8.0's automotive layer) agreed on them.
"""

import pytest

from bridge.protocol.reply import Answer, check
from bridge.protocol.request import Request
from bridge.protocol.standard_pids import (
    STANDARD_PIDS,
    read_standard,
    standard_signal,
    supported_pids,
)
from bridge.values.readings import Fault, Reading
from bridge.values.sheet import Role


@pytest.mark.parametrize(
    ("role", "payload", "value"),
    [
        # PID 05: A - 40 degC
        (Role.COOLANT_TEMPERATURE, "41057B", 83.0),
        (Role.COOLANT_TEMPERATURE, "410500", -40.0),
        (Role.COOLANT_TEMPERATURE, "410528", 0.0),
        (Role.COOLANT_TEMPERATURE, "410550", 40.0),
        (Role.COOLANT_TEMPERATURE, "410555", 45.0),
        # PID 0C: (256 A + B) / 4 rpm
        (Role.ENGINE_SPEED, "410C1AF8", 1726.0),
        (Role.ENGINE_SPEED, "410C0C80", 800.0),
        (Role.ENGINE_SPEED, "410C0000", 0.0),
        # PID 0D: A km/h
        (Role.VEHICLE_SPEED, "410D32", 50.0),
        (Role.VEHICLE_SPEED, "410DFF", 255.0),
        # PID 1F: 256 A + B s
        (Role.ENGINE_RUN_TIME, "411F0E10", 3600.0),
        # PID 42: (256 A + B) / 1000 V
        (Role.MODULE_VOLTAGE, "41423782", 14.210),
        # PID 46: A - 40 degC
        (Role.AMBIENT_TEMPERATURE, "41463C", 20.0),
    ],
)
def test_the_standards_vectors(role: Role, payload: str, value: float) -> None:
    read = read_standard(standard_signal(role), bytes.fromhex(payload), t_s=1.0)
    assert isinstance(read, Reading)
    assert read.value == pytest.approx(value, abs=1e-9)


@pytest.mark.parametrize(
    ("role", "payload"),
    [
        (Role.COOLANT_TEMPERATURE, "4105FF"),  # 215 degC by the scaling
        (Role.ENGINE_SPEED, "410CFFFF"),  # 16383.75 rpm by the scaling
        (Role.MODULE_VOLTAGE, "4142FFFF"),  # 65.535 V by the scaling
    ],
)
def test_what_the_scaling_allows_but_no_car_gives_is_a_fault(
    role: Role, payload: str
) -> None:
    read = read_standard(standard_signal(role), bytes.fromhex(payload), t_s=1.0)
    assert isinstance(read, Fault)


@pytest.mark.parametrize(
    ("reply", "pids"),
    # Bitmaps of the ELM327 data sheet and J1979: bit 7 of A is the first PID.
    [
        ("4100BE1FA813", "01 03 04 05 06 07 0C 0D 0E 0F 10 11 13 15 1C 1F 20"),
        ("4100BE3FA813", "01 03 04 05 06 07 0B 0C 0D 0E 0F 10 11 13 15 1C 1F 20"),
        ("410098188010", "01 04 05 0C 0D 11 1C"),
        ("4100BE3EB811", "01 03 04 05 06 07 0B 0C 0D 0E 0F 11 13 14 15 1C 20"),
        ("412080000001", "21 40"),
        ("414044400010", "42 46 4A 5C"),
    ],
)
def test_supported_pid_bitmaps(reply: str, pids: str) -> None:
    assert supported_pids(bytes.fromhex(reply)) == {int(p, 16) for p in pids.split()}


@pytest.mark.parametrize(
    "line",
    # Each is returned as a temperature by python-OBD 0.7.3 (-22, 10, -40 degC),
    # found by running it through a scripted port; here none may pass.
    ["7E8037F0112", "7E803410D32", "7E8024105"],
)
def test_the_traps_of_an_unchecked_decoder_are_refused(line: str) -> None:
    request = Request(service=0x01, identifier=0x05, reply_id=0x7E8)
    assert not isinstance(check([line], request, reply_id=0x7E8, data_length=1), Answer)


def test_no_standard_pid_stands_for_gearbox_fluid() -> None:
    # PID 5C is engine oil and 05 coolant: neither may pass for gearbox fluid.
    assert Role.FLUID_TEMPERATURE not in STANDARD_PIDS
    assert 0x5C not in STANDARD_PIDS.values()
