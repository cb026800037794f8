"""The CAN ids of a signal: whom the question goes to and who must answer.

ISO 15765-4 fixes the pairs 7E0..7E7 / 7E8..7EF and 18DAxxF1 / 18DAF1xx. Any other
request id must lie where diagnostic requests live: a frame sent elsewhere could be
taken for a message of another control unit, and sumpgate only reads. On the buses
before CAN a unit has an address of one byte, which asks and answers alike.
"""

from __future__ import annotations

import re
from typing import Any, Protocol

from bridge.sheets.reading.table import SheetTable, in_words
from bridge.values.frozen import frozen

_ONE_BYTE = 0xFF
_ELEVEN_BITS = 0x7FF
_TWENTY_NINE_BITS = 0x1FFF_FFFF
_EXAMPLE = 'request_id = "7E1"'
ENGINE_IDS = (0x7E0, 0x18DA_10F1, 0x10, 0x11)
"""Requests to the engine's unit: 7E0 is recommended for it by ISO 15765-4, address 10
(and 11) by SAE J2178-1 (from memory)."""
_HEX_ID = re.compile(r"(?:0[xX])?([0-9A-Fa-f]{2,3}|[0-9A-Fa-f]{8})")


@frozen
class Addresses:
    """Both ids, or two times None for a standard PID asked of whoever answers."""

    request: int | None = None
    reply: int | None = None


class Ids(Protocol):
    """A signal's section, its ids read by themselves."""

    @property
    def table(self) -> SheetTable:
        """Where it stands."""
        ...

    def get(self, key: str) -> Any:
        """Return an id; None if it is not written."""
        ...


def is_long(can_id: int) -> bool:
    """Return whether an id needs 29 bits."""
    return can_id > _ELEVEN_BITS


def spell(can_id: int) -> str:
    """Return an id as sheets write it: two, three or eight hexadecimal digits."""
    if is_address(can_id):
        return f"{can_id:02X}"
    return f"{can_id:08X}" if is_long(can_id) else f"{can_id:03X}"


def is_address(unit_id: int) -> bool:
    """Return whether an id is a one-byte address of a bus before CAN."""
    return 0 < unit_id <= _ONE_BYTE


def read_addresses(ids: Ids, service: int) -> Addresses:
    """Return the ids of a signal, the reply's filled in where a standard gives it.

    Raises:
        SheetError: an id that does not fit the service, the other id or a standard.
    """
    table, request, reply = ids.table, ids.get("request_id"), ids.get("reply_id")
    if request is None:
        _check_may_be_absent(table, service)
        return Addresses()
    _check_request(table, request)
    standard = standard_reply(request)
    if reply is None:
        return Addresses(request=request, reply=_filled_in(table, request, standard))
    _check_reply(table, request, reply, standard)
    return Addresses(request=request, reply=reply)


def standard_reply(request: int) -> int | None:
    """Return the id ISO 15765-4 answers a request with, or None outside of it."""
    if is_address(request):
        return request
    if 0x7E0 <= request <= 0x7E7:
        return request + 8
    if request & ~0xFF00 == 0x18DA_00F1:
        return 0x18DA_F100 | request >> 8 & 0xFF
    return None


def _asked_with(reply: int) -> int | None:
    """Return the request ISO 15765-4 pairs with a reply, or None outside of it."""
    if 0x7E8 <= reply <= 0x7EF:
        return reply - 8
    if reply & ~0xFF == 0x18DA_F100:
        return 0x18DA_00F1 | (reply & 0xFF) << 8
    return None


def _check_may_be_absent(table: SheetTable, service: int) -> None:
    if service != 0x01:
        raise table.mistake(
            "request_id",
            f"is missing, and only standard PIDs (service 0x01) go without it; add "
            f"the id of the control unit, such as {_EXAMPLE}",
        )
    if table.has("reply_id"):
        raise table.mistake(
            "reply_id",
            f"stands without a request_id; add {_EXAMPLE} or take it out",
        )


