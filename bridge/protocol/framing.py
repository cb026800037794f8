"""The kinds of bus, and how each one's lines become messages."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

from bridge.protocol.frames import Message, read_frames
from bridge.protocol.legacy import read_legacy


class Framing(StrEnum):
    """What the messages on a bus look like."""

    CAN_11 = "CAN with 11-bit ids"
    CAN_29 = "CAN with 29-bit ids"
    J1850_PWM = "J1850 PWM"
    J1850_VPW = "J1850 VPW"
    ISO_9141 = "ISO 9141-2"
    KWP = "KWP (ISO 14230)"
    J1939 = "J1939"

    @property
    def is_can(self) -> bool:
        """Whether units are told apart by CAN ids and answers by ISO 15765-2."""
        return self in (Framing.CAN_11, Framing.CAN_29)


OF_PROTOCOL: dict[str, Framing] = {
    "1": Framing.J1850_PWM,
    "2": Framing.J1850_VPW,
    "3": Framing.ISO_9141,
    "4": Framing.KWP,
    "5": Framing.KWP,
    "6": Framing.CAN_11,
    "7": Framing.CAN_29,
    "8": Framing.CAN_11,
    "9": Framing.CAN_29,
    "A": Framing.J1939,
}
"""The framing behind each of the adapter's protocol digits (its data sheet)."""


def read_messages(lines: Sequence[str], framing: Framing) -> list[Message]:
    """Return the messages of cleaned lines.

    Raises:
        BadFrames: anything that is not exactly what the bus allows.
    """
    if framing.is_can or framing is Framing.J1939:
        return read_frames(lines, id_digits=3 if framing is Framing.CAN_11 else 8)
    return read_legacy(
        lines,
        kwp=framing is Framing.KWP,
        crc=framing in (Framing.J1850_PWM, Framing.J1850_VPW),
    )


def fits(unit_id: int, framing: Framing) -> bool:
    """Return whether an id, as a sheet writes it, can exist on a bus."""
    if framing is Framing.CAN_11:
        return 0xFF < unit_id <= 0x7FF
    if framing is Framing.CAN_29:
        return unit_id > 0x7FF
    return 0 < unit_id <= 0xFF
