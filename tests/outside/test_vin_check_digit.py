"""The VIN against 49 CFR 565.15 and the ELM327 data sheet.

Sources: 49 CFR 565.15 (c), the regulation's own sample and its table of weights; the
agency's guide to the check digit; ISO 3779; the ELM327 data sheet's worked exchange
for service 09 (its printed number has a wrong check digit, which must be reported
and must not lose the number).
"""

from __future__ import annotations

import pytest

from bridge.protocol.reply import Answer, check
from bridge.protocol.request import Request
from bridge.protocol.vehicle_number import check_digit, read_vin
from bridge.values.readings import CheckDigit

DATA_SHEET_VIN = "1D4GP00R55B123456"


@pytest.mark.parametrize(
    ("text", "digit"),
    [
        ("1G4AH59H{}5G118341", "4"),  # the regulation's sample: sum 411, remainder 4
        ("1J9RP1A3{}A1644345", "6"),  # the agency's guide: sum 314, remainder 6
        ("1M8GDM9A{}KP042788", "X"),  # sum 351, remainder 10
        ("11111111{}11111111", "1"),  # sum 89, remainder 1
        ("1D4GP00R{}5B123456", "X"),  # the data sheet's, set right
    ],
)
def test_published_numbers(text: str, digit: str) -> None:
    for other in "0123456789X":
        right = CheckDigit.RIGHT if other == digit else CheckDigit.WRONG
        assert check_digit(text.format(other)) is right


def test_one_wrong_character_is_noticed() -> None:
    assert check_digit("1M8GDM9A1KP042788") is CheckDigit.WRONG


CAN_LINES = [  # headers on, 11 bit
    "7E8 10 14 49 02 01 31 44 34",
    "7E8 21 47 50 30 30 52 35 35",
    "7E8 22 42 31 32 33 34 35 36",
]
OLDER_LINES = [  # J1850 and ISO 9141-2
    "49 02 01 00 00 00 31",
    "49 02 02 44 34 47 50",
    "49 02 03 30 30 52 35",
    "49 02 04 35 42 31 32",
    "49 02 05 33 34 35 36",
]


def test_the_data_sheets_exchange_on_can() -> None:
    request = Request(service=9, identifier=2, request_id=0x7E0, reply_id=0x7E8)
    answer = check(CAN_LINES, request, reply_id=0x7E8, data_length=None)
    assert isinstance(answer, Answer)
    text = read_vin([answer.payload], counted=True)
    assert text == DATA_SHEET_VIN
    assert check_digit(text) is CheckDigit.WRONG  # reported, not refused


def test_the_data_sheets_exchange_before_can() -> None:
    payloads = [bytes.fromhex(line) for line in OLDER_LINES]
    assert read_vin(payloads, counted=False) == DATA_SHEET_VIN


def test_no_character_is_lost_at_the_ends() -> None:
    """python-OBD's decoder strips 0, 1, 2 and x from both ends (pull request 276)."""
    for text in ("1M8GDM9AXKP042788", "11111111111111111", "2X0000000000000X1"):
        payload = b"\x49\x02\x01" + text.encode("ascii")
        assert read_vin([payload], counted=True) == text
