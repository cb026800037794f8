"""Protocol A: SAE J1939, where units broadcast and a request asks for a group.

One unit, the transmission (source address 3), sends parameter group 65272 once a
second and on request; SPN 177 in it is the fluid: bytes 5 and 6, little endian,
1/32 °C a bit from -273 °C, FFFF for 'not available' (SAE J1939-71). How the adapter
prints it follows the data sheet from memory.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from simulators.bus import Frame

if TYPE_CHECKING:
    from simulators.adapter import Adapter, Steps
    from simulators.car import Car
    from simulators.settings import Memory

FLUIDS_PGN = 65272
IDENT = 0x18FEF803
"""Priority 6, group FEF8, source address 3."""
PERIOD_S = 1.0
_PHASE_S = 0.137  # when in each second it is sent
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


def request(adapter: Adapter, text: str) -> Steps:
    """Ask for a parameter group typed as four or six digits."""
    match = _GROUP.fullmatch(text)
    if match is None:
        adapter.answer("?")
        return
    now_s = adapter.clock_s
    known = int(match[1], 16) == FLUIDS_PGN and adapter.car.ignition
    yield now_s + (
        adapter.units[0].latency_s
        if known
        else adapter.memory.listen_s(adaptive_works=False)
    )
    if known:
        adapter.car.advance(adapter.clock_s)
        _print(adapter)
    else:
        adapter.say("NO DATA")
    adapter.prompt()


def monitor(adapter: Adapter, group: str, count: int | None) -> Steps:
    """Print a group each time it is broadcast, until stopped or ``count`` came."""
    left = count
    while left is None or left > 0:
        turn = math.floor((adapter.clock_s - _PHASE_S) / PERIOD_S + 1e-6) + 1
        yield turn * PERIOD_S + _PHASE_S
        if adapter.car.ignition and int(group, 16) == FLUIDS_PGN:
            adapter.car.advance(adapter.clock_s)
            _print(adapter)
            left = None if left is None else left - 1
    adapter.prompt()


def _print(adapter: Adapter) -> None:
    frame = Frame(t_s=adapter.clock_s, ident=IDENT, data=fluids(adapter.car))
    adapter.say(line(frame, adapter.memory))


def line(frame: Frame, memory: Memory) -> str:
    """Return a broadcast as printed: priority, group and source, or the bare id."""
    gap = " " if memory.spaces else ""
    data = "".join(f"{byte:02X}{gap}" for byte in frame.data)
    if not memory.headers:
        return data
    if not memory.j1939_header:
        head = "".join(f"{byte:02X}{gap}" for byte in frame.ident.to_bytes(4, "big"))
        return head + data
    priority, group = frame.ident >> 26, frame.ident >> 8 & 0x3FFFF
    return f"{priority:X}{gap}{group:05X}{gap}{frame.ident & 0xFF:02X}{gap}{data}"
