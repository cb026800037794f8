"""The reply check: whatever is not exactly the answer is refused by name.

Frames after ISO 15765-2; ids after ISO 15765-4; codes after ISO 14229-1.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.protocol.framing import Framing, who_fills
from bridge.protocol.reply import Answer, Refusal, check, clean, status_text
from bridge.protocol.request import Request
from bridge.values.causes import Cause
from bridge.values.readings import FaultKind

FLUID = Request(service=0x22, identifier=0x1157, request_id=0x7E1, reply_id=0x7E9)


def ask(*lines: str) -> Answer | Refusal:
    return check(lines, FLUID, reply_id=0x7E9, data_length=1)


@pytest.mark.parametrize(
    "lines",
    [
        ["7E90462115750"],
        ["7E9 04 62 11 57 50"],
        ["7E90462115750AAAAAA"],  # padded frame
        ["SEARCHING...", "7E90462115750"],
        ["SEARCHING...7E90462115750"],
        ["7E9037F2278", "7E90462115750"],  # pending, then the answer
        ["7E90462115750", "7E90462115750"],  # duplicated frame
        ["7E80462115713", "7E90462115750"],  # another unit answered as well
        ["\xfc7E90462115750"],
        ["7E90462115150", "7E90462115750"],  # a stray answer to another question
        ["...7E90462115750"],  # dots of the search, one by one, on the answer's line
        ["SEARCHING..", "..7E90462115750AAAAAA"],
    ],
)
def test_the_right_answer_is_taken(lines: list[str]) -> None:
    answer = ask(*lines)
    assert isinstance(answer, Answer)
    assert answer.data == b"\x50"


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        (["7E903621157"], "0 data bytes"),
        (["7E904621157"], "cut short"),
        (["7E90462"], "cut short"),
        (["7E9"], "data bytes"),
        (["7E90462115250"], "another question"),
        (["7E90441055000"], "another question"),
        (["7E80462115750"], "7E8 answered instead of 7E9"),
        (["7290462115750"], "729 answered instead of 7E9"),
        (["6190462115750"], "619 answered instead of 7E9"),
        (["7E9056211575000"], "2 data bytes, not 1"),
        (["7E90462115750", "7E90462115751"], "two different answers"),
        (["8#4kQ"], "not a frame"),
        (["7E921AABBCCDDEEFF00"], "without its beginning"),
        (["7E91008621157505152", "7E92253"], "out of order"),
        (["7E91008621157505152"], "cut short"),
        ([], "empty"),
        (["", "\0"], "empty"),
    ],
)
def test_what_is_cut_foreign_stale_or_garbled_is_refused(
    lines: list[str], says: str
) -> None:
    refusal = ask(*lines)
    assert isinstance(refusal, Refusal)
    assert refusal.kind is FaultKind.BAD_REPLY
    assert says in refusal.detail


@pytest.mark.parametrize(
    "text",
    # The list of check-values.md section 1 (adapter data sheet).
    ["STOPPED", "BUFFER FULL", "CAN ERROR", "**CAN ERROR**", "BUS INIT: ERROR"]
    + ["BUS INIT: ...ERROR", "UNABLE TO CONNECT", "ACT ALERT", "FB ERROR", "ERR94"]
    + ["DATA ERROR", "<DATA ERROR", "<RX ERROR", "BUS BUSY", "BUS ERROR", "?"]
    + ["7E90462115750 <DATA ERROR", "7E90462115750<RX ERROR"],
)
def test_a_status_text_is_kept_and_never_a_number(text: str) -> None:
    refusal = ask(text)
    assert isinstance(refusal, Refusal)
    assert refusal.kind is FaultKind.ADAPTER_SAID
    assert refusal.detail.removeprefix("the adapter said ") in text


def test_no_data_is_a_kind_of_its_own() -> None:
    refusal = ask("NO DATA")
    assert isinstance(refusal, Refusal)
    assert refusal.kind is FaultKind.NO_DATA


@pytest.mark.parametrize("text", ["ELM327 v1.5", "LV RESET", "LV RESET\r\rELM327 v2.1"])
def test_a_reset_asks_for_a_new_initialisation(text: str) -> None:
    refusal = ask(*text.split("\r"))
    assert isinstance(refusal, Refusal)
    assert refusal.reset


@pytest.mark.parametrize(
    ("code", "word"),
    [
        (0x31, "out of range"),
        (0x11, "not supported"),
        (0x33, "security"),
        (0x78, "pend"),
    ]
    + [
        (0x21, "busy"),
        (0x7F, "active session"),
        (0x22, "conditions"),
        (0xE1, "does not"),
    ],
)
def test_a_negative_response_is_named(code: int, word: str) -> None:
    refusal = ask(f"7E9037F22{code:02X}")
    assert isinstance(refusal, Refusal)
    assert (refusal.kind, refusal.code) == (FaultKind.REFUSED, code)
    assert word in refusal.detail


@pytest.mark.parametrize("char", ["\0", "\t", "\x1b", "\xfc", "\ufffd", "\uff17", "_"])
def test_a_character_that_is_no_digit_inside_a_line_makes_it_no_frame(
    char: str,
) -> None:
    whole = "7E90462115750AAAAAA"
    for at in range(1, len(whole)):
        for line in (
            whole[:at] + char + whole[at:],
            whole[:at] + char + whole[at + 1 :],
        ):
            refusal = ask(line)
            assert isinstance(refusal, Refusal)
            assert refusal.cause is Cause.CHARACTERS_LOST
    assert isinstance(ask("\0\xfc" + whole + "\0"), Answer)


def test_two_characters_lost_from_a_frame_are_noticed_wherever_they_were() -> None:
    # ISO 15765-2: a frame is as long as it needs to be, or filled up to eight bytes.
    # 7E904621157 AA AA AA AA would otherwise pass for 130 degC.
    whole = "7E90462115750AAAAAA"
    for first in range(3, len(whole) - 1):
        for second in range(first + 1, len(whole)):
            text = whole[:first] + whole[first + 1 : second] + whole[second + 1 :]
            assert isinstance(ask(text), Refusal), text


def test_a_unit_that_fills_its_frames_never_sends_a_short_one() -> None:
    full, needed = "7E90462115750AAAAAA", "7E90462115750"
    assert who_fills([full], Framing.CAN_11) == {0x7E9}
    assert who_fills([needed], Framing.CAN_11) == frozenset()
    refusal = check([needed], FLUID, reply_id=0x7E9, data_length=1, filling={0x7E9})
    assert isinstance(refusal, Refusal)
    assert refusal.cause is Cause.CUT_SHORT


def test_a_negative_response_to_another_service_is_not_ours() -> None:
    refusal = ask("7E9037F0131")
    assert isinstance(refusal, Refusal)
    assert refusal.kind is FaultKind.BAD_REPLY


def test_29_bit_ids_are_compared_whole() -> None:
    request = Request(
        service=0x22, identifier=0x1157, request_id=0x18DA18F1, reply_id=0x18DAF118
    )
    good = check(
        ["18DAF1180462115750"],
        request,
        reply_id=0x18DAF118,
        data_length=1,
        framing=Framing.CAN_29,
    )
    other = check(
        ["18DAF1100462115750"],
        request,
        reply_id=0x18DAF118,
        data_length=1,
        framing=Framing.CAN_29,
    )
    assert isinstance(good, Answer)
    assert isinstance(other, Refusal)


@given(st.lists(st.text(max_size=40), max_size=8))
def test_no_lines_whatever_make_it_raise(lines: list[str]) -> None:
    assert isinstance(ask(*lines), Answer | Refusal)


@given(st.lists(st.binary(max_size=9), max_size=6), st.sampled_from(["7E9", "7E8"]))
def test_an_answer_always_carries_the_echo_and_the_exact_length(
    frames: list[bytes], unit: str
) -> None:
    result = ask(*(unit + f.hex().upper() for f in frames))
    if isinstance(result, Answer):
        assert result.payload[:3] == bytes.fromhex("621157")
        assert len(result.payload) == 4


@pytest.mark.parametrize(
    ("text", "cause"),
    # What each text means: the adapter's public data sheet, "Error Messages and Alerts"
    # (from memory); check-values.md section 1 has the list.
    [
        ("NO DATA", Cause.UNIT_SILENT),
        ("STOPPED", Cause.ALWAYS_STOPPED),
        ("BUFFER FULL", Cause.BUFFER_FULL),
        ("CAN ERROR", Cause.BUS_ERROR),
        ("BUS INIT: ERROR", Cause.BUS_INIT_FAILED),
        ("BUS BUSY", Cause.BUS_BUSY),
        ("BUS ERROR", Cause.BUS_ERROR),
        ("UNABLE TO CONNECT", Cause.NO_BUS),
        ("FB ERROR", Cause.BUS_ERROR),
        ("DATA ERROR", Cause.DAMAGED),
        ("RX ERROR", Cause.DAMAGED),
        ("ACT ALERT", Cause.ADAPTER_ERROR),
        ("LP ALERT", Cause.ADAPTER_ERROR),
        ("LV RESET", Cause.ADAPTER_RESTARTED),
        ("ERR94", Cause.ADAPTER_ERROR),
        ("?", Cause.REQUESTS_REFUSED),
    ],
)
def test_a_status_text_has_its_cause_and_is_told_as_heard(
    text: str, cause: Cause
) -> None:
    silent = text == "NO DATA"
    heard = f"the adapter said {text}"
    assert ask(text) == Refusal(
        kind=FaultKind.NO_DATA if silent else FaultKind.ADAPTER_SAID,
        detail="no control unit answered (NO DATA)" if silent else heard,
        cause=cause,
        code=None,
        reset=text == "LV RESET",
    )


@pytest.mark.parametrize(
    ("code", "says", "cause"),
    # ISO 14229-1, table A.1 (check-values.md section 2 has the codes)
    [
        (0x11, "service not supported", Cause.SERVICE_UNKNOWN),
        (0x21, "busy, repeat request", Cause.UNIT_BUSY),
        (0x22, "conditions not correct", Cause.CONDITIONS),
        (0x33, "security access denied", Cause.LOCKED),
        (0x78, "response pending", Cause.UNIT_PENDING),
        (0x10, "general reject", Cause.UNIT_REFUSED),
        (0xFA, "a reason this tool does not know", Cause.UNIT_REFUSED),
    ],
)
def test_a_negative_response_has_its_words_and_its_cause(
    code: int, says: str, cause: Cause
) -> None:
    assert ask(f"7E9037F22{code:02X}") == Refusal(
        kind=FaultKind.REFUSED,
        detail=f"the control unit refused: {says} (0x{code:02X})",
        cause=cause,
        code=code,
    )


@pytest.mark.parametrize(
    ("lines", "says", "cause"),
    [
        ([], "an empty answer", Cause.CUT_SHORT),
        (["7E80462115750"], "unit 7E8 answered instead of 7E9", Cause.OTHER_UNIT),
        (
            ["7E90462115250"],
            "an answer to another question (62 11 52)",
            Cause.OTHER_QUESTION,
        ),
        (  # three bytes whose second is the service, and yet no refusal
            ["7E903622205"],
            "an answer to another question (62 22 05)",
            Cause.OTHER_QUESTION,
        ),
        (["7E9027F22"], "an answer to another question (7F 22)", Cause.OTHER_QUESTION),
        (
            ["7E90462115750", "7E90462115751"],
            "two different answers at once",
            Cause.CONTRADICTION,
        ),
        (
            ["7E9056211575000"],
            "the answer holds 2 data bytes, not 1",
            Cause.WRONG_LENGTH,
        ),
    ],
)
def test_a_bad_reply_is_told_whole(lines: list[str], says: str, cause: Cause) -> None:
    assert ask(*lines) == Refusal(kind=FaultKind.BAD_REPLY, detail=says, cause=cause)


def test_any_length_is_taken_where_none_is_wanted_but_not_nothing() -> None:
    for data in ("50", "5051", "505152"):
        line = f"7E9{3 + len(data) // 2:02X}621157{data}"
        assert check([line], FLUID, reply_id=0x7E9, data_length=None) == Answer(
            payload=bytes.fromhex(f"621157{data}"),
            data=bytes.fromhex(data),
            reply_id=0x7E9,
        )
    assert check(["7E903621157"], FLUID, reply_id=0x7E9, data_length=None) == Refusal(
        kind=FaultKind.BAD_REPLY,
        detail="the answer holds 0 data bytes, not at least 1",
        cause=Cause.WRONG_LENGTH,
    )


@pytest.mark.parametrize("sign", ["!", "~"])
def test_a_printed_sign_at_either_end_is_part_of_the_line(sign: str) -> None:
    """0x21 to 0x7E are printed (ASCII); what is not is trimmed off the ends."""
    for line in (f"{sign}7E90462115750", f"7E90462115750{sign}"):
        refusal = ask(line)
        assert isinstance(refusal, Refusal), line
        assert "not a frame" in refusal.detail
    assert clean(["\x1f7E90462115750\x7f", " \x00 "]) == ["7E90462115750"]


def test_only_a_whole_line_is_the_short_status_texts() -> None:
    assert status_text("<?>") == "?"
    assert status_text("7E9?") is None
    assert status_text("ELM327 v1.5") == "RESET"
    assert status_text("XNO DATAX") is None
    assert status_text("xx LV RESET") == "LV RESET"
