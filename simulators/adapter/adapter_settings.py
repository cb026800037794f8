"""How one simulated adapter is made, and what it remembers between commands."""

from __future__ import annotations

from dataclasses import dataclass, field

from simulators.adapter import legacy_bus

ST_UNIT_S = 0.004096
"""One count of AT ST in seconds (data sheet: 4 ms nominal)."""

PROTOCOL_NAMES = {
    "0": "AUTO",
    "1": "SAE J1850 PWM",
    "2": "SAE J1850 VPW",
    "3": "ISO 9141-2",
    "4": "ISO 14230-4 (KWP 5BAUD)",
    "5": "ISO 14230-4 (KWP FAST)",
    "6": "ISO 15765-4 (CAN 11/500)",
    "7": "ISO 15765-4 (CAN 29/500)",
    "8": "ISO 15765-4 (CAN 11/250)",
    "9": "ISO 15765-4 (CAN 29/250)",
    "A": "SAE J1939 (CAN 29/250)",
    "B": "USER1 (CAN 11/125)",
    "C": "USER2 (CAN 11/50)",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class AdapterSettings:
    """The make of an adapter; the defaults are a complete and quick one."""

    version: str = "ELM327 v2.1"
    device: str = "OBDII to RS232 Interpreter"
    baud: int = 115_200
    boot_s: float = 0.05
    """From AT Z to the banner."""
    search_s: float = 0.15
    """Looking for the protocol on the first request in automatic mode."""
    bus_init_s: float | None = None
    """Waking an ISO 9141-2 or KWP bus; None: as long as the standards let it take."""
    linefeeds: bool = True
    """The state of the linefeed pin at power-up."""
    adaptive: bool = True
    """False: AT AT1 and AT2 are accepted and change nothing."""
    count_digit: bool = True
    """Takes the digit of expected answers after a request."""
    keep_alive: bool = True
    """Sends a message of its own every few seconds, so that a K-line stays awake."""
    waits_for_pending: bool = True
    """Goes on listening, up to 5 s, after a negative response 78."""
    refuses: tuple[str, ...] = ()
    """Commands answered with '?', as beginnings after AT: ('CRA', 'ST')."""
    check_bytes: bool = True
    """Shows the check byte of the older buses with headers on."""


CLONE = AdapterSettings(
    version="ELM327 v1.5",
    count_digit=False,
    adaptive=False,
    refuses=("CRA", "AT2", "SH8", "FCSM2"),
)
"""A cheap copy: claims a version that never was and knows fewer commands."""


@dataclass(slots=True, kw_only=True)
class Memory:
    """What the adapter forgets when it is reset."""

    echo: bool = True
    linefeeds: bool = True
    spaces: bool = True
    headers: bool = False
    show_length: bool = False
    can_format: bool = True
    can_flow: bool = True
    responses: bool = True
    j1939_header: bool = True
    """False: the 29-bit id of a J1939 message is printed as four bytes."""
    protocol: str = "0"
    """Digit in force; '0' until an automatic search has found one."""
    automatic: bool = True
    connected: bool = False
    """Whether the bus has been found since the protocol was set."""
    wakes_every_s: float = legacy_bus.KEEP_ALIVE_S
    """AT SW: so often a message of its own keeps a K-line awake; 0: never."""
    last_bus_s: float = 0.0
    """When something last went over the bus."""
    header_11: int = 0x7DF
    header_29: int = 0xDB33F1
    """The lower 24 bits; ``priority`` holds the upper five."""
    priority: int = 0x18
    headers_legacy: bytes | None = None
    """None: the protocol's own."""
    receive_id: int | None = None
    """AT CRA; None: the protocol's own filter."""
    receive_mask: int | None = None
    flow_mode: int = 0
    flow_header: int | None = None
    flow_data: bytes | None = None
    listen_counts: int = 0x32
    adaptive: int = 1
    round_trip_s: float | None = None
    """What AT AT1 and AT2 have learnt; None: nothing yet."""
    last_line: str = ""
    pending_filter: int | None = field(default=None)
    """AT CF given before AT CM."""

    def choose(self, protocol: str, *, automatic: bool) -> None:
        """Set the protocol, as AT SP does; nothing is connected after it."""
        self.protocol, self.automatic = protocol, automatic
        self.connected, self.round_trip_s = False, None

    @property
    def was_searched(self) -> bool:
        """Whether the protocol in force was found by an automatic search."""
        return self.automatic and self.protocol != "0"

    @property
    def header_29_full(self) -> int:
        """The 29-bit id requests are sent with."""
        return self.priority << 24 | self.header_29

    @property
    def header_legacy(self) -> bytes:
        """The three header bytes of the buses before CAN."""
        default = legacy_bus.DEFAULT_HEADERS.get(self.protocol, b"\x68\x6a\xf1")
        return self.headers_legacy or default

    def accepts(self, ident: int) -> bool:
        """Tell whether a CAN frame with this id passes the receive filter."""
        if self.receive_id is not None:
            mask = 0x1FFFFFFF if self.receive_mask is None else self.receive_mask
            return ident & mask == self.receive_id & mask
        if ident <= 0x7FF:
            return ident & 0x7F8 == 0x7E8
        return ident & 0x1FFFFF00 == 0x18DAF100

    def listen_s(self, *, adaptive_works: bool) -> float:
        """Return how long to wait for another answer, in seconds."""
        most = (self.listen_counts or 0x32) * ST_UNIT_S
        if not self.adaptive or not adaptive_works or self.round_trip_s is None:
            return most
        # How real chips adapt is not published; this keeps the same idea: a margin
        # over what was seen, never more than AT ST.
        room, factor = (0.032, 2.0) if self.adaptive == 1 else (0.012, 1.25)
        return min(most, room + factor * self.round_trip_s)
