"""Messages of the buses before CAN: J1850, ISO 9141-2, KWP (ISO 14230-4).

Each message is three header bytes, up to seven data bytes (KWP: more) and a check
byte. Answers that CAN packs into one long message come as several short ones here.
"""

from __future__ import annotations

PWM, VPW, ISO9141, KWP_SLOW, KWP_FAST = "1", "2", "3", "4", "5"
LEGACY = frozenset({PWM, VPW, ISO9141, KWP_SLOW, KWP_FAST})
KWP = frozenset({KWP_SLOW, KWP_FAST})
TESTER = 0xF1
FUNCTIONAL = 0x33
K_LINE = frozenset({ISO9141, KWP_SLOW, KWP_FAST})
"""The buses that must be woken up and fall asleep again."""
WAKE_S = {ISO9141: 2.6, KWP_SLOW: 2.6, KWP_FAST: 0.35}
"""The address at 5 bits a second takes 2 s, then up to 0.6 s of key bytes and answers;
the fast start has 50 ms of pulse and one exchange (ISO 9141-2, ISO 14230-2)."""
ASLEEP_S = 5.0
"""P3max: without a message for so long the units end the communication."""
KEEP_ALIVE_S = 3.0
"""How often an adapter sends a message of its own meanwhile (its data sheet)."""

DEFAULT_HEADERS = {
    PWM: b"\x61\x6a\xf1",
    VPW: b"\x68\x6a\xf1",
    ISO9141: b"\x68\x6a\xf1",
    KWP_SLOW: b"\xc2\x33\xf1",
    KWP_FAST: b"\xc2\x33\xf1",
}


def address(can_id: int) -> int:
    """Return the one-byte address of the unit with this reply id.

    29-bit ids hold it; the units 7E8, 7E9... are 10, 18, 20, 28... (common
    practice, no source). A sheet for such a bus gives the address itself.
    """
    if can_id <= 0xFF:
        return can_id
    if can_id > 0x7FF:
        return can_id & 0xFF
    return 0x10 + 8 * (can_id & 0x07)


def targets(protocol: str, header: bytes, unit: int) -> bool:
    """Tell whether a request with this header is for a unit with this address."""
    if protocol in KWP:
        functional = header[0] & 0xC0 == 0xC0 and header[1] == FUNCTIONAL
        return functional or header[1] == unit
    return header[1] in (0x6A, unit)


def reply_header(protocol: str, unit: int, size: int) -> bytes:
    """Return the three header bytes of an answer with ``size`` data bytes."""
    if protocol in KWP:
        return bytes((0x80 | size & 0x3F, TESTER, unit))
    first = 0x41 if protocol == PWM else 0x48
    return bytes((first, 0x6B, unit))


def check_byte(protocol: str, message: bytes) -> int:
    """Return the check byte: CRC of SAE J1850, or the sum (ISO 9141-2, KWP)."""
    if protocol not in (PWM, VPW):
        return sum(message) & 0xFF
    crc = 0xFF
    for byte in message:
        crc ^= byte
        for _ in range(8):
            crc = (crc << 1 ^ 0x1D) & 0xFF if crc & 0x80 else crc << 1
    return crc ^ 0xFF


def messages(payload: bytes) -> tuple[bytes, ...]:
    """Return an answer in CAN form as the data fields of the older messages."""
    service = payload[0]
    if service in (0x43, 0x47, 0x4A):
        return _trouble_codes(service, payload[2:])
    if service == 0x49 and len(payload) > 7:
        return _information(payload)
    return (payload,)


def _trouble_codes(service: int, codes: bytes) -> tuple[bytes, ...]:
    """Three codes a message, the last one filled with zeros, no count."""
    return tuple(
        bytes((service,)) + codes[at : at + 6].ljust(6, b"\x00")
        for at in range(0, max(len(codes), 1), 6)
    )


def _information(payload: bytes) -> tuple[bytes, ...]:
    """Four bytes a message with an order byte, zeros in front (SAE J1979)."""
    text = payload[3:]
    text = text.rjust(-(-len(text) // 4) * 4, b"\x00")
    return tuple(
        payload[:2] + bytes((1 + at // 4,)) + text[at : at + 4]
        for at in range(0, len(text), 4)
    )
