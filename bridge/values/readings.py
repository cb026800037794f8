"""What comes off the link: readings, faults, codes, and how the link stands."""

from __future__ import annotations

from enum import StrEnum

from bridge.values.frozen import frozen
from bridge.values.sheet import Role

STALE_POLLS = 3
"""A reading this many polls old is stale,"""
STALE_S = 2.0
"""but not before it is so many seconds old."""


class LinkState(StrEnum):
    """How the link stands. 'live' also means that answers arrive in time."""

    CONNECTING = "connecting"
    LIVE = "live"
    SILENT = "silent"
    LOST = "lost"


class FaultKind(StrEnum):
    """Why a request brought no value."""

    REFUSED = "refused"
    """A negative response (ISO 14229-1), named in the detail."""
    NO_DATA = "no-data"
    ADAPTER_SAID = "adapter-said"
    """The adapter sent a status text instead of an answer."""
    BAD_REPLY = "bad-reply"
    """An answer that is cut, foreign, stale or garbled; the detail says which."""
    NOT_AVAILABLE = "not-available"
    """The control unit answered with the raw value that means 'no reading'."""
    OUT_OF_RANGE = "out-of-range"
    """A value outside what the sheet says the sensor can give."""
    SILENT = "silent"
    LOST = "lost"


@frozen
class Reading:
    """One accepted value of the car, stamped when it was asked for."""

    role: Role
    value: float
    """In the unit of the role (UNIT_OF_ROLE)."""
    t_s: float
    raw: bytes = b""
    """The payload it was read from, echo included; empty in a replayed trace."""
    label: str = ""
    """The selector's position as the sheet names it; '' for plain numbers."""


@frozen
class Fault:
    """One request that brought no value, or a link that broke."""

    kind: FaultKind
    t_s: float
    detail: str
    role: Role | None = None
    """None: the fault concerns the link as a whole."""


@frozen
class TroubleCodes:
    """What the control units have stored against themselves, read at one time.

    A list is None where no unit told; empty where there is no code.
    """

    t_s: float
    stored: tuple[str, ...] | None
    pending: tuple[str, ...] | None
    permanent: tuple[str, ...] | None
    mil: bool | None
    """Whether any unit has the warning lamp on; None: no unit told."""


class CheckDigit(StrEnum):
    """Whether a vehicle's identification number agrees with itself."""

    RIGHT = "right"
    WRONG = "wrong"
    NOT_CHECKED = "not checked"


@frozen
class VehicleNumber:
    """The vehicle's identification number as the engine unit gives it."""

    t_s: float
    text: str
    check_digit: CheckDigit
