"""Answers against the `udsoncan` package (an independent ISO 14229-1)."""

from __future__ import annotations

import udsoncan
from hypothesis import given
from hypothesis import strategies as st
from udsoncan.ResponseCode import ResponseCode
from udsoncan.services import ReadDataByIdentifier

from bridge.protocol.reply import REFUSALS, Answer, Refusal, check
from bridge.protocol.request import Request
from bridge.values.readings import FaultKind


def line(payload: bytes) -> str:
    return "7E9" + bytes([len(payload)]).hex().upper() + payload.hex().upper()


@given(st.integers(0, 0xFFFF))
def test_our_request_is_the_standards_request(identifier: int) -> None:
    config = {"default": "B"}
    theirs = ReadDataByIdentifier.make_request([identifier], config)
    ours = Request(service=0x22, identifier=identifier)
    assert ours.payload == theirs.get_payload()


@given(st.integers(0, 0xFFFF), st.integers(0, 255))
def test_a_positive_answer_gives_the_same_value(identifier: int, raw: int) -> None:
    payload = bytes([0x62]) + identifier.to_bytes(2, "big") + bytes([raw])
    response = udsoncan.Response.from_payload(payload)
    theirs = ReadDataByIdentifier.interpret_response(
        response, [identifier], {identifier: "B"}
    )
    request = Request(service=0x22, identifier=identifier)
    ours = check([line(payload)], request, reply_id=0x7E9, data_length=1)
    assert isinstance(ours, Answer)
    assert theirs.service_data.values[identifier] == (ours.data[0],)


def test_every_negative_code_of_the_standard_is_a_refusal_with_that_code() -> None:
    for code in range(1, 256):
        response = udsoncan.Response.from_payload(bytes([0x7F, 0x22, code]))
        request = Request(service=0x22, identifier=0x1234)
        ours = check(
            [line(bytes([0x7F, 0x22, code]))], request, reply_id=0x7E9, data_length=1
        )
        assert response.positive is False
        assert isinstance(ours, Refusal)
        assert (ours.kind, ours.code) == (FaultKind.REFUSED, response.code)


NAMES = {
    # our code -> the name ISO 14229-1 gives it, as udsoncan spells it
    0x10: "GeneralReject",
    0x11: "ServiceNotSupported",
    0x12: "SubFunctionNotSupported",
    0x13: "IncorrectMessageLengthOrInvalidFormat",
    0x14: "ResponseTooLong",
    0x21: "BusyRepeatRequest",
    0x22: "ConditionsNotCorrect",
    0x24: "RequestSequenceError",
    0x31: "RequestOutOfRange",
    0x33: "SecurityAccessDenied",
    0x35: "InvalidKey",
    0x36: "ExceedNumberOfAttempts",
    0x37: "RequiredTimeDelayNotExpired",
    0x78: "RequestCorrectlyReceived_ResponsePending",
    0x7E: "SubFunctionNotSupportedInActiveSession",
    0x7F: "ServiceNotSupportedInActiveSession",
    0x83: "EngineIsRunning",
    0x84: "EngineIsNotRunning",
    0x86: "TemperatureTooHigh",
    0x87: "TemperatureTooLow",
    0x8C: "TransmissionRangeNotInNeutral",
    0x8D: "TransmissionRangeNotInGear",
    0x90: "ShifterLeverNotInPark",
    0x92: "VoltageTooHigh",
    0x93: "VoltageTooLow",
}


def test_the_codes_we_put_in_words_are_the_standards() -> None:
    assert set(NAMES) == set(REFUSALS)
    for code, name in NAMES.items():
        assert getattr(ResponseCode, name) == code


def test_what_udsoncan_rejects_we_reject_and_also_the_padding_it_lets_pass() -> None:
    request = Request(service=0x22, identifier=0x1234)
    for payload in ("62123550", "621234", "62123450AA", "6212345000"):
        answer = check(
            [line(bytes.fromhex(payload))], request, reply_id=0x7E9, data_length=1
        )
        assert isinstance(answer, Refusal)
