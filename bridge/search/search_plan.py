"""What is searched: units, services and identifiers, and what is left of it. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from bridge.values.errors import UsageError
from bridge.values.frozen import frozen

LOCAL = 0x21
DEFAULT_RANGES = "21:01-FF 22:0100-01FF 22:1000-1FFF"
"""Local identifiers (ISO 14230-3), and where vehicle makers' identifiers often begin
in the span ISO 14229-1 leaves to them (common practice, no source)."""
_RANGE = re.compile(r"(21|22):([0-9A-Fa-f]{1,4})(?:-([0-9A-Fa-f]{1,4}))?")
UNITS_11 = tuple((0x7E0 + n, 0x7E8 + n) for n in (1, 0, *range(2, 8)))
"""ISO 15765-4: 7E0..7E7 are answered by id + 8; the gearbox's usual place first."""
TESTER, FUNCTIONAL = 0xF1, 0x33


def units_29() -> tuple[tuple[int, int], ...]:
    """Return the 29-bit pairs of ISO 15765-4, the usual gearbox places first."""
    first = [*range(0x18, 0x20), *range(0x10, 0x18)]
    rest = [n for n in range(0x100) if n not in first]
    return tuple(
        (0x18DA00F1 | n << 8, 0x18DAF100 | n)
        for n in (*first, *rest)
        if n not in (TESTER, FUNCTIONAL)
    )


@frozen
class IdentifierSpan:
    """Identifiers of one service, the first and the last included."""

    service: int
    first: int
    last: int


def read_spans(text: str) -> tuple[IdentifierSpan, ...]:
    """Return the spans of a text such as '21:01-FF 22:1000-1FFF'.

    Raises:
        UsageError: it names another service, or the ends make no sense.
    """
    spans = tuple(_span(word) for word in text.replace(",", " ").split())
    if not spans:
        raise UsageError(
            f"no identifiers to search: write them like '{DEFAULT_RANGES}'"
        )
    return spans


def _span(word: str) -> IdentifierSpan:
    match = _RANGE.fullmatch(word)
    if match is None:
        raise UsageError(
            f"{word[:40]!r} is no range of identifiers: write service, colon, first "
            "and last in hexadecimal, such as 22:1000-1FFF; services are 21 and 22"
        )
    service, first = int(match[1], 16), int(match[2], 16)
    last = int(match[3], 16) if match[3] else first
    most = 0xFF if service == LOCAL else 0xFFFF
    if not first <= last <= most:
        raise UsageError(
            f"{word[:40]!r} is upside down or too wide: write the lower end first, up "
            f"to {most:X} for service {service:02X}"
        )
    return IdentifierSpan(service=service, first=first, last=last)


def read_units(text: str) -> tuple[int, ...]:
    """Return request ids such as '7E1,18DA18F1'.

    Raises:
        UsageError: one is not a standard request id (ISO 15765-4).
    """
    known = {r for r, _ in UNITS_11} | {r for r, _ in units_29()}
    found = []
    for word in text.replace(",", " ").split():
        number = int(word, 16) if re.fullmatch(r"[0-9A-Fa-f]{3,8}", word) else -1
        if number not in known:
            raise UsageError(
                f"{word[:20]!r} is no standard request id: write 7E0 to 7E7, or "
                "18DAxxF1 (ISO 15765-4)"
            )
        found.append(number)
    return tuple(found)


def left_of(
    spans: Iterable[IdentifierSpan], service: int, asked: set[int]
) -> Iterator[int]:
    """Yield the identifiers of a service that have not been asked for yet."""
    seen: set[int] = set()
    for span in spans:
        if span.service != service:
            continue
        for identifier in range(span.first, span.last + 1):
            if identifier not in asked and identifier not in seen:
                seen.add(identifier)
                yield identifier


def count_left(spans: Iterable[IdentifierSpan], service: int, asked: set[int]) -> int:
    """Return how many identifiers of a service are left."""
    return sum(1 for _ in left_of(spans, service, asked))
