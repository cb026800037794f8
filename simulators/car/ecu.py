"""Control units: request payloads in, reply payloads with their delays out.

Services as in SAE J1979 (01, 03, 07, 09, 0A), ISO 14229-1 (10, 22, 3E) and
ISO 14230-3 (21). Nothing here can be written, cleared or actuated: every other
service is refused with 'service not supported'.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from simulators.car.car import Car
from simulators.car.signal_bytes import NoReading

Source = Callable[[Car], bytes]
"""Gives the data after the echo; raises NoReading where there is none."""

SERVICE_NOT_SUPPORTED = 0x11
SUBFUNCTION_NOT_SUPPORTED = 0x12
WRONG_LENGTH = 0x13
CONDITIONS_NOT_CORRECT = 0x22
OUT_OF_RANGE = 0x31
NOT_IN_THIS_SESSION = 0x7F

# ISO 14229-1: these are kept silent when the request went to everybody.
_SILENT_IF_FUNCTIONAL = frozenset(
    {SERVICE_NOT_SUPPORTED, SUBFUNCTION_NOT_SUPPORTED, OUT_OF_RANGE, 0x7E, 0x7F}
)
_SESSION_TIMEOUT_S = 5.0  # S3 server time, ISO 14229-2
FUNCTIONAL = frozenset({0x7DF, 0x18DB33F1})


class UnitRefusal(Exception):  # noqa: N818 - an ordinary answer, not a mistake
    """A negative response with its code (ISO 14229-1, annex A)."""

    def __init__(self, code: int) -> None:
        super().__init__(f"negative response {code:02X}")
        self.code = code


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """One answer on its way."""

    t_s: float
    """When it, or its first frame, starts on the bus."""
    sender: int
    """CAN id it carries."""
    payload: bytes


@dataclass(slots=True, kw_only=True)
class Unit:
    """One control unit of the car."""

    car: Car
    name: str
    request_id: int
    reply_id: int
    latency_s: float = 0.01
    padding: int | None = 0xAA
    """Byte that fills its frames up to eight; None: frames as short as can be."""
    pids: Mapping[int, Source] = field(default_factory=dict)
    identifiers: Mapping[int, Source] = field(default_factory=dict)
    locals_: Mapping[int, Source] = field(default_factory=dict)
    """Records by local identifier (service 21)."""
    infos: Mapping[int, Source] = field(default_factory=dict)
    """Vehicle information (service 09)."""
    codes: Mapping[int, Callable[[Car], tuple[str, ...]]] = field(default_factory=dict)
    """Service 03, 07, 0A -> where its trouble codes come from."""
    extended_only: frozenset[int] = frozenset()
    """Services refused outside the extended session."""
    _session_until_s: float = -1.0

    def hears(self, ident: int) -> bool:
        """Tell whether a request with this CAN id is for this unit."""
        if ident == self.request_id:
            return True
        wide = self.request_id > 0x7FF
        return ident in FUNCTIONAL and (ident > 0x7FF) == wide

    def answer(self, ident: int, payload: bytes, now_s: float) -> tuple[Reply, ...]:
        """Return the answers to one request; none if it stays silent."""
        if not payload or not self.car.ignition:
            return ()
        self.car.advance(now_s)
        try:
            body = self._positive(payload, now_s)
        except UnitRefusal as refusal:
            if ident in FUNCTIONAL and refusal.code in _SILENT_IF_FUNCTIONAL:
                return ()
            body = bytes((0x7F, payload[0], refusal.code))
        if self._session_until_s >= now_s:
            self._session_until_s = now_s + _SESSION_TIMEOUT_S
        if not body:
            return ()
        return (Reply(t_s=now_s + self.latency_s, sender=self.reply_id, payload=body),)

    def _positive(self, payload: bytes, now_s: float) -> bytes:
        service, rest = payload[0], payload[1:]
        if service in self.extended_only and self._session_until_s < now_s:
            raise UnitRefusal(NOT_IN_THIS_SESSION)
        if service == 0x10:
            return self._session(rest, now_s)
        if service == 0x3E:
            return _tester_present(rest)
        if service in self.codes:
            return _codes(service, self.codes[service](self.car))
        return self._record(service, rest)

    def _record(self, service: int, rest: bytes) -> bytes:
        tables: dict[int, tuple[Mapping[int, Source], int, int]] = {
            0x01: (self.pids, 1, SUBFUNCTION_NOT_SUPPORTED),
            0x09: (self.infos, 1, SUBFUNCTION_NOT_SUPPORTED),
            0x21: (self.locals_, 1, OUT_OF_RANGE),
            0x22: (self.identifiers, 2, OUT_OF_RANGE),
        }
        if service not in tables or not tables[service][0]:
            raise UnitRefusal(SERVICE_NOT_SUPPORTED)
        table, size, unknown = tables[service]
        if len(rest) < size or (len(rest) > size and service != 0x01):
            raise UnitRefusal(WRONG_LENGTH)
        body = b"".join(
            self._one(table, rest[at : at + size]) for at in range(0, len(rest), size)
        )
        if not body:
            raise UnitRefusal(unknown)
        return bytes((service + 0x40,)) + body

    def _one(self, table: Mapping[int, Source], key: bytes) -> bytes:
        """Return one record with its key; nothing if the unit does not know it."""
        source = table.get(int.from_bytes(key, "big"))
        if source is None:
            return b""
        try:
            return key + source(self.car)
        except NoReading as error:
            raise UnitRefusal(CONDITIONS_NOT_CORRECT) from error

    def _session(self, rest: bytes, now_s: float) -> bytes:
        if len(rest) != 1:
            raise UnitRefusal(WRONG_LENGTH)
        if rest[0] not in (0x01, 0x03):
            raise UnitRefusal(SUBFUNCTION_NOT_SUPPORTED)
        extended = rest[0] == 0x03
        self._session_until_s = now_s + _SESSION_TIMEOUT_S if extended else -1.0
        return bytes((0x50, rest[0], 0x00, 0x32, 0x01, 0xF4))  # P2 50 ms, P2* 5 s


def _tester_present(rest: bytes) -> bytes:
    if len(rest) != 1:
        raise UnitRefusal(WRONG_LENGTH)
    if rest[0] & 0x7F:
        raise UnitRefusal(SUBFUNCTION_NOT_SUPPORTED)
    return b"" if rest[0] & 0x80 else b"\x7e\x00"


def _codes(service: int, codes: tuple[str, ...]) -> bytes:
    """Trouble codes as SAE J1979 sends them on CAN: a count, two bytes each."""
    return bytes((service + 0x40, len(codes))) + b"".join(map(code_bytes, codes))


def code_bytes(code: str) -> bytes:
    """Return the two bytes of a trouble code such as 'P0711' (SAE J2012)."""
    system = "PCBU".index(code[0])
    return (system << 14 | int(code[1:], 16)).to_bytes(2, "big")


def supported(pids: Mapping[int, Source]) -> dict[int, Source]:
    """Return the table with its 'supported PIDs' bitmaps (00, 20, 40...) added."""
    known = set(pids)
    bases = [base for base in range(0, 0x100, 0x20) if any(p > base for p in known)]
    known.update(bases[1:])
    table = dict(pids)
    for base in bases or [0]:
        bits = sum(
            1 << 0x20 - (pid - base) for pid in known if base < pid <= base + 0x20
        )
        data = bits.to_bytes(4, "big")
        table[base] = lambda _car, data=data: data  # type: ignore[misc]
    return table
