"""What can happen to a session; everything it knows came in as one of these."""

from __future__ import annotations

from dataclasses import dataclass

from bridge.core.model import Fault, LinkState, Reading, TroubleCodes, VehicleNumber


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkChange:
    """The link says how it stands."""

    state: LinkState
    t_s: float
    detail: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dropout:
    """A recorded trace has no temperature at this time."""

    t_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockJump:
    """The machine slept: everything known is older than it looks."""

    t_s: float
    gap_s: float


Event = (
    Reading | Fault | LinkChange | Dropout | ClockJump | TroubleCodes | VehicleNumber
)
