"""Trouble codes and the warning lamp: answers of services 03, 07, 0A and PID 01.

Only ever read; the services that clear them are not on the list of requests.
On CAN the answer is a count and two bytes a code; before CAN there is no count, and
each message holds three codes, filled up with zeros.

Sources: SAE J1979 / ISO 15031-5 (the answers), SAE J2012 / ISO 15031-6 (a code's
letters and digits), both as independent public decoders give them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from bridge.values.readings import TroubleCodes

STORED = 0x03
PENDING = 0x07
PERMANENT = 0x0A
CODE_SERVICES = (STORED, PENDING, PERMANENT)
STATUS_PID = 0x01
STATUS_LENGTH = 4

FLUID_SENSOR_CODES = frozenset({"P0710", "P0711", "P0712", "P0713"})
"""Transmission fluid temperature sensor A: circuit, range, low, high (SAE J2012)."""

_SYSTEMS = "PCBU"
_NO_CODE = (0, 0)


class BadCodes(ValueError):  # noqa: N818 - one kind of bad value
    """Bytes that are not a list of trouble codes; the text says why not."""


def code_text(high: int, low: int) -> str:
    """Return a code's name, such as 'P0711', from its two bytes (0..255 each)."""
    return f"{_SYSTEMS[high >> 6]}{high >> 4 & 0x3:X}{high & 0xF:X}{low:02X}"


def read_codes(
    payloads: Sequence[bytes], *, service: int, counted: bool
) -> tuple[str, ...]:
    """Return the codes that one unit's answer names, each once, in its order.

    ``payloads``: whole messages, each beginning with the echo (service + 0x40).
    ``counted``: the CAN form, a count before the codes.

    Raises:
        BadCodes: another service's answer, a count that does not fit, half a code.
    """
    if not payloads:
        raise BadCodes("no answer")
    found: list[str] = []
    for payload in payloads:
        if payload[:1] != bytes((service + 0x40,)):
            raise BadCodes(f"not an answer to service {service:02X}")
        found += _counted(payload[1:]) if counted else _pairs(payload[1:])
    return tuple(dict.fromkeys(found))


def _counted(data: bytes) -> list[str]:
    if not data:
        raise BadCodes("an answer without its count")
    count, listed, rest = data[0], data[1 : 1 + 2 * data[0]], data[1 + 2 * data[0] :]
    if len(listed) != 2 * count:
        raise BadCodes(f"{count} codes announced, {len(listed) / 2:g} sent")
    if any(rest):
        raise BadCodes(f"{count} codes announced, more sent")
    return _pairs(listed)


def _pairs(data: bytes) -> list[str]:
    if len(data) % 2:
        raise BadCodes("half a code")
    pairs = zip(data[::2], data[1::2], strict=True)
    return [code_text(*pair) for pair in pairs if pair != _NO_CODE]


def read_status(data: bytes) -> tuple[bool, int]:
    """Return lamp and count of stored codes from PID 01's four bytes (echo gone).

    Raises:
        BadCodes: not four bytes.
    """
    if len(data) != STATUS_LENGTH:
        raise BadCodes(f"{len(data)} status bytes instead of {STATUS_LENGTH}")
    return bool(data[0] & 0x80), data[0] & 0x7F


def merged(lists: Iterable[tuple[str, ...] | None]) -> tuple[str, ...] | None:
    """Return the codes of several units in one list; None if no unit told."""
    read = [codes for codes in lists if codes is not None]
    return tuple(dict.fromkeys(code for c in read for code in c)) if read else None


def fluid_sensor_codes(codes: TroubleCodes | None) -> tuple[str, ...]:
    """Return those codes that say the fluid's own sensor cannot be trusted."""
    if codes is None:
        return ()
    lists = (codes.stored, codes.pending, codes.permanent)
    return tuple(c for c in merged(lists) or () if c in FLUID_SENSOR_CODES)
