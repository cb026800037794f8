"""What may be asked of a car and of an adapter: reading, nothing else.

This is the one list. `Request` cannot be built for a service that is not on it,
and the port refuses to write any line that `is_allowed` does not know, so nothing
above can send what is not here.

Services: SAE J1979 / ISO 15031-5 (0x01, 0x03, 0x07, 0x09, 0x0A), ISO 14230-3
(0x21 readDataByLocalIdentifier), ISO 14229-1 (0x22 ReadDataByIdentifier).
"""

from __future__ import annotations

import re

from bridge.values.errors import ForbiddenRequest
from bridge.values.frozen import frozen

IDENTIFIER_BYTES: dict[int, int] = {
    0x01: 1,  # current data, by PID
    0x03: 0,  # stored trouble codes
    0x07: 0,  # pending trouble codes
    0x09: 1,  # vehicle information
    0x0A: 0,  # permanent trouble codes
    0x21: 1,  # data by local identifier
    0x22: 2,  # data by identifier
}
"""Every service that may be requested, and the bytes of its identifier."""

SIGNAL_SERVICES = (0x01, 0x21, 0x22)
"""The services a sheet's signal may name."""


@frozen
class Request:
    """One question to one control unit (or, with no ids, to the engine unit).

    Raises:
        ForbiddenRequest: the service is not a reading one, or the identifier does
            not fit into the service's identifier bytes.
    """

    service: int
    identifier: int = 0
    request_id: int | None = None
    reply_id: int | None = None

    def __post_init__(self) -> None:
        """Refuse at birth what may not be sent."""
        width = IDENTIFIER_BYTES.get(self.service)
        if width is None:
            raise ForbiddenRequest(
                f"service 0x{self.service:02X} is not a reading service; sumpgate only "
                f"reads: use one of {', '.join(f'0x{s:02X}' for s in IDENTIFIER_BYTES)}"
            )
        if not 0 <= self.identifier < 256**width or (width == 0 and self.identifier):
            raise ForbiddenRequest(
                f"identifier 0x{self.identifier:X} does not fit the {width} byte(s) "
                f"that service 0x{self.service:02X} has for it"
            )

    @property
    def payload(self) -> bytes:
        """The bytes of the question: service, then identifier."""
        width = IDENTIFIER_BYTES[self.service]
        return bytes([self.service]) + self.identifier.to_bytes(width, "big")

    @property
    def echo(self) -> bytes:
        """The bytes a positive answer must begin with (ISO 14229-1: service + 0x40)."""
        return bytes([self.service + 0x40]) + self.payload[1:]


@frozen
class GroupRequest:
    """One J1939 parameter group to listen for; nothing is sent onto the bus.

    Raises:
        ForbiddenRequest: the number is not one of a broadcast group.
    """

    pgn: int
    """Parameter group number, 0xF000..0xFFFF (broadcast groups, SAE J1939-21)."""
    source: int | None = None
    """Source address the group must come from; None: any."""

    def __post_init__(self) -> None:
        """Refuse at birth what is not a broadcast group."""
        if not 0xF000 <= self.pgn <= 0xFFFF:
            raise ForbiddenRequest(
                f"parameter group {self.pgn} is not a broadcast one; give one from "
                f"{0xF000} to {0xFFFF}"
            )


SESSION_LINES = ("1003", "3E00")
"""Extended diagnostic session and tester present (ISO 14229-1). They change what
the unit is willing to answer, and nothing in it: every writing, clearing and
actuating service is still missing from the list above. The port lets them pass only
if the sheet asks for such a session."""

ADAPTER_COMMANDS = re.compile(
    r"AT(?:"
    r"Z|WS|I|@1|DP|DPN|RV|IGN|PC|D"  # who are you, start again, what do you see
    r"|[ELSH][01]"  # echo, linefeeds, spaces, headers
    r"|M0|CAF1|CFC1|AR|AL|NL"
    r"|AT[012]|ST[0-9A-F]{2}"  # how long the adapter listens
    r"|T?SP[0-9A-C]|SPA[0-9A-C]"  # which protocol
    r"|SH(?:[0-9A-F]{3}|[0-9A-F]{6})|CP[0-9A-F]{2}"  # whom the question goes to
    r"|CRA(?:[0-9A-F]{3}|[0-9A-F]{8})?"  # whose answer is let through
    r"|MP[0-9A-F]{4}[1-9A-F]"  # listen for so many messages of a J1939 group
    r"|FCSH[0-9A-F]{3,8}|FCSD[0-9A-F]{2,10}|FCSM[012]"  # flow control of long answers
    r")"
)
"""Commands to the adapter itself. None of them reaches the car's control units
with anything but a flow-control frame, and none stores a setting for good."""

NONSENSE = "!"
"""Not a command: interrupts whatever the adapter is doing and brings a prompt.

Never a bare carriage return instead: that repeats the last request.
"""

_HEX = re.compile(r"(?:[0-9A-F]{2})+[0-9A-F]?")


def is_allowed(line: str) -> bool:
    """Return whether a line (without its carriage return) may be written."""
    if line == NONSENSE or ADAPTER_COMMANDS.fullmatch(line):
        return True
    return _is_reading_request(line)


def is_session_line(line: str) -> bool:
    """Return whether a line belongs to an extended session, without changing data."""
    return line in SESSION_LINES


def _is_reading_request(line: str) -> bool:
    if not _HEX.fullmatch(line):
        return False
    # An odd last digit is the adapter's count of expected frames, not data.
    payload = bytes.fromhex(line[: len(line) // 2 * 2])
    width = IDENTIFIER_BYTES.get(payload[0])
    return width is not None and len(payload) == 1 + width
