"""The wire between the adapter and the control units: requests in, frames out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from simulators.adapter import isotp, legacy_bus

if TYPE_CHECKING:
    from collections.abc import Sequence

    from simulators.car.ecu import Reply, Unit

CAN_11, CAN_29 = frozenset("68"), frozenset("79A")
_FRAME_S = {"6": 250e-6, "7": 290e-6, "8": 500e-6, "9": 580e-6, "A": 580e-6}
_FLOW_WAIT_S = 0.0005  # the units' own time between flow control and next frame
_LEGACY_BYTE_S = 10 / 10_400  # ISO 9141-2 and KWP; J1850 is about as fast in effect


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """One frame on its way to the adapter."""

    t_s: float
    """When its last bit has passed."""
    ident: int
    """CAN id; before CAN the three header bytes as one number."""
    data: bytes
    check: bytes = b""
    """The check byte of the buses before CAN, which the adapter can show."""


def is_can(protocol: str) -> bool:
    """Tell whether the protocol digit is one of CAN."""
    return protocol not in legacy_bus.LEGACY


def ask_can(
    units: Sequence[Unit], ident: int, payload: bytes, now_s: float
) -> list[Reply]:
    """Return what the units answer to a request with this CAN id."""
    return [
        reply
        for unit in units
        if unit.hears(ident)
        for reply in unit.answer(ident, payload, now_s)
    ]


def ask_legacy(
    units: Sequence[Unit], protocol: str, header: bytes, payload: bytes, now_s: float
) -> list[Reply]:
    """Return what the units answer to a request with these header bytes."""
    replies: list[Reply] = []
    for unit in units:
        if legacy_bus.targets(protocol, header, legacy_bus.address(unit.reply_id)):
            functional = header[1] in (0x6A, legacy_bus.FUNCTIONAL)
            ident = 0x7DF if functional else unit.request_id
            replies += unit.answer(ident, payload, now_s)
    return replies


def can_frames(
    reply: Reply,
    protocol: str,
    filler: int | None,
    flow: isotp.FlowControl | None,
) -> list[Frame]:
    """Cut a reply into timed frames; without flow control only the first comes."""
    pieces = isotp.segment(reply.payload)
    frame_s = _FRAME_S.get(protocol, 250e-6)
    at_s = reply.t_s + frame_s
    frames = [_frame(at_s, reply.sender, pieces[0], filler)]
    if flow is None or flow.status != isotp.CLEAR_TO_SEND:
        return frames
    at_s += frame_s + _FLOW_WAIT_S
    for place, piece in enumerate(pieces[1:]):
        if place and flow.block_size and place % flow.block_size == 0:
            at_s += frame_s + _FLOW_WAIT_S
        at_s += max(frame_s, flow.gap_s if place else 0.0)
        frames.append(_frame(at_s, reply.sender, piece, filler))
    return frames


def _frame(t_s: float, ident: int, data: bytes, filler: int | None) -> Frame:
    return Frame(t_s=t_s, ident=ident, data=isotp.pad(data, filler))


def legacy_frames(reply: Reply, protocol: str) -> list[Frame]:
    """Cut a reply into the timed messages of the buses before CAN."""
    unit, at_s = legacy_bus.address(reply.sender), reply.t_s
    frames: list[Frame] = []
    for data in legacy_bus.messages(reply.payload):
        header = legacy_bus.reply_header(protocol, unit, len(data))
        check = bytes((legacy_bus.check_byte(protocol, header + data),))
        at_s += (len(data) + 4) * _LEGACY_BYTE_S
        ident = int.from_bytes(header, "big")
        frames.append(Frame(t_s=at_s, ident=ident, data=data, check=check))
    return frames
