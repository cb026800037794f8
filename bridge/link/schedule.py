"""What is asked of the car, of whom, and how often."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

from bridge.protocol.request import GroupRequest, Request
from bridge.protocol.standard_pids import (
    STANDARD_PIDS,
    standard_signal,
    supported_pids,
)
from bridge.values.frozen import frozen
from bridge.values.sheet import Role, Sheet, Signal

ENGINE_11_BIT = 0x7E8
ENGINE_29_BIT = 0x18DAF110
"""The engine unit's reply ids (ISO 15765-4)."""
_GEARBOX_ONE_BYTE = range(0x18, 0x20)
_GEARBOX_29_BIT = range(0x18DAF118, 0x18DAF120)
"""Usual gearbox addresses (from memory); never taken for the engine."""

ALWAYS_ASKED = (Role.ENGINE_SPEED, Role.VEHICLE_SPEED)
"""The gate needs them, so they are asked for even if a bitmap does not name them."""

PERIOD_S: dict[Role, float] = {
    Role.FLUID_TEMPERATURE: 0.0,
    Role.ENGINE_SPEED: 0.0,
    Role.VEHICLE_SPEED: 0.4,
    Role.SELECTOR: 0.4,
    Role.COOLANT_TEMPERATURE: 2.0,
    Role.MODULE_VOLTAGE: 5.0,
    Role.ENGINE_RUN_TIME: 5.0,
    Role.AMBIENT_TEMPERATURE: 20.0,
}
"""Seconds between two questions for a role; 0: in every round."""


@frozen
class Query:
    """One request that is repeated, and the signals its answer holds."""

    request: Request | GroupRequest
    signals: tuple[Signal, ...]
    data_length: int
    period_s: float
    standard: bool
    """Decoded by python-OBD's table rather than by the sheet."""

    @property
    def is_fluid(self) -> bool:
        """Whether the fluid's temperature is in its answer."""
        return any(s.role is Role.FLUID_TEMPERATURE for s in self.signals)


def engine_of(units: dict[int, bytes]) -> int | None:
    """Return the reply id of the engine unit among those that answered, or None.

    ``units``: each unit's answer to 0100. The one whose bitmap offers most of engine
    speed and road speed counts, the usual address first among equals; where none
    offers them, the usual address.
    """
    usual = _usual_engine(units)
    offering = {u: len(_offered(units[u])) for u in units}
    most = max(offering.values(), default=0)
    if most == 0:
        return usual
    best = [u for u in sorted(units) if offering[u] == most]
    return usual if usual in best else best[0]


def _offered(bitmap: bytes) -> list[Role]:
    """Return which of the roles the gate needs a bitmap offers."""
    pids = supported_pids(bitmap)
    return [role for role in ALWAYS_ASKED if STANDARD_PIDS[role] in pids]


def beside_engine(units: dict[int, bytes], engine: int | None) -> dict[Role, int]:
    """Return which other unit offers what the gate needs and the engine's does not."""
    there = _offered(units[engine]) if engine is not None else []
    found: dict[Role, int] = {}
    for unit in sorted(units):
        for role in _offered(units[unit]):
            if role not in there and unit != engine:
                found.setdefault(role, unit)
    return found


def _usual_engine(units: Collection[int]) -> int | None:
    """Return the unit that sits where the engine's does."""
    if ENGINE_11_BIT in units:
        return ENGINE_11_BIT
    if ENGINE_29_BIT in units:
        return ENGINE_29_BIT
    others = [u for u in units if u > 0x7FF and u not in _GEARBOX_29_BIT]
    older = [u for u in units if u <= 0xFF and u not in _GEARBOX_ONE_BYTE]
    return min(others or older, default=None)


def request_id_of(reply_id: int) -> int:
    """Return the physical request id for a standard reply id (ISO 15765-4)."""
    if reply_id <= 0x7FF:
        return reply_id - 8
    return 0x18DA00F1 | (reply_id & 0xFF) << 8


def sheet_queries(sheet: Sheet) -> list[Query]:
    """Return one query for each distinct request of the sheet that names a unit."""
    grouped: dict[Request | GroupRequest, list[Signal]] = {}
    for signal in sheet.signals:
        if signal.request_id is not None or signal.pgn is not None:
            grouped.setdefault(request_of(signal), []).append(signal)
    return [
        Query(
            request=request,
            signals=tuple(signals),
            data_length=signals[0].data_length,
            period_s=min(PERIOD_S[s.role] for s in signals),
            standard=False,
        )
        for request, signals in grouped.items()
    ]


