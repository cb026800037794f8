"""The balance of one service, from its sheet and its log."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.core.amounts import Amount, Measured
from bridge.core.balance import balance, first_fill, judge, terms_of
from bridge.core.due import next_due
from bridge.core.renewal import old_share
from bridge.core.service import Deed, is_done, last, of
from bridge.core.service_sheet import StepKind

if TYPE_CHECKING:
    from datetime import date

    from bridge.core.balance import Balance, FirstFill, Judged
    from bridge.core.due import Due
    from bridge.core.renewal import OldShare
    from bridge.core.service import Log
    from bridge.core.service_sheet import Service
    from bridge.core.sheet import Sheet


def _measured(log: Log, deed: Deed) -> list[Measured]:
    return [
        Measured(ml=e.ml, temp_c=e.temp_c, place=e.name or deed.value)
        for e in of(log, deed)
        if e.ml is not None
    ]


def balance_of(sheet: Sheet, log: Log) -> Balance | str:
    """Return the balance at the service fill's temperature, or why there is none."""
    try:
        return balance(
            _measured(log, Deed.OUT),
            _measured(log, Deed.IN),
            _measured(log, Deed.RAN_OFF),
            terms_of(sheet),
        )
    except ValueError as problem:
        return str(problem)


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


def old_share_of(sheet: Sheet, log: Log) -> OldShare | None:
    """Return how much old fluid stays after this drain; None if not known."""
    done = balance_of(sheet, log)
    if isinstance(done, str) or sheet.fill_ml is None or done.out.ml <= 0:
        return None
    try:
        return old_share(done.out, Amount(ml=sheet.fill_ml))
    except ValueError:
        return None


def due_of(service: Service, log: Log, today: date) -> Due | str | None:
    """Return when the service is due again, or why that cannot be told.

    None: the sheet gives no interval. The odometer is the newest one told.
    """
    if service.interval is None:
        return None
    odometer = last(log, Deed.ODOMETER)
    try:
        return next_due(
            service.interval,
            today,
            odometer_km=odometer.km if odometer else None,
            severe=bool(of(log, Deed.SEVERE)),
        )
    except ValueError as problem:
        return str(problem)