def _filled_in(table: SheetTable, request: int, standard: int | None) -> int:
    if standard is not None:
        return standard
    raise table.mistake(
        "reply_id",
        f"is missing, and no standard says which id answers {spell(request)}; add "
        f"the id that the control unit answers with",
    )


def can_id(table: SheetTable, key: str) -> int:
    """Return an id by itself; what it is for is looked at elsewhere.

    Raises:
        SheetError: it is no CAN id, nor an address.
    """
    value = table.entries[key]
    if isinstance(value, str):
        return _from_text(table, key, value)
    if not isinstance(value, int) or isinstance(value, bool):
        raise table.refuse(key, "a CAN id")
    if not 0 < value <= _TWENTY_NINE_BITS:
        raise table.mistake(
            key,
            f"is {in_words(value)}, beyond 29 bits; write three or eight hex digits",
        )
    return value


def _from_text(table: SheetTable, key: str, text: str) -> int:
    found = _HEX_ID.fullmatch(text.strip())
    if found is None:
        raise table.mistake(
            key,
            f'is {in_words(text)}, not a CAN id; write three hex digits ("7E1") or '
            f'eight ("18DA18F1")',
        )
    value, digits = int(found[1], 16), len(found[1])
    limit = _ELEVEN_BITS if digits <= 3 else _TWENTY_NINE_BITS
    odd = (digits == 8) != is_long(value) or (digits == 2) != is_address(value)
    if not 0 < value <= limit or odd:
        bits = 11 if digits <= 3 else 29
        raise table.mistake(
            key, f"is {in_words(text)}, which is no id of {bits} bits; write it anew"
        )
    return value


def _check_request(table: SheetTable, request: int) -> None:
    why = _why_not(request)
    if why:
        raise table.mistake("request_id", f"is {spell(request)}, {why}")


def _why_not(request: int) -> str:
    """Return why nothing may be asked of an id, with the remedy; '' if it may."""
    if request == 0x7DF or request & ~0xFFFF == 0x18DB_0000:
        return (
            "which speaks to all control units at once; write the id of the one "
            'that is meant, such as "7E1"'
        )
    if request in (0x33, 0xF1):
        return "the address of everybody or of the tester; write the unit's own"
    if 0x7E8 <= request <= 0x7EF or request & ~0xFF == 0x18DA_F100:
        return (
            "an id that control units answer with (ISO 15765-4); write it as "
            "reply_id and give the one that asks"
        )
    if 0x600 <= request <= 0x7FF or request & ~0xFFFF == 0x18DA_0000:
        return ""
    if is_address(request):
        return ""
    return (
        "which is not where diagnostic requests go, so that a frame sent there could "
        "be taken for a command; write an id from 600 to 7FF or one like 18DA18F1"
    )


def _check_reply(
    table: SheetTable, request: int, reply: int, standard: int | None
) -> None:
    if reply == request and not is_address(request):
        raise table.mistake(
            "reply_id", f"is the request's own id; {_reply_remedy(standard)}"
        )
    kinds = (is_long(reply), is_address(reply))
    if kinds != (is_long(request), is_address(request)):
        raise table.mistake(
            "reply_id",
            f"is {spell(reply)}, of another width than the request's {spell(request)}; "
            f"{_reply_remedy(standard)}",
        )
    if standard is not None and reply != standard:
        raise table.mistake(
            "reply_id",
            f"is {spell(reply)}, but {spell(request)} is answered with "
            f"{spell(standard)} (ISO 15765-4); {_reply_remedy(standard)}",
        )
    asked_with = _asked_with(reply)
    if asked_with not in (None, request):
        raise table.mistake(
            "reply_id",
            f"is {spell(reply)}, which answers {spell(asked_with or 0)} "
            f"(ISO 15765-4); write the id that answers {spell(request)}",
        )


def _reply_remedy(standard: int | None) -> str:
    if standard is None:
        return "write the id that the control unit answers with"
    return f'write "{spell(standard)}" or take it out'
