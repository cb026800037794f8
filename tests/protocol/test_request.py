"""Only reading: what cannot be built, and what the port will not write.

Services after SAE J1979 and ISO 14229-1: everything that writes, clears, resets,
actuates or unlocks is outside the list.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.protocol.request import IDENTIFIER_BYTES, Request, is_allowed
from bridge.values.errors import ForbiddenRequest


@pytest.mark.parametrize(
    "service",
    # 04 clear codes, 08 control; UDS: 10 session, 11 reset, 14 clear, 27 unlock,
    # 28/85 communication and code setting, 2E write, 2F actuate, 31 routine,
    # 34-37 download, 3D write memory; KWP 3B write, 30 actuate.
    [0x04, 0x08, 0x10, 0x11, 0x14, 0x27, 0x28, 0x2E, 0x2F, 0x31, 0x34, 0x35, 0x36]
    + [0x37, 0x3B, 0x30, 0x3D, 0x85, 0x00, 0xFF],
)
def test_a_request_that_is_not_a_reading_one_cannot_be_built(service: int) -> None:
    with pytest.raises(ForbiddenRequest):
        Request(service=service, identifier=0x01)
    assert not is_allowed(f"{service:02X}01")
    assert not is_allowed(f"{service:02X}")


@given(st.integers(0, 255), st.binary(max_size=6))
def test_the_port_writes_no_request_outside_the_list(service: int, rest: bytes) -> None:
    line = (bytes([service]) + rest).hex().upper()
    expected = IDENTIFIER_BYTES.get(service) == len(rest)
    assert is_allowed(line) == expected


@given(st.text(max_size=20) | st.text("0123456789ABCDEF\r> ", max_size=9))
def test_arbitrary_text_is_never_a_request_unless_it_reads(text: str) -> None:
    if is_allowed(text) and not text.startswith("AT") and text != "!":
        assert int(text[:2], 16) in IDENTIFIER_BYTES


@pytest.mark.parametrize(
    "command",
    [
        "ATPP2CSV01",
        "ATPP FF ON",
        "AT@3ABCDEFGHIJKL",
        "ATBRD23",
        "ATLP",
        "ATMA",
        "ATCAF0",
    ]
    + ["ATSD7F", "ATWM010203", "ATFE", "ATSH7E1\r2E115700", "ATSS"],
)
def test_adapter_commands_that_store_or_drive_are_not_on_the_list(command: str) -> None:
    assert not is_allowed(command)


@pytest.mark.parametrize(
    ("service", "identifier"),
    [(0x01, 0x100), (0x21, 0x100), (0x22, 0x10000), (0x03, 1)],
)
def test_an_identifier_too_large_is_refused(service: int, identifier: int) -> None:
    with pytest.raises(ForbiddenRequest):
        Request(service=service, identifier=identifier)


def test_payload_and_echo() -> None:
    request = Request(service=0x22, identifier=0x1157)
    assert request.payload == bytes.fromhex("221157")
    assert request.echo == bytes.fromhex("621157")
