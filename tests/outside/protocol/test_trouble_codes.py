"""Trouble codes against SAE J1979 / ISO 15031-5 / ISO 15031-6 and python-OBD's table.

The vectors are those on which python-OBD 0.7.3 and scapy 2.8.0 agree; those of the
data sheet are the ELM327 data sheet's, chapter on interpreting trouble codes.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass

import pytest

from bridge.protocol.reply import Answer, check
from bridge.protocol.request import Request
from bridge.protocol.trouble_codes import (
    FLUID_SENSOR_CODES,
    code_text,
    read_codes,
    read_status,
)


@pytest.mark.parametrize(
    ("pair", "code"),
    [
        ("0133", "P0133"),
        ("0700", "P0700"),
        ("D016", "U1016"),  # the data sheet's example
        ("C123", "U0123"),
        ("C073", "U0073"),
        ("4123", "C0123"),
        ("8123", "B0123"),
    ],
)
def test_names_of_codes(pair: str, code: str) -> None:
    assert code_text(*bytes.fromhex(pair)) == code


@pytest.mark.parametrize(
    ("payload", "service", "counted", "codes"),
    [
        ("43010133", 0x03, True, ("P0133",)),
        ("4300", 0x03, True, ()),
        ("4A00", 0x0A, True, ()),
        ("43013300000000", 0x03, False, ("P0133",)),
        ("43040108011801260111", 0x03, True, ("P0108", "P0118", "P0126", "P0111")),
    ],
)
def test_whole_answers(payload, service, counted, codes) -> None:
    got = read_codes([bytes.fromhex(payload)], service=service, counted=counted)
    assert got == codes


def test_an_answer_of_several_can_frames() -> None:
    lines = ["7E8100A430401080118", "7E82101260111000000"]
    request = Request(service=0x03, request_id=0x7E0, reply_id=0x7E8)
    answer = check(lines, request, reply_id=0x7E8, data_length=None)
    assert isinstance(answer, Answer)
    codes = read_codes([answer.payload], service=0x03, counted=True)
    assert codes == ("P0108", "P0118", "P0126", "P0111")


@pytest.mark.parametrize(
    ("data", "lamp", "count"), [("81076504", True, 1), ("8207E500", True, 2)]
)
def test_monitor_status(data: str, lamp: bool, count: int) -> None:
    assert read_status(bytes.fromhex(data)) == (lamp, count)


@dataclass
class Response:
    """The shape python-OBD's decoder looks at."""

    data: bytearray


@pytest.fixture(scope="module")
def library():
    from obd import codes, decoders  # noqa: TID251 - the outside library itself

    logging.getLogger("obd").handlers.clear()
    return decoders, codes


def test_python_obd_names_every_pair_alike(library) -> None:
    decoders, _ = library
    for number in range(1, 0x10000):
        pair = number.to_bytes(2, "big")
        assert decoders.parse_dtc(pair)[0].upper() == code_text(*pair)


@pytest.mark.parametrize("codes", [(), ("0133",), ("0711", "0700"), ("0710",) * 3])
def test_python_obd_reads_whole_answers_alike(library, codes) -> None:
    decoders, _ = library
    data = "".join(codes)
    payload = bytes.fromhex(f"43{len(codes):02X}{data}")
    theirs = [code for code, _ in decoders.dtc([Response(bytearray(payload))])]
    ours = read_codes([payload], service=0x03, counted=True)
    assert list(dict.fromkeys(c.upper() for c in theirs)) == list(ours)


def test_the_blocking_codes_speak_of_the_fluids_temperature(library) -> None:
    _, codes = library
    for code in FLUID_SENSOR_CODES:
        said = codes.DTC[code].lower()
        assert "transmission fluid temperature sensor" in said
        assert said.index("transmission") == 0
    neighbours = ("P0709", "P0715", "P0218")
    for code in neighbours:
        assert "fluid temperature sensor" not in codes.DTC[code].lower()
