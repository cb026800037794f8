"""The adapter commands that point a request at one unit, or at everybody.

CAN: ISO 15765-4. Before CAN: three header bytes, the tester being F1 (SAE J1850,
ISO 9141-2, ISO 14230-2); the physical ones of J1850 are from memory.
"""

from __future__ import annotations

from bridge.protocol.framing import Framing

EVERYBODY = -1
"""Stands for the functional address, which every emissions-related unit hears."""

_FUNCTIONAL: dict[Framing, tuple[str, ...]] = {
    Framing.CAN_11: ("ATSH7DF",),
    Framing.CAN_29: ("ATCP18", "ATSHDB33F1"),
    Framing.J1850_PWM: ("ATSH616AF1",),
    Framing.J1850_VPW: ("ATSH686AF1",),
    Framing.ISO_9141: ("ATSH686AF1",),
    Framing.KWP: ("ATSHC233F1",),
    Framing.J1939: (),
}
_PHYSICAL_FIRST: dict[Framing, int] = {
    Framing.J1850_PWM: 0xC4,
    Framing.J1850_VPW: 0x6C,
    Framing.ISO_9141: 0x68,
    Framing.KWP: 0x82,
}


def header_commands(target: int | None, framing: Framing) -> tuple[str, ...]:
    """Return the commands that address ``target`` (None: everybody)."""
    if target is None:
        return _FUNCTIONAL[framing]
    if framing is Framing.CAN_11:
        return (f"ATSH{target:03X}",)
    if framing is Framing.CAN_29:
        return (f"ATCP{target >> 24:02X}", f"ATSH{target & 0xFFFFFF:06X}")
    return (f"ATSH{_PHYSICAL_FIRST[framing]:02X}{target:02X}F1",)


def flow_commands(request_id: int | None) -> tuple[str, ...]:
    """Return the commands for flow control from ``request_id``; None: automatic.

    ISO 15765-2: 30 00 00 lets the unit send everything without pauses. The adapter
    does so by itself only for the usual ids.
    """
    if request_id is None:
        return ("ATFCSM0",)
    return (f"ATFCSH{request_id:03X}", "ATFCSD300000", "ATFCSM1")


def is_usual(reply_id: int) -> bool:
    """Return whether the adapter shows a reply of this id without being told to."""
    return 0x7E8 <= reply_id <= 0x7EF
