"""The identification number: how it arrives, and that nothing breaks on the way."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.protocol.vehicle_number import BadVin, check_digit, read_vin
from bridge.values.readings import CheckDigit

NEUTRAL = "11111111111111111"
LETTERS = st.sampled_from("ABCDEFGHJKLMNPRSTUVWXYZ0123456789")
NUMBER = st.text(LETTERS, min_size=17, max_size=17)


@given(NUMBER)
def test_a_number_survives_both_ways_of_sending(text: str) -> None:
    raw = text.encode("ascii")
    assert read_vin([b"\x49\x02\x01" + raw], counted=True) == text
    parts = raw.rjust(20, b"\0")
    messages = [bytes((0x49, 0x02, n + 1)) + parts[4 * n : 4 * n + 4] for n in range(5)]
    assert read_vin(messages, counted=False) == text


@pytest.mark.parametrize(
    ("payload", "word"),
    [
        ("490401" + "31" * 17, "type 02"),
        ("4902", "exactly one"),
        ("490202" + "31" * 17, "exactly one"),
        ("490201" + "00" * 17, "characters"),
        ("490201" + "FF" * 17, "characters"),
        ("490201" + "31" * 16 + "0A", "characters"),
        ("490201" + "31" * 8 + "20" + "31" * 8, "characters"),
    ],
)
def test_what_is_no_number_is_refused(payload: str, word: str) -> None:
    with pytest.raises(BadVin, match=word):
        read_vin([bytes.fromhex(payload)], counted=True)


def test_messages_out_of_order_or_missing_are_refused() -> None:
    good = [bytes((0x49, 0x02, n)) + b"1111" for n in range(1, 6)]
    for bad in ([good[1], good[0], *good[2:]], good[1:], []):
        with pytest.raises(BadVin):
            read_vin(bad, counted=False)


@given(st.lists(st.binary(max_size=30), max_size=6), st.booleans())
def test_no_bytes_break_the_decoder(payloads: list[bytes], counted: bool) -> None:
    payloads = [b"\x49\x02" + p for p in payloads]
    try:
        text = read_vin(payloads, counted=counted)
    except BadVin:
        return
    assert text.isascii()
    assert text.isprintable()


@given(st.text(max_size=20))
def test_no_text_breaks_the_check(text: str) -> None:
    assert check_digit(text) in CheckDigit


@given(NUMBER)
def test_exactly_one_ninth_character_is_right(text: str) -> None:
    told = [check_digit(text[:8] + c + text[9:]) for c in "0123456789X"]
    assert sorted(told) == [CheckDigit.RIGHT] + [CheckDigit.WRONG] * 10


@pytest.mark.parametrize(
    "text",
    ["", NEUTRAL[1:], NEUTRAL + "1", "O" + NEUTRAL[1:], NEUTRAL[:8] + "Z" + "1" * 8],
)
def test_what_cannot_be_checked_is_not(text: str) -> None:
    assert check_digit(text) is CheckDigit.NOT_CHECKED
