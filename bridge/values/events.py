"""What can happen to a session; everything it knows came in as one of these."""

from __future__ import annotations

from enum import StrEnum

from bridge.values.causes import Cause
from bridge.values.frozen import frozen
from bridge.values.readings import (
    Fault,
    LinkState,
    Reading,
    TroubleCodes,
    VehicleNumber,
)
from bridge.values.service_events import ServiceEvent
from bridge.values.sheet import Confirmation, Role


class Mark(StrEnum):
    """What the person tells."""

    CONFIRMED = "confirmed"
    """One of the plan's confirmations is met; says which."""
    WITHDRAWN = "withdrawn"
    """It is not met any more."""
    OPENED = "opened"
    DRIP = "drip"
    STREAMING = "streaming"
    """It is a stream still."""
    NOTHING_CAME = "nothing-came"
    """Nothing, or only what stood in the tube."""
    ADDED = "added"
    """So many mL were filled in."""
    CLOSED = "closed"
    AIR = "air"
    """How warm the outside air is; ``temp_c``."""
    NEXT = "next"
    """This phase of the level is done, on to the next."""
    STICK = "stick"
    """The stick was read; ``mm``, or ``band`` where the sheet has no table."""
    UNDO = "undo"
    """The last mark was a mistake."""
    RESTART = "restart"


class Band(StrEnum):
    """Where the fluid stands on a stick, against its marks."""

    BELOW = "below"
    INSIDE = "inside"
    ABOVE = "above"


@frozen
class LinkChange:
    """The link says how it stands."""

    state: LinkState
    t_s: float
    detail: str = ""
    """What was heard or is being done, in words; with a cause: only what was heard."""
    cause: Cause | None = None
    """Why something that is needed is not read; None: nothing is missing."""
    untold: tuple[Role, ...] = ()
    """What no control unit of this car tells, so that the person's word stands in."""


@frozen
class Dropout:
    """A recorded trace has no temperature at this time."""

    t_s: float


@frozen
class ClockJump:
    """The machine slept: everything known is older than it looks."""

    t_s: float
    gap_s: float


@frozen
class Marked:
    """The person tells something of the level step."""

    mark: Mark
    t_s: float = 0.0
    """Set by the monitor that takes it; so with all that a person tells."""
    ml: float | None = None
    """With ADDED: how much."""
    confirms: Confirmation | None = None
    """With CONFIRMED and WITHDRAWN: what."""
    mm: float | None = None
    """With STICK: from the stick's zero."""
    band: Band | None = None
    """With STICK: against its marks."""
    temp_c: float | None = None
    """With AIR; with ADDED, where it was told."""
    who: str = ""
    """With CONFIRMED, where it is confirmed by name: who does what."""


@frozen
class Tilted:
    """The person typed in how the car leans; nose up and right side up are above 0."""

    lengthways_deg: float
    across_deg: float
    t_s: float = 0.0


@frozen
class Measured:
    """The person typed in what a hand thermometer reads."""

    temp_c: float
    accuracy_c: float
    """Good to plus or minus so much."""
    t_s: float = 0.0


PersonEvent = Marked | Tilted | Measured | ServiceEvent
"""What a person does or tells."""
CarEvent = (
    Reading | Fault | LinkChange | Dropout | ClockJump | TroubleCodes | VehicleNumber
)
"""What the car, the link or the machine tells."""
Event = CarEvent | PersonEvent
