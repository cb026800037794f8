"""Trouble codes: both forms of the answer, what is refused, what blocks the gate."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.protocol.trouble_codes import (
    FLUID_SENSOR_CODES,
    BadCodes,
    code_text,
    fluid_sensor_codes,
    merged,
    read_codes,
    read_status,
)
from bridge.session.session import apply, snapshot_at
from bridge.session.session_state import Session, begin
from bridge.values.conditions import ConditionName, ConditionState, Reason
from bridge.values.events import LinkChange
from bridge.values.readings import LinkState, Reading, TroubleCodes
from bridge.values.sheet import Role, Sheet, Signal, Window

CODE = st.from_regex(r"[PCBU][0-3][0-9A-F]{3}", fullmatch=True).filter(
    lambda code: code != "P0000"
)
NONE = TroubleCodes(t_s=0.0, stored=(), pending=(), permanent=(), mil=False)


def two_bytes(code: str) -> bytes:
    return ("PCBU".index(code[0]) << 14 | int(code[1:], 16)).to_bytes(2, "big")


@given(st.lists(CODE, max_size=40, unique=True))
def test_what_a_unit_sends_on_can_is_read_back(codes: list[str]) -> None:
    payload = bytes((0x43, len(codes))) + b"".join(map(two_bytes, codes))
    assert read_codes([payload], service=0x03, counted=True) == tuple(codes)


@given(st.lists(CODE, max_size=12, unique=True))
def test_what_a_unit_sends_before_can_is_read_back(codes: list[str]) -> None:
    data = b"".join(map(two_bytes, codes))
    messages = [
        b"\x47" + data[at : at + 6].ljust(6, b"\0")
        for at in range(0, max(len(data), 1), 6)
    ]
    assert read_codes(messages, service=0x07, counted=False) == tuple(codes)


def test_every_pair_of_bytes_has_one_name() -> None:
    names = {code_text(n >> 8, n & 0xFF) for n in range(0x10000)}
    assert len(names) == 0x10000


@pytest.mark.parametrize(
    ("payload", "counted", "word"),
    [
        ("", True, "service"),
        ("470101 33", True, "service"),  # pending codes are not stored ones
        ("43", True, "count"),
        ("430201 33", True, "2 codes announced, 1 sent"),
        ("430101", True, "announced"),
        ("43010133 0134", True, "more sent"),
        ("43 0133 01", False, "half"),
    ],
)
def test_what_does_not_fit_is_refused(payload: str, counted: bool, word: str) -> None:
    with pytest.raises(BadCodes, match=word):
        read_codes([bytes.fromhex(payload)], service=0x03, counted=counted)
    with pytest.raises(BadCodes):
        read_codes([], service=0x03, counted=counted)


def test_fillers_behind_the_announced_codes_are_no_codes() -> None:
    padded = bytes.fromhex("43 01 07 11 00 00")
    assert read_codes([padded], service=0x03, counted=True) == ("P0711",)


@given(st.binary(max_size=300), st.booleans(), st.sampled_from([3, 7, 10]))
def test_no_bytes_break_the_decoder(data: bytes, counted: bool, service: int) -> None:
    try:
        codes = read_codes([data], service=service, counted=counted)
    except BadCodes:
        return
    assert all(len(code) == 5 and code[0] in "PCBU" for code in codes)


def test_the_status_wants_four_bytes() -> None:
    assert read_status(bytes.fromhex("00076504")) == (False, 0)
    for wrong in ("", "81", "8107650400"):
        with pytest.raises(BadCodes):
            read_status(bytes.fromhex(wrong))


def test_lists_of_several_units_become_one() -> None:
    assert merged([("P0711", "U0101"), None, ("U0101",)]) == ("P0711", "U0101")
    assert merged([(), None]) == ()
    assert merged([None, None]) is None  # nobody told is not 'none there'
    assert merged([]) is None


@pytest.mark.parametrize("code", sorted(FLUID_SENSOR_CODES))
@pytest.mark.parametrize("kind", ["stored", "pending", "permanent"])
def test_a_code_against_the_fluid_sensor_counts_in_every_list(
    code: str, kind: str
) -> None:
    assert fluid_sensor_codes(replace(NONE, **{kind: ("P0700", code)})) == (code,)


@pytest.mark.parametrize("code", ["P0700", "P0709", "P0714", "P0118", "C0711"])
def test_other_codes_do_not_block(code: str) -> None:
    assert fluid_sensor_codes(replace(NONE, stored=(code,))) == ()
    assert fluid_sensor_codes(None) == ()


# In the session and through the gate


def live_session() -> Session:
    signal = Signal(role=Role.FLUID_TEMPERATURE, service=0x22, identifier=0x1157)
    sheet = Sheet(
        name="t", source="t", window=Window(low_c=35.0, high_c=45.0), signals=(signal,)
    )
    session = begin(sheet, interval_s=0.2)
    session = apply(session, LinkChange(state=LinkState.LIVE, t_s=0.0))
    for step in range(50):
        session = apply(
            session,
            Reading(role=Role.FLUID_TEMPERATURE, value=40.0, t_s=0.2 * step),
        )
    return session


def test_a_sensor_code_is_a_reason_and_goes_when_it_is_gone() -> None:
    session = live_session()
    before = snapshot_at(session, now_s=10.0)
    assert before.codes is None
    assert Reason.SENSOR_CODE not in before.reasons
    told = replace(NONE, t_s=10.0, pending=("P0711",), mil=True)
    blocked = snapshot_at(apply(session, told), now_s=10.0)
    assert blocked.codes == told
    assert Reason.SENSOR_CODE in blocked.reasons
    reading = next(c for c in blocked.conditions if c.name is ConditionName.READING)
    assert reading.state is ConditionState.NOT_MET
    assert blocked.temp_c is not None  # shown, and not trusted
    after = snapshot_at(apply(apply(session, told), NONE), now_s=10.0)
    assert after.reasons == before.reasons


def test_a_sensor_code_and_a_stale_reading_are_both_said() -> None:
    session = apply(live_session(), replace(NONE, stored=("P0713",)))
    reasons = snapshot_at(session, now_s=60.0).reasons
    assert Reason.SENSOR_CODE in reasons
    assert Reason.READING_STALE in reasons
