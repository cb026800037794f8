"""What the service page is made of: lines to read, items to act on. Pure values."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from bridge.values.frozen import frozen

if TYPE_CHECKING:
    from datetime import date

    from bridge.service.log import Log
    from bridge.snapshot import Snapshot
    from bridge.units import Units
    from bridge.values.service_events import ServiceEvent
    from bridge.values.service_sheet import Service, StepKind
    from bridge.values.sheet import Sheet


class Asked(StrEnum):
    """What kind of answer an item asks for."""

    AMOUNT = "amount"
    """A volume, and the temperature it was measured at if that is known."""
    ODOMETER = "odometer"
    TEMPERATURE = "temperature"
    NOTE = "note"
    ANSWER = "answer"
    """What was found and done about something that speaks against the job."""
    NAME = "name"
    PAPER = "paper"
    """Something of the papers; the item's ``word`` says what."""


FIGURES = frozenset({Asked.AMOUNT, Asked.ODOMETER, Asked.TEMPERATURE})
"""What is answered by a figure: its first digit begins the answer."""


class ItemAction(StrEnum):
    """What an item does that is more than an entry in the log."""

    EXERCISE = "exercise"
    """Begin the paced selector exercise."""
    TO_LIVE = "to-live"
    """Go to the live screen."""
    TAKE_CAR = "take-car"
    """Keep what the car says of itself now."""
    ENGINE = "engine"
    """Start or stop the simulated car's engine."""
    CALENDAR = "calendar"
    """Write the calendar file of the next due date."""
    COMPLETE = "complete"
    """Close the service."""


@frozen
class Item:
    """One row of the page that a key acts on."""

    text: str
    done: bool = False
    toggles: ServiceEvent | None = None
    """The entry to add, or to take back if it stands; its time is not set."""
    asks: Asked | None = None
    entry: ServiceEvent | None = None
    """What the answer to ``asks`` goes into."""
    word: str = ""
    """Of Asked.PAPER: the typed line's word."""
    action: ItemAction | None = None
    needed: bool = False
    """Whether the step is not at its end before this is ticked or answered."""
    all_of: tuple[ServiceEvent, ...] = ()
    """Entries to add together, those that do not stand yet."""
    ask: str = ""
    """What to ask, where the kind of answer alone does not say it."""
    finishes: bool = False
    """Whether doing it ends the step: go on to the next one."""


@frozen
class PageLine:
    """One paragraph to read; it is wrapped to the page's width."""

    text: str
    look: str = ""


Row = Item | PageLine


@frozen
class PageView:
    """Everything the page is computed from."""

    sheet: Sheet
    service: Service
    """The sheet's service for the gearbox that was found."""
    log: Log
    step: StepKind
    units: Units
    today: date
    snapshot: Snapshot | None = None
    """What the monitor said last, only while it is live."""
    simulated: bool = False
    who: str = ""
