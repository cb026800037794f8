"""The balance of one service, from its sheet and its log."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.service.amounts import POURED, Amount, Measured, measured_together
from bridge.service.balance import balance, first_fill, judge, terms_of
from bridge.service.before_after import compare
from bridge.service.due import next_due
from bridge.service.log import is_done, last, of
from bridge.service.old_fluid import Seen, shortage
from bridge.service.renewal import old_share
from bridge.values.service_events import ServiceKind
from bridge.values.service_sheet import StepKind

if TYPE_CHECKING:
    from datetime import date

    from bridge.service.balance import Balance, FirstFill, Judged
    from bridge.service.before_after import Differences
    from bridge.service.due import Due
    from bridge.service.log import Log
    from bridge.service.renewal import OldShare
    from bridge.values.service_sheet import Service
    from bridge.values.sheet import Sheet


def _measured(log: Log, kind: ServiceKind) -> list[Measured]:
    return [
        Measured(ml=e.ml, temp_c=e.temp_c, place=e.name or kind.value)
        for e in of(log, kind)
        if e.ml is not None
    ]


def balance_of(sheet: Sheet, log: Log) -> Balance | str:
    """Return the balance at the service fill's temperature, or why there is none."""
    try:
        return balance(
            _measured(log, ServiceKind.OUT),
            [*_measured(log, ServiceKind.IN), *_measured(log, ServiceKind.ADDED)],
            _measured(log, ServiceKind.RAN_OFF),
            terms_of(sheet),
        )
    except ValueError as problem:
        return str(problem)


def poured_of(sheet: Sheet, log: Log) -> tuple[Amount, Amount]:
    """Return what went in by the fill and what was added at the level step.

    Both at the service fill's temperature. Raises ValueError as ``balance`` does.
    """
    terms = terms_of(sheet)
    put_in, added = (
        measured_together(_measured(log, kind), terms, POURED)
        for kind in (ServiceKind.IN, ServiceKind.ADDED)
    )
    return put_in, added


def first_fill_of(sheet: Sheet, service: Service, log: Log) -> FirstFill | str | None:
    """Return what to put in first; None if nothing was measured coming out."""
    done = balance_of(sheet, log)
    if isinstance(done, str):
        return done
    return first_fill(
        done.out,
        service,
        filter_changed=is_done(log, StepKind.FILTER),
        total_ml=sheet.fill_ml,
    )


def judged_of(sheet: Sheet, service: Service, log: Log) -> Judged | None:
    """Return how what stayed in stands against the sheet, if that can be said."""
    done = balance_of(sheet, log)
    if isinstance(done, str):
        return None
    return judge(done, service, sheet.fill_ml)


def old_share_of(sheet: Sheet, log: Log, drains: int = 1) -> OldShare | None:
    """Return how much old fluid stays after so many drains like this; None: unknown.

    ``drains`` is 1 or more; between them the gearbox is filled and driven.
    """
    done = balance_of(sheet, log)
    if isinstance(done, str) or sheet.fill_ml is None or done.out.ml <= 0:
        return None
    try:
        return old_share(done.out, Amount(ml=sheet.fill_ml), drains)
    except ValueError:
        return None


def due_of(service: Service, log: Log, today: date) -> Due | str | None:
    """Return when the service is due again, or why that cannot be told.

    None: the sheet gives no interval. The odometer is the newest one told.
    """
    if service.interval is None:
        return None
    odometer = last(log, ServiceKind.ODOMETER)
    try:
        return next_due(
            service.interval,
            today,
            odometer_km=odometer.km if odometer else None,
            severe=bool(of(log, ServiceKind.SEVERE)),
        )
    except ValueError as problem:
        return str(problem)


def shortage_of(sheet: Sheet, service: Service, log: Log) -> Seen | None:
    """Return whether surely less came out than the sheet says, and how much."""
    done = balance_of(sheet, log)
    return None if isinstance(done, str) else shortage(done.out, service)


def old_fluid_of(sheet: Sheet, service: Service, log: Log) -> tuple[Seen, ...]:
    """Return all that was seen of the old fluid, and what was measured of it."""
    names = {e.name for e in of(log, ServiceKind.OLD_FLUID)}
    seen = [item for item in Seen if item.value in names]
    short = shortage_of(sheet, service, log)
    return (*seen, short) if short is not None and seen else tuple(seen)


def differences_of(log: Log) -> Differences | None:
    """Return what differs in the car before and after; None: not both are kept."""
    before = last(log, ServiceKind.CAR, StepKind.BEFORE)
    after = last(log, ServiceKind.CAR, StepKind.AFTER)
    if before is None or after is None or before.car is None or after.car is None:
        return None
    first = last(log, ServiceKind.ODOMETER, StepKind.BEFORE)
    second = last(log, ServiceKind.ODOMETER, StepKind.AFTER)
    return compare(
        before.car,
        after.car,
        before_km=first.km if first else None,
        after_km=second.km if second else None,
    )
