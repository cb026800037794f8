"""The vehicle's identification number: read, checked, reported, never refused.

Sources: SAE J1979 / ISO 15031-5 (service 09, information type 02), 49 CFR 565.15
and ISO 3779 (letters, weights, check digit). The check digit is compulsory in North
America only, so a wrong one is a remark about the number and nothing more.
"""

from __future__ import annotations

from collections.abc import Sequence

from bridge.values.readings import CheckDigit

VIN_SERVICE = 0x09
VIN_TYPE = 0x02
VIN_LENGTH = 17

_ECHO = bytes((VIN_SERVICE + 0x40, VIN_TYPE))
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_CHECK_PLACE = 8
_REMAINDERS = "0123456789X"
_VALUES = {
    **{digit: int(digit) for digit in "0123456789"},
    **dict(zip("ABCDEFGH", range(1, 9), strict=True)),
    **dict(zip("JKLMN", range(1, 6), strict=True)),
    "P": 7,
    "R": 9,
    **dict(zip("STUVWXYZ", range(2, 10), strict=True)),
}
"""49 CFR 565.15, table III; I, O and Q are never used."""


class BadVin(ValueError):  # noqa: N818 - one kind of bad value
    """Bytes that hold no identification number; the text says why not."""


def read_vin(payloads: Sequence[bytes], *, counted: bool) -> str:
    """Return the number's text as the unit sends it, fillers of zero bytes left out.

    ``payloads``: whole messages, each beginning with the echo 49 02. ``counted``:
    the CAN form, one message with a count of data items; else five messages of
    four bytes, each with its order number.

    Raises:
        BadVin: not such an answer, out of order, or not printable.
    """
    if not payloads or any(not p.startswith(_ECHO) for p in payloads):
        raise BadVin("not an answer to service 09, type 02")
    data = _one_item(payloads) if counted else _in_order(payloads)
    text = data.strip(b"\x00").decode("latin-1")
    if not text or not all("!" <= char <= "~" for char in text):
        raise BadVin("the number holds characters that are none")
    return text


def _one_item(payloads: Sequence[bytes]) -> bytes:
    if len(set(payloads)) != 1:
        raise BadVin("two different numbers")
    data = payloads[0][len(_ECHO) :]
    if data[:1] != b"\x01":
        raise BadVin("not exactly one number")
    return data[1:]


def _in_order(payloads: Sequence[bytes]) -> bytes:
    parts = [p[len(_ECHO) :] for p in payloads]
    if [p[:1] for p in parts] != [bytes((n,)) for n in range(1, len(parts) + 1)]:
        raise BadVin("messages missing or out of order")
    return b"".join(p[1:] for p in parts)


def check_digit(text: str) -> CheckDigit:
    """Return whether the ninth character is the one the others demand.

    Not checked: not 17 characters, a character no number may hold, or a ninth
    character that is no check digit (numbers from outside North America).
    """
    values = [_VALUES.get(char) for char in text]
    known = [value for value in values if value is not None]
    if len(text) != VIN_LENGTH or len(known) != VIN_LENGTH:
        return CheckDigit.NOT_CHECKED
    if text[_CHECK_PLACE] not in _REMAINDERS:
        return CheckDigit.NOT_CHECKED
    products = (a * b for a, b in zip(known, _WEIGHTS, strict=True))
    total = sum(products)
    right = _REMAINDERS[total % 11] == text[_CHECK_PLACE]
    return CheckDigit.RIGHT if right else CheckDigit.WRONG
