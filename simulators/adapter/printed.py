"""Frames as the lines an adapter prints."""

from __future__ import annotations

from typing import TYPE_CHECKING

from simulators.adapter import isotp
from simulators.adapter.bus import CAN_11, is_can

if TYPE_CHECKING:
    from simulators.adapter.adapter_settings import AdapterSettings, Memory
    from simulators.adapter.bus import Frame


def lines(frame: Frame, memory: Memory, settings: AdapterSettings) -> list[str]:
    """Return the lines for one frame; none if the formatting drops it."""
    if memory.headers:
        return [_with_header(frame, memory, settings)]
    if not is_can(memory.protocol) or not memory.can_format:
        return [spelled(frame.data, memory)]
    return _formatted(frame.data, memory)


def spelled(data: bytes, memory: Memory) -> str:
    """Return pairs of digits, each followed by a blank unless blanks are off."""
    gap = " " if memory.spaces else ""
    return "".join(f"{byte:02X}{gap}" for byte in data)


def _with_header(frame: Frame, memory: Memory, settings: AdapterSettings) -> str:
    """The frame as it was on the wire: id, length if asked for, data, check."""
    gap = " " if memory.spaces else ""
    if not is_can(memory.protocol):
        head = spelled(frame.ident.to_bytes(3, "big"), memory)
        check = frame.check if settings.check_bytes else b""
        return head + spelled(frame.data + check, memory)
    if memory.protocol in CAN_11 or frame.ident <= 0x7FF:
        head = f"{frame.ident:03X}{gap}"
    else:
        head = spelled(frame.ident.to_bytes(4, "big"), memory)
    length = f"{len(frame.data):X}{gap}" if memory.show_length else ""
    return head + length + spelled(frame.data, memory)


def _formatted(data: bytes, memory: Memory) -> list[str]:
    """Without headers: bare data, or a length and numbered lines (data sheet)."""
    kind = data[0] >> 4 if data else -1
    if kind == isotp.SINGLE:
        size = data[0] & 0xF
        return [spelled(data[1 : 1 + size], memory)] if 0 < size < len(data) else []
    gap = " " if memory.spaces else ""
    if kind == isotp.FIRST and len(data) == 8:
        length = (data[0] & 0xF) << 8 | data[1]
        return [f"{length:03X}", f"0:{gap}{spelled(data[2:], memory)}"]
    if kind == isotp.CONSECUTIVE:
        return [f"{data[0] & 0xF:X}:{gap}{spelled(data[1:], memory)}"]
    return []
