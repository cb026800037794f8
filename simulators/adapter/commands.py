"""The AT commands that only change or tell what the adapter remembers.

Each is a text after AT, or a pattern of it (blanks removed, upper case), and what it
tells or does. One that is understood and cannot be done returns False.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import fields
from typing import TYPE_CHECKING

from simulators.adapter.adapter_settings import PROTOCOL_NAMES, Memory

if TYPE_CHECKING:
    from simulators.adapter.hooks import AdapterSide

Handler = Callable[["AdapterSide", "re.Match[str]"], bool | None]
_TABLE: list[tuple[re.Pattern[str], Handler]] = []


def _on(pattern: str) -> Callable[[Handler], Handler]:
    def keep(handler: Handler) -> Handler:
        _TABLE.append((re.compile(pattern), handler))
        return handler

    return keep


def obey(adapter: AdapterSide, text: str) -> str | None:
    """Carry out one command and return its answer; None if it is unknown."""
    if text.startswith(adapter.settings.refuses):
        return None
    if text in _TOLD:
        return _TOLD[text](adapter)
    for pattern, handler in _TABLE:
        match = pattern.fullmatch(text)
        if match:
            return None if handler(adapter, match) is False else "OK"
    return None


_TOLD: dict[str, Callable[[AdapterSide], str]] = {
    "I": lambda adapter: adapter.settings.version,
    "@1": lambda adapter: adapter.settings.device,
    "RV": lambda adapter: f"{adapter.car.voltage_v:.1f}V",
    "IGN": lambda adapter: "ON" if adapter.car.ignition else "OFF",
    "DP": lambda adapter: (
        ("AUTO, " if adapter.memory.was_searched else "")
        + PROTOCOL_NAMES[adapter.memory.protocol]
    ),
    "DPN": lambda adapter: (
        ("A" if adapter.memory.was_searched else "") + adapter.memory.protocol
    ),
}


def _hex(digits: str) -> int:
    return int(digits, 16)


_KEPT: dict[str, tuple[str, Callable[[str], object]]] = {
    r"SH([0-7][0-9A-F]{2})": ("header_11", _hex),
    r"CP([01][0-9A-F])": ("priority", _hex),
    r"FCSH([0-7][0-9A-F]{2}|[0-9A-F]{8})": ("flow_header", _hex),
    r"FCSD((?:[0-9A-F]{2}){1,5})": ("flow_data", bytes.fromhex),
    r"ST([0-9A-F]{2})": ("listen_counts", _hex),
    # Steps of 20 ms; 00 stops the messages (data sheet).
    r"SW([0-9A-F]{2})": ("wakes_every_s", lambda digits: _hex(digits) * 0.02),
    r"AT([012])": ("adaptive", int),
}
"""Commands that keep what they are given: in which attribute, read how."""


def _keeping(attribute: str, read: Callable[[str], object]) -> Handler:
    def keep(adapter: AdapterSide, match: re.Match[str]) -> None:
        setattr(adapter.memory, attribute, read(match[1]))

    return keep


for _pattern, _kept in _KEPT.items():
    _on(_pattern)(_keeping(*_kept))


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
def _switch(adapter: AdapterSide, match: re.Match[str]) -> None:
    setattr(adapter.memory, _SWITCHES[match[1]], match[2] == "1")


@_on(r"M[01]|AL|NL|BI|IB(10|12|15|48|96)|KW[01]|V[01]|CSM[01]|SS|FE|JE|JS|JTM[15]")
def _accept(_adapter: AdapterSide, _match: re.Match[str]) -> None:
    """Taken without any effect on the bench."""


@_on(r"D")
def _defaults(adapter: AdapterSide, _match: re.Match[str]) -> None:
    """Everything back to the defaults; the protocol in use stays."""
    fresh = Memory(linefeeds=adapter.settings.linefeeds)
    keep = {"protocol", "automatic", "connected", "last_line", "round_trip_s"}
    for item in fields(fresh):
        if item.name not in keep:
            setattr(adapter.memory, item.name, getattr(fresh, item.name))


@_on(r"(?:SP|TP)(A?)([0-9A-C])")
def _protocol(adapter: AdapterSide, match: re.Match[str]) -> None:
    adapter.memory.choose(match[2], automatic=bool(match[1]) or match[2] == "0")


@_on(r"(?:SP|TP)([1-9BC])A")
def _protocol_then_auto(adapter: AdapterSide, match: re.Match[str]) -> None:
    adapter.memory.choose(match[1], automatic=True)


@_on(r"SP00")
def _protocol_erase(adapter: AdapterSide, _match: re.Match[str]) -> None:
    adapter.memory.choose("0", automatic=True)


@_on(r"PC")
def _close(adapter: AdapterSide, _match: re.Match[str]) -> None:
    adapter.memory.connected = False


@_on(r"SH([0-9A-F]{6})")
def _header_three(adapter: AdapterSide, match: re.Match[str]) -> None:
    """Three bytes: for the older buses, for 29 bits, or 11 bits in the last ones."""
    value = int(match[1], 16)
    adapter.memory.headers_legacy = bytes.fromhex(match[1])
    adapter.memory.header_29 = value
    adapter.memory.header_11 = value & 0x7FF


@_on(r"SH([01][0-9A-F]{7})")
def _header_long(adapter: AdapterSide, match: re.Match[str]) -> bool:
    if "SH8" in adapter.settings.refuses:
        return False
    value = int(match[1], 16)
    adapter.memory.priority, adapter.memory.header_29 = value >> 24, value & 0xFFFFFF
    return True


@_on(r"CRA([0-9A-FX]{3}|[0-9A-FX]{8})?|AR")
def _receive(adapter: AdapterSide, match: re.Match[str]) -> None:
    """Set the receive id, an X standing for any digit; without one: the default."""
    text = match[1]
    memory = adapter.memory
    memory.pending_filter = None
    if text is None:
        memory.receive_id = memory.receive_mask = None
        return
    memory.receive_id = int(text.replace("X", "0"), 16)
    memory.receive_mask = int("".join("0" if c == "X" else "F" for c in text), 16)


@_on(r"CF([0-9A-F]{3}|[0-9A-F]{8})")
def _filter(adapter: AdapterSide, match: re.Match[str]) -> None:
    adapter.memory.pending_filter = int(match[1], 16)
    if adapter.memory.receive_mask is not None:
        adapter.memory.receive_id = adapter.memory.pending_filter


@_on(r"CM([0-9A-F]{3}|[0-9A-F]{8})")
def _mask(adapter: AdapterSide, match: re.Match[str]) -> None:
    adapter.memory.receive_mask = int(match[1], 16)
    adapter.memory.receive_id = adapter.memory.pending_filter or 0


@_on(r"FCSM([012])")
def _flow_mode(adapter: AdapterSide, match: re.Match[str]) -> bool:
    """Modes 1 and 2 need what they use to be set before (data sheet)."""
    mode, memory = int(match[1]), adapter.memory
    lacks_header = mode == 1 and memory.flow_header is None
    if lacks_header or (mode and memory.flow_data is None):
        return False
    memory.flow_mode = mode
    return True
