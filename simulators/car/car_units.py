"""The control units of the demonstration car, and of any car a sheet describes."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bridge.values.sheet import Role, Signal
from simulators.car.ecu import FUNCTIONAL, Source, Unit, supported
from simulators.car.signal_bytes import NoReading, encode

if TYPE_CHECKING:
    from collections.abc import Sequence

    from simulators.car.car import Car

ENGINE_11, ENGINE_29 = (0x7E0, 0x7E8), (0x18DA10F1, 0x18DAF110)
GEARBOX_11, GEARBOX_29 = (0x7E1, 0x7E9), (0x18DA18F1, 0x18DAF118)

_POSITIONS = ((0, "P"), (1, "R"), (2, "N"), (3, "D"))


def _pid(pid: int, role: Role, length: int, factor: float, offset: float) -> Signal:
    return Signal(
        role=role, service=1, identifier=pid, length=length, data_length=length,
        factor=factor, offset=offset,
    )  # fmt: skip


# Scaling of the standard identifiers: SAE J1979 / ISO 15031-5.
_ENGINE_PIDS = (
    _pid(0x05, Role.COOLANT_TEMPERATURE, 1, 1.0, -40.0),
    _pid(0x0C, Role.ENGINE_SPEED, 2, 0.25, 0.0),
    _pid(0x0D, Role.VEHICLE_SPEED, 1, 1.0, 0.0),
    _pid(0x0F, Role.AMBIENT_TEMPERATURE, 1, 1.0, -40.0),
    _pid(0x1F, Role.ENGINE_RUN_TIME, 2, 1.0, 0.0),
    _pid(0x42, Role.MODULE_VOLTAGE, 2, 0.001, 0.0),
    _pid(0x46, Role.AMBIENT_TEMPERATURE, 1, 1.0, -40.0),
)

DEMO_SIGNALS = (
    Signal(
        role=Role.FLUID_TEMPERATURE, service=0x22, identifier=0x1157,
        request_id=0x7E1, reply_id=0x7E9, offset=-40.0, not_available=(0xFF,),
    ),
    Signal(
        role=Role.FLUID_TEMPERATURE, service=0x22, identifier=0x2C86,
        request_id=0x7E1, reply_id=0x7E9, offset=-50.0, not_available=(0xFF,),
    ),
    Signal(
        role=Role.FLUID_TEMPERATURE, service=0x22, identifier=0x1160,
        request_id=0x7E1, reply_id=0x7E9, length=2, data_length=2, signed=True,
        factor=0.0625, not_available=(0x7FFF,),
    ),
    Signal(
        role=Role.FLUID_TEMPERATURE, service=0x22, identifier=0x1170,
        request_id=0x7E1, reply_id=0x7E9, first_byte=4, data_length=14,
        offset=-40.0, not_available=(0xFF,),
    ),
    Signal(
        role=Role.SELECTOR, service=0x22, identifier=0x1170,
        request_id=0x7E1, reply_id=0x7E9, first_byte=9, data_length=14,
        labels=_POSITIONS,
    ),
    Signal(
        role=Role.FLUID_TEMPERATURE, service=0x21, identifier=0x30,
        request_id=0x7E1, reply_id=0x7E9, first_byte=1, data_length=4,
        offset=-40.0, not_available=(0xFF,),
    ),
)  # fmt: skip
"""Each kind of signal: a byte (the shipped sheets have two), a word, a block of several
frames, service 21."""


def make_units(
    car: Car,
    signals: Sequence[Signal] | None = None,
    *,
    latency_s: float = 0.01,
) -> tuple[Unit, ...]:
    """Return the engine unit and every unit the signals' CAN ids speak of.

    None: the demonstration signals. A signal without ids is a standard one and goes
    to the engine unit. Ids of 29 bits anywhere, or a protocol that has them, put the
    standard units at their 29-bit addresses.
    """
    wide = car.protocol in "79A" or any(map(is_wide, signals or ()))
    engine, gearbox = (ENGINE_29, GEARBOX_29) if wide else (ENGINE_11, GEARBOX_11)
    if signals is None:
        request, reply = gearbox
        signals = [replace(s, request_id=request, reply_id=reply) for s in DEMO_SIGNALS]
    groups: dict[tuple[int, int], list[Signal]] = {engine: []}
    if not any(_ids(signal, engine) != engine for signal in signals):
        groups[gearbox] = []
    for signal in signals:
        groups.setdefault(_ids(signal, engine), []).append(signal)
    return tuple(
        _unit(car, ids, group, latency_s + 0.001 * place, engine=ids == engine)
        for place, (ids, group) in enumerate(groups.items())
    )


def is_wide(signal: Signal) -> bool:
    """Tell whether a signal's ids have 29 bits."""
    return max(signal.request_id or 0, signal.reply_id or 0) > 0x7FF


def _ids(signal: Signal, engine: tuple[int, int]) -> tuple[int, int]:
    """The unit a signal lives in; an id that is left out follows the standard."""
    request, reply = signal.request_id, signal.reply_id
    if reply is None:
        if request is None or request in FUNCTIONAL:
            return engine
        return request, _partner(request)
    if request is None or request in FUNCTIONAL:
        return _partner(reply), reply
    return request, reply


def _partner(ident: int) -> int:
    """Swap request and reply id: ISO 15765-4, 7E0 <-> 7E8 or source <-> target."""
    if ident <= 0x7FF:
        return ident ^ 0x08
    return ident & ~0xFFFF | (ident & 0xFF) << 8 | ident >> 8 & 0xFF


def _unit(
    car: Car,
    ids: tuple[int, int],
    signals: Sequence[Signal],
    latency_s: float,
    *,
    engine: bool,
) -> Unit:
    standard = _sources(_ENGINE_PIDS if engine else (), 0x01)
    pids = standard | _sources(signals, 0x01)
    pids.setdefault(0x01, _status)
    return Unit(
        car=car,
        name="engine" if engine else "gearbox",
        request_id=ids[0],
        reply_id=ids[1],
        latency_s=latency_s,
        pids=supported(pids),
        identifiers=_sources(signals, 0x22),
        locals_=_sources(signals, 0x21),
        infos=supported({0x02: _vin}) if engine else {},
        codes={
            0x03: lambda car: car.stored,
            0x07: lambda car: car.pending,
            0x0A: lambda car: car.permanent,
        },
    )


def _sources(signals: Sequence[Signal], service: int) -> dict[int, Source]:
    blocks: dict[int, list[Signal]] = {}
    for signal in signals:
        if signal.service == service:
            blocks.setdefault(signal.identifier, []).append(signal)
    return {ident: _block(block) for ident, block in blocks.items()}


def _block(signals: Sequence[Signal]) -> Source:
    """One record; bytes that belong to no signal hold a fixed, non-zero pattern."""
    size = max(
        max(signal.data_length, signal.first_byte + signal.length) for signal in signals
    )

    def source(car: Car) -> bytes:
        data = bytearray((37 * place + 11) & 0xFF for place in range(size))
        for signal in signals:
            end = signal.first_byte + signal.length
            data[signal.first_byte : end] = encode(signal, car)
        return bytes(data)

    return source


def _status(car: Car) -> bytes:
    """Monitor status: the lamp bit and the count of stored codes (SAE J1979)."""
    lamp = 0x80 if car.stored else 0
    return bytes((lamp | len(car.stored), 0x07, 0x65, 0x04))


def _vin(car: Car) -> bytes:
    if not car.vin:
        raise NoReading("vin")
    return b"\x01" + car.vin.encode("ascii")
