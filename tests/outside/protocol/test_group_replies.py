"""A J1939 group heard: which line is its message, and what is none.

SAE J1939-71, group 65272 (FEF8): transmission 1 oil temperature (SPN 177) in bytes 5
and 6, 40 degC is 20 27 (check-values.md section 2.5). SAE J1939-21: a 29-bit id is
priority (3 bits), data page, group, source address.
"""

from __future__ import annotations

import pytest

from bridge.protocol.reply import Answer, Refusal, check_group
from bridge.protocol.request import GroupRequest
from bridge.values.causes import Cause
from bridge.values.readings import FaultKind

FLUIDS = GroupRequest(pgn=0xFEF8)
DATA = "FFFFFFFF2027FFFF"
HEARD = Answer(payload=bytes.fromhex(DATA), data=bytes.fromhex(DATA), reply_id=0x03)


@pytest.mark.parametrize(
    "line",
    [
        # the bare id: 29 bits, priorities 6, 3, 7 and 5
        f"18FEF803{DATA}",
        f"0CFEF803{DATA}",
        f"1CFEF803{DATA}",
        f"14FEF803{DATA}",
        # priority, group of five digits, source, as an ELM327 prints it (from memory)
        f"60FEF803{DATA}",
        f"30FEF803{DATA}",
        "6 0FEF8 03 FF FF FF FF 20 27 FF FF",
        "18 FE F8 03 FF FF FF FF 20 27 FF FF",
        f"18fef803{DATA.lower()}",
    ],
)
def test_a_message_of_the_group_is_heard_however_it_is_printed(line: str) -> None:
    assert check_group([line], FLUIDS) == HEARD


@pytest.mark.parametrize(
    "line",
    [
        f"18FEF703{DATA}",  # another group
        f"60FEF703{DATA}",
        f"19FEF803{DATA}",  # data page 1: another group with the same number
        f"61FEF803{DATA}",
        f"1AFEF803{DATA}",  # the extended data page
        f"18FEF803{DATA[2:]}",  # a byte short, a byte long
        f"18FEF803{DATA}FF",
        f"18FEF803{DATA[:-1]}G",
        f"FEF803{DATA}",
        "",
    ],
)
def test_anything_else_is_no_message_of_the_group(line: str) -> None:
    assert check_group([line], FLUIDS) == Refusal(
        kind=FaultKind.BAD_REPLY,
        detail="no sound message of group 65272",
        cause=Cause.CHARACTERS_LOST,
    )


def test_only_the_wanted_source_is_heard_where_the_sheet_names_one() -> None:
    other = f"18FEF80B{'00' * 8}"
    lines = [f"18FEF803{DATA}", other]
    assert check_group(lines, GroupRequest(pgn=0xFEF8, source=0x03)) == HEARD
    assert isinstance(check_group([other], GroupRequest(pgn=0xFEF8, source=3)), Refusal)
    named = GroupRequest(pgn=0xFEF8, source=0)
    assert isinstance(check_group(lines, named), Refusal), "0 is an address, not any"
    high = GroupRequest(pgn=0xFEF8, source=0xFE)  # 18FEF8FE of check-values.md
    told = check_group([f"18FEF8FE{DATA}"], high)
    assert isinstance(told, Answer)
    assert told.reply_id == 0xFE
    assert isinstance(check_group([f"18FEF80E{DATA}"], high), Refusal)
    zero = check_group([f"18FEF800{DATA}"], named)
    assert isinstance(zero, Answer)
    assert zero.reply_id == 0


def test_of_several_the_newest_counts() -> None:
    older = f"18FEF803{'00' * 8}"
    assert check_group([older, f"18FEF803{DATA}"], FLUIDS) == HEARD
    assert check_group([f"18FEF803{DATA}", "STOPPED"], FLUIDS) == HEARD


@pytest.mark.parametrize(
    ("text", "kind", "cause"),
    [
        ("NO DATA", FaultKind.NO_DATA, Cause.UNIT_SILENT),
        ("BUFFER FULL", FaultKind.ADAPTER_SAID, Cause.BUFFER_FULL),
    ],
)
def test_what_the_adapter_says_instead_is_told(text, kind, cause) -> None:
    told = check_group(["18FEF703", text], FLUIDS)
    assert isinstance(told, Refusal)
    assert (told.kind, told.cause) == (kind, cause)
