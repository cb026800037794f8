"""The kinds of bus, and how each one's lines become messages."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from enum import StrEnum

from bridge.protocol.frames import BadFrames, Message, filling_units, read_frames
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


def read_messages(
    lines: Sequence[str], framing: Framing, *, filling: Collection[int] = ()
) -> list[Message]:
    """Return the messages of cleaned lines.

    ``filling``: reply ids of units known to fill their CAN frames up to eight bytes.

    Raises:
        BadFrames: anything that is not exactly what the bus allows.
    """
    if framing.is_can or framing is Framing.J1939:
        return read_frames(lines, id_digits=_id_digits(framing), filling=filling)
    return read_legacy(
        lines,
        kwp=framing is Framing.KWP,
        crc=framing in (Framing.J1850_PWM, Framing.J1850_VPW),
    )


def guess_protocol(lines: Sequence[str], wanted: str) -> str:
    """Return the protocol digit in force, if an adapter will not say.

    ``wanted``: the digit that was chosen, or 'auto': then cleaned lines tell CAN by its
    usual reply ids (ISO 15765-4), the older buses by check byte and header. '' if they
    are no whole messages of any.
    """
    if wanted != "auto":
        return wanted
    for digit, heads in _TOLD_APART.items():
        try:
            messages = read_messages(lines, OF_PROTOCOL[digit])
        except BadFrames:
            continue
        if messages and all(line.startswith(heads) for line in lines):
            return digit
    return ""


_TOLD_APART: dict[str, tuple[str, ...]] = {
    "6": tuple(f"7E{digit:X}" for digit in range(8, 16)),
    "7": ("18DAF1",),
    "5": ("8", "C", "0"),
    "3": ("48",),
    "2": ("48",),
    "1": ("41", "61", "C4"),
}
"""How lines of each kind of bus begin; check bytes tell the older ones apart."""


def who_fills(lines: Sequence[str], framing: Framing) -> frozenset[int]:
    """Return the units seen to fill their frames; before CAN there is no such thing."""
    if not framing.is_can:
        return frozenset()
    return filling_units(lines, id_digits=_id_digits(framing))


def _id_digits(framing: Framing) -> int:
    return 3 if framing is Framing.CAN_11 else 8


def fits(unit_id: int, framing: Framing) -> bool:
    """Return whether an id, as a sheet writes it, can exist on a bus."""
    if framing is Framing.CAN_11:
        return 0xFF < unit_id <= 0x7FF
    if framing is Framing.CAN_29:
        return unit_id > 0x7FF
    return 0 < unit_id <= 0xFF