def engine_queries(
    sheet: Sheet,
    engine: int,
    supported: frozenset[int],
    *,
    physical: bool,
    elsewhere: Mapping[Role, int] | None = None,
) -> list[Query]:
    """Return the standard PIDs to ask the engine unit for.

    ``elsewhere``: roles that another unit offers, with its reply id.

    A sheet's own signal for a role takes the place of the standard PID, unless it
    is itself a standard PID (service 0x01 without ids).
    """
    own = {s.role: s for s in sheet.signals}
    queries = []
    for role, pid in STANDARD_PIDS.items():
        mine = own.get(role)
        if mine is not None and mine.request_id is not None:
            continue
        other = (elsewhere or {}).get(role)
        if other is not None:
            queries.append(_standard_query(role, other, physical=physical))
        elif pid in supported or role in ALWAYS_ASKED:
            queries.append(_standard_query(role, engine, physical=physical))
    queries += [
        _engine_sheet_query(s, engine, physical=physical)
        for s in sheet.signals
        if s.request_id is None and s.pgn is None and not _is_standard(s)
    ]
    return queries


def _is_standard(signal: Signal) -> bool:
    return (
        signal.service == 0x01 and STANDARD_PIDS.get(signal.role) == signal.identifier
    )


def _standard_query(role: Role, engine: int, *, physical: bool) -> Query:
    signal = standard_signal(role)
    return replace(
        _engine_sheet_query(signal, engine, physical=physical), standard=True
    )


def _engine_sheet_query(signal: Signal, engine: int, *, physical: bool) -> Query:
    target = request_id_of(engine) if physical else None
    addressed = replace(signal, request_id=target, reply_id=engine)
    return Query(
        request=request_of(addressed),
        signals=(signal,),
        data_length=signal.data_length,
        period_s=PERIOD_S[signal.role],
        standard=False,
    )


GROUP_SIGNALS = (
    Signal(
        role=Role.ENGINE_SPEED,
        pgn=61444,  # SPN 190, bytes 4-5, 0.125 rpm a bit
        first_byte=3,
        length=2,
        data_length=8,
        byte_order="little",
        factor=0.125,
    ),
    Signal(
        role=Role.VEHICLE_SPEED,
        pgn=65265,  # SPN 84, bytes 2-3, 1/256 km/h a bit (from memory)
        first_byte=1,
        length=2,
        data_length=8,
        byte_order="little",
        factor=1 / 256,
    ),
    Signal(
        role=Role.COOLANT_TEMPERATURE,
        pgn=65262,  # SPN 110, byte 1, 1 degC a bit from -40
        data_length=8,
        offset=-40.0,
    ),
)
"""What a J1939 bus broadcasts of the engine and the vehicle (SAE J1939-71)."""


def group_queries(sheet: Sheet) -> list[Query]:
    """Return what to listen for on a J1939 bus: the sheet's groups and the usual."""
    own = {s.role for s in sheet.signals}
    usual = tuple(s for s in GROUP_SIGNALS if s.role not in own)
    return sheet_queries(replace(sheet, signals=sheet.signals + usual))


def request_of(signal: Signal) -> Request | GroupRequest:
    """Return the question for a signal, to the unit it names."""
    if signal.pgn is not None:
        return GroupRequest(pgn=signal.pgn, source=signal.reply_id)
    return Request(
        service=signal.service,
        identifier=signal.identifier,
        request_id=signal.request_id,
        reply_id=signal.reply_id,
    )


def _unit(query: Query) -> int:
    return getattr(query.request, "request_id", None) or 0


def ordered(due: list[Query]) -> list[Query]:
    """Return the queries grouped by unit, the fluid's unit first.

    Switching the adapter's header costs an exchange, so each unit has one turn.
    """

    def rank(query: Query) -> tuple[bool, int, float]:
        unit = _unit(query)
        return (unit not in fluid_units, unit, query.period_s)

    fluid_units = {_unit(q) for q in due if q.is_fluid}
    return sorted(due, key=rank)
