"""The typed words about the car itself: its odometer, its codes, when it is due."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING

from bridge.service.log import last, of
from bridge.service.sums import due_of
from bridge.units import QuantityError, said_odometer
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.service_sheet import StepKind
from tui.inputs.answers import Refused, short
from tui.words.service import line_words, page_words
from tui.words.service_words import due_words

if TYPE_CHECKING:
    from bridge.service.log import Log
    from bridge.units import Units
    from bridge.values.service_sheet import Service
    from tui.inputs.answers import LineState


def odometer(text: str, state: LineState) -> ServiceEvent | Refused:
    """Read `odometer 123456 km`: before, until fluid came out or went in."""
    try:
        km = said_odometer(text)
    except QuantityError as problem:
        return Refused(words=f"{problem}.")
    return ServiceEvent(kind=ServiceKind.ODOMETER, km=km, step=_before_or_after(state))


def codes(text: str, state: LineState) -> ServiceEvent | Refused:
    """Read `codes`: what the car says of itself now is kept, before or after."""
    if text or state.car is None:
        alone = line_words.ALONE.format("codes")
        return Refused(words=alone if text else line_words.NOTHING_LIVE)
    step = _before_or_after(state)
    return ServiceEvent(kind=ServiceKind.CAR, step=step, car=state.car)


def _before_or_after(state: LineState) -> StepKind:
    worked = of(state.log, ServiceKind.OUT) or of(state.log, ServiceKind.IN)
    return StepKind.AFTER if worked else StepKind.BEFORE


def reckoned_due(
    service: Service, log: Log, today: date, units: Units
) -> ServiceEvent | str | None:
    """Return when the sheet's interval says the next service is due, to be kept.

    A text says why that cannot be told; None: the sheet gives no interval.
    """
    found = due_of(service, log, today)
    if found is None or isinstance(found, str):
        return found
    return ServiceEvent(
        kind=ServiceKind.DUE,
        name=found.on.isoformat() if found.on else "",
        text=due_words(found, units),
        km=found.odometer_km,
    )


def next_due(text: str, state: LineState) -> ServiceEvent | Refused:
    """Read `next-due 2028-02-29, 181000 km`, or one of the two.

    Alone on its line it is what the sheet's interval comes to.
    """
    if not text.strip():
        found = reckoned_due(state.service, state.log, state.today, state.units)
        if isinstance(found, ServiceEvent):
            return found
        return Refused(words=found or page_words.NO_INTERVAL)
    on, km = "", None
    for part in re.split(r",\s+|;\s*|\s+or\s+", text.strip()):
        try:
            on = date.fromisoformat(part).isoformat()
        except ValueError:
            try:
                km = said_odometer(part)
            except QuantityError as problem:
                return Refused(words=line_words.SUCH_A_DATE.format(problem))
    read = last(state.log, ServiceKind.ODOMETER)
    if km is not None and read is not None and km <= (read.km or 0.0):
        return Refused(words=line_words.NOT_BEYOND.format(short(text)))
    words = line_words.DUE_TOLD
    return ServiceEvent(kind=ServiceKind.DUE, name=on, km=km, text=words)
