"""Protocol A: SAE J1939, where units broadcast and a request asks for a group.

The transmission (source address 3) sends parameter group 65272 once a second and on
request; SPN 177 in it is the fluid: bytes 5 and 6, little endian, 1/32 °C a bit from
-273 °C, FFFF for 'not available' (SAE J1939-71). The engine (source address 0) sends
its speed (61444, SPN 190), the vehicle's (65265, SPN 84, from memory) and the coolant
(65262, SPN 110) ten times a second. How the adapter prints them follows the data sheet
from memory.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from simulators.adapter.bus import Frame
from simulators.adapter.printed import spelled

if TYPE_CHECKING:
    from simulators.adapter.adapter_settings import Memory
    from simulators.adapter.hooks import AdapterSide, Steps
    from simulators.car.car import Car

FLUIDS_PGN = 65272
PERIOD_S = 1.0
_ENGINE_PERIOD_S = 0.1
_PHASE_S = 0.137  # when in each period it is sent
_NOT_AVAILABLE = 0xFFFF
_HIGHEST = 0xFAFF  # above it a raw value is no measurement
_GROUP = re.compile(r"(?:0[01])?([0-9A-F]{4})([1-9A-F])?")


def fluids(car: Car) -> bytes:
    """Return the eight bytes of group 65272 for the car as it is now."""
    temp_c = car.sensor_c
    if temp_c is None:
        raw = _NOT_AVAILABLE
    else:
        raw = min(max(math.floor((temp_c + 273.0) * 32.0 + 0.5), 0), _HIGHEST)
    return b"\xff" * 4 + raw.to_bytes(2, "little") + b"\xff" * 2


def _engine_speed(car: Car) -> bytes:
    raw = math.floor(car.engine_rpm / 0.125 + 0.5)
    return b"\xff" * 3 + raw.to_bytes(2, "little") + b"\xff" * 3


def _vehicle_speed(car: Car) -> bytes:
    raw = math.floor(car.speed_kmh * 256 + 0.5)
    return b"\xff" + raw.to_bytes(2, "little") + b"\xff" * 5


def _coolant(car: Car) -> bytes:
    return bytes([math.floor(car.coolant_c + 40.5)]) + b"\xff" * 7


@dataclass(frozen=True, slots=True)
class Group:
    """One parameter group: who sends it, how often, and what is in it."""

    ident: int
    period_s: float
    data: Callable[[Car], bytes]


GROUPS: dict[int, Group] = {
    FLUIDS_PGN: Group(0x18FEF803, PERIOD_S, fluids),
    61444: Group(0x0CF00400, _ENGINE_PERIOD_S, _engine_speed),
    65265: Group(0x18FEF100, _ENGINE_PERIOD_S, _vehicle_speed),
    65262: Group(0x18FEEE00, _ENGINE_PERIOD_S, _coolant),
}
"""By group number; idents hold priority, group and source address (SAE J1939-21)."""


def request(adapter: AdapterSide, text: str) -> Steps:
    """Ask for a parameter group typed as four or six digits."""
    match = _GROUP.fullmatch(text)
    if match is None:
        adapter.answer("?")
        return
    now_s = adapter.clock_s
    group = GROUPS.get(int(match[1], 16)) if adapter.car.ignition else None
    yield now_s + (
        adapter.units[0].latency_s
        if group
        else adapter.memory.listen_s(adaptive_works=False)
    )
    if group:
        _print(adapter, group)
    else:
        adapter.say("NO DATA")
    adapter.prompt()


def monitor(adapter: AdapterSide, group: str, count: int | None) -> Steps:
    """Print a group each time it is broadcast, until stopped or ``count`` came."""
    left = count
    sent = GROUPS.get(int(group, 16))
    period_s = sent.period_s if sent else PERIOD_S
    phase_s = _PHASE_S * period_s
    while left is None or left > 0:
        turn = math.floor((adapter.clock_s - phase_s) / period_s + 1e-6) + 1
        yield turn * period_s + phase_s
        if adapter.car.ignition and sent:
            _print(adapter, sent)
            left = None if left is None else left - 1
    adapter.prompt()


def _print(adapter: AdapterSide, group: Group) -> None:
    adapter.car.advance(adapter.clock_s)
    frame = Frame(t_s=adapter.clock_s, ident=group.ident, data=group.data(adapter.car))
    adapter.say(line(frame, adapter.memory))


def line(frame: Frame, memory: Memory) -> str:
    """Return a broadcast as printed: priority, group and source, or the bare id."""
    gap, data = " " if memory.spaces else "", spelled(frame.data, memory)
    if not memory.headers:
        return data
    if not memory.j1939_header:
        return spelled(frame.ident.to_bytes(4, "big"), memory) + data
    priority, group = frame.ident >> 26, frame.ident >> 8 & 0x3FFFF
    return f"{priority:X}{gap}{group:05X}{gap}{frame.ident & 0xFF:02X}{gap}{data}"
