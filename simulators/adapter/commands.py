"""The AT commands that only change or tell what the adapter remembers.

Each one is a pattern for the text after AT (blanks removed, upper case) and a
function that returns the answer, or None where the command is not understood.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from simulators.adapter.adapter_settings import PROTOCOL_NAMES, AdapterSettings, Memory

if TYPE_CHECKING:
    from simulators.car.car import Car


@dataclass(frozen=True, slots=True)
class Desk:
    """What a command may look at and change."""

    memory: Memory
    settings: AdapterSettings
    car: Car


Handler = Callable[[Desk, "re.Match[str]"], str | None]
_OK = "OK"
_TABLE: list[tuple[re.Pattern[str], Handler]] = []


def _on(pattern: str) -> Callable[[Handler], Handler]:
    def keep(handler: Handler) -> Handler:
        _TABLE.append((re.compile(pattern), handler))
        return handler

    return keep


def obey(desk: Desk, text: str) -> str | None:
    """Carry out one command and return its answer; None if it is unknown."""
    if any(text.startswith(start) for start in desk.settings.refuses):
        return None
    for pattern, handler in _TABLE:
        match = pattern.fullmatch(text)
        if match:
            return handler(desk, match)
    return None


def power_up(settings: AdapterSettings) -> Memory:
    """Return the memory of an adapter that has just been switched on."""
    return Memory(linefeeds=settings.linefeeds)


_SWITCHES = {
    "E": "echo",
    "L": "linefeeds",
    "S": "spaces",
    "H": "headers",
    "D": "show_length",
    "R": "responses",
    "CAF": "can_format",
    "CFC": "can_flow",
    "JHF": "j1939_header",
}


@_on(r"(E|L|S|H|D|R|CAF|CFC|JHF)([01])")
def _switch(desk: Desk, match: re.Match[str]) -> str:
    setattr(desk.memory, _SWITCHES[match[1]], match[2] == "1")
    return _OK


@_on(r"M[01]|AL|NL|BI|IB(10|12|15|48|96)|KW[01]|V[01]|CSM[01]|SS|FE|JE|JS|JTM[15]")
def _accept(_desk: Desk, _match: re.Match[str]) -> str:
    """Taken without any effect on the bench."""
    return _OK


@_on(r"I")
def _identify(desk: Desk, _match: re.Match[str]) -> str:
    return desk.settings.version


@_on(r"@1")
def _describe(desk: Desk, _match: re.Match[str]) -> str:
    return desk.settings.device


@_on(r"D")
def _defaults(desk: Desk, _match: re.Match[str]) -> str:
    """Everything back to the defaults; the protocol in use stays."""
    fresh = power_up(desk.settings)
    keep = {"protocol", "automatic", "connected", "last_line", "round_trip_s"}
    for item in fields(fresh):
        if item.name not in keep:
            setattr(desk.memory, item.name, getattr(fresh, item.name))
    return _OK


@_on(r"RV")
def _voltage(desk: Desk, _match: re.Match[str]) -> str:
    return f"{desk.car.voltage_v:.1f}V"


@_on(r"IGN")
def _ignition(desk: Desk, _match: re.Match[str]) -> str:
    return "ON" if desk.car.ignition else "OFF"


@_on(r"(?:SP|TP)(A?)([0-9A-C])")
def _protocol(desk: Desk, match: re.Match[str]) -> str:
    desk.memory.choose(match[2], automatic=bool(match[1]) or match[2] == "0")
    return _OK


@_on(r"(?:SP|TP)([1-9BC])A")
def _protocol_then_auto(desk: Desk, match: re.Match[str]) -> str:
    desk.memory.choose(match[1], automatic=True)
    return _OK


@_on(r"SP00")
def _protocol_erase(desk: Desk, _match: re.Match[str]) -> str:
    desk.memory.choose("0", automatic=True)
    return _OK


@_on(r"PC")
def _close(desk: Desk, _match: re.Match[str]) -> str:
    desk.memory.connected = False
    return _OK


@_on(r"DP")
def _protocol_name(desk: Desk, _match: re.Match[str]) -> str:
    memory = desk.memory
    name = PROTOCOL_NAMES[memory.protocol]
    return f"AUTO, {name}" if memory.automatic and memory.protocol != "0" else name


@_on(r"DPN")
def _protocol_digit(desk: Desk, _match: re.Match[str]) -> str:
    automatic = desk.memory.automatic and desk.memory.protocol != "0"
    return ("A" if automatic else "") + desk.memory.protocol


@_on(r"SH([0-7][0-9A-F]{2})")
def _header_short(desk: Desk, match: re.Match[str]) -> str:
    desk.memory.header_11 = int(match[1], 16)
    return _OK


@_on(r"SH([0-9A-F]{6})")
def _header_three(desk: Desk, match: re.Match[str]) -> str:
    """Three bytes: for the older buses, for 29 bits, or 11 bits in the last ones."""
    value = int(match[1], 16)
    desk.memory.headers_legacy = bytes.fromhex(match[1])
    desk.memory.header_29 = value
    desk.memory.header_11 = value & 0x7FF
    return _OK


@_on(r"SH([01][0-9A-F]{7})")
def _header_long(desk: Desk, match: re.Match[str]) -> str | None:
    if "SH8" in desk.settings.refuses:
        return None
    value = int(match[1], 16)
    desk.memory.priority, desk.memory.header_29 = value >> 24, value & 0xFFFFFF
    return _OK


@_on(r"CP([01][0-9A-F])")
def _priority(desk: Desk, match: re.Match[str]) -> str:
    desk.memory.priority = int(match[1], 16)
    return _OK


@_on(r"CRA([0-9A-FX]{3}|[0-9A-FX]{8})?|AR")
def _receive(desk: Desk, match: re.Match[str]) -> str:
    """Set the receive id, an X standing for any digit; without one: the default."""
    text = match[1]
    memory = desk.memory
    memory.pending_filter = None
    if text is None:
        memory.receive_id = memory.receive_mask = None
        return _OK
    memory.receive_id = int(text.replace("X", "0"), 16)
    memory.receive_mask = int("".join("0" if c == "X" else "F" for c in text), 16)
    return _OK


@_on(r"CF([0-9A-F]{3}|[0-9A-F]{8})")
def _filter(desk: Desk, match: re.Match[str]) -> str:
    desk.memory.pending_filter = int(match[1], 16)
    if desk.memory.receive_mask is not None:
        desk.memory.receive_id = desk.memory.pending_filter
    return _OK


@_on(r"CM([0-9A-F]{3}|[0-9A-F]{8})")
def _mask(desk: Desk, match: re.Match[str]) -> str:
    desk.memory.receive_mask = int(match[1], 16)
    desk.memory.receive_id = desk.memory.pending_filter or 0
    return _OK


@_on(r"FCSH([0-7][0-9A-F]{2}|[0-9A-F]{8})")
def _flow_header(desk: Desk, match: re.Match[str]) -> str:
    desk.memory.flow_header = int(match[1], 16)
    return _OK


@_on(r"FCSD((?:[0-9A-F]{2}){1,5})")
def _flow_data(desk: Desk, match: re.Match[str]) -> str:
    desk.memory.flow_data = bytes.fromhex(match[1])
    return _OK


@_on(r"FCSM([012])")
def _flow_mode(desk: Desk, match: re.Match[str]) -> str | None:
    """Modes 1 and 2 need what they use to be set before (data sheet)."""
    mode, memory = int(match[1]), desk.memory
    if mode and memory.flow_data is None:
        return None
    if mode == 1 and memory.flow_header is None:
        return None
    memory.flow_mode = mode
    return _OK


@_on(r"ST([0-9A-F]{2})")
def _listen(desk: Desk, match: re.Match[str]) -> str:
    desk.memory.listen_counts = int(match[1], 16)
    return _OK


@_on(r"SW([0-9A-F]{2})")
def _wake_up(desk: Desk, match: re.Match[str]) -> str:
    """Steps of 20 ms; 00 stops the messages (data sheet)."""
    desk.memory.wakes_every_s = int(match[1], 16) * 0.02
    return _OK


@_on(r"AT([012])")
def _adaptive(desk: Desk, match: re.Match[str]) -> str:
    desk.memory.adaptive = int(match[1])
    return _OK
