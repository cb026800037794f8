"""The balance of one service, from its sheet and its log."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from bridge.level.budget import BudgetPart, Source, summed
from bridge.service.amounts import POURED, Amount, measured_together, together
from bridge.service.balance import (
    BalanceVerdict,
    Judged,
    balance,
    first_fill,
    judge,
    pour_of,
    terms_of,
    verdict_of,
)
from bridge.service.before_after import compare
from bridge.service.due import next_due
from bridge.service.log import applying, circuits_of, is_done, last, odometer_at, of
from bridge.service.old_fluid import FluidFinding, shortage
from bridge.service.rounds import old_share, rounds_of
from bridge.values.service_events import ServiceKind
from bridge.values.service_sheet import StepKind

if TYPE_CHECKING:
    from datetime import date

    from bridge.level.budget import Budget
    from bridge.service.balance import Balance, FirstFill, Pour
    from bridge.service.before_after import Differences
    from bridge.service.due import Due
    from bridge.service.log import Log
    from bridge.service.rounds import OldShare
    from bridge.values.service_sheet import Service
    from bridge.values.sheet import Sheet

MOST_ROUNDS = 20
"""Nobody drains and refills more often than this."""


def balances_of(sheet: Sheet, log: Log) -> tuple[Balance, ...] | str:
    """Return each round's balance, or why there is none.

    At the temperature of the sheet's service fill.
    """
    terms = terms_of(sheet)
    try:
        return tuple(balance(r.out, r.put_in, r.ran_off, terms) for r in rounds_of(log))
    except ValueError as problem:
        return str(problem)


def balance_of(sheet: Sheet, log: Log) -> Balance | str:
    """Return the balance of all rounds together, or why there is none."""
    rounds = rounds_of(log)
    try:
        return balance(
            [m for r in rounds for m in r.out],
            [m for r in rounds for m in r.put_in],
            [m for r in rounds for m in r.ran_off],
            terms_of(sheet),
        )
    except ValueError as problem:
        return str(problem)


def poured_of(sheet: Sheet, log: Log) -> tuple[Amount, Amount]:
    """Return what went in by the fill and what was added at the level step.

    Both at the service fill's temperature. Raises ValueError as ``balance`` does.
    """
    terms, rounds = terms_of(sheet), rounds_of(log)
    put_in, added = (
        measured_together([m for r in rounds for m in r.of(kind)], terms, POURED)
        for kind in (ServiceKind.IN, ServiceKind.ADDED)
    )
    return put_in, added


def first_fill_of(sheet: Sheet, service: Service, log: Log) -> FirstFill | str | None:
    """Return what to put in first in this round; None if nothing came out in it.

    A new filter takes its share up in the first round alone.
    """
    done = balances_of(sheet, log)
    if isinstance(done, str):
        return done
    return first_fill(
        done[-1].out,
        service,
        filter_changed=len(done) == 1 and is_done(log, StepKind.FILTER),
        total_ml=sheet.fill_ml,
        short=len(done) == 1 and shortage_of(sheet, service, log) is not None,
    )


def pour_wanted_of(sheet: Sheet, service: Service, log: Log) -> Pour | None:
    """Return the first fill at the new fluid's own temperature; None: not told."""
    first = first_fill_of(sheet, service, log)
    event = last(log, ServiceKind.NEW_FLUID)
    if first is None or isinstance(first, str) or event is None or event.temp_c is None:
        return None
    try:
        return pour_of(first, event.temp_c, terms_of(sheet))
    except ValueError:
        return None


def judged_of(sheet: Sheet, service: Service, log: Log) -> Judged | None:
    """Return how what stayed in stands against the sheet, if that can be said.

    What a later round drains is taken off what stayed in; portions pumped out are
    one exchange.
    """
    whole, rounds = balance_of(sheet, log), balances_of(sheet, log)
    if isinstance(whole, str) or isinstance(rounds, str):
        return None
    later = () if any(d.portion_ml for d in service.drains) else rounds[1:]
    again = together([done.out for done in later])
    return judge(whole, service, sheet.fill_ml, drained_again=again)


def earlier_rounds_of(sheet: Sheet, log: Log) -> tuple[BalanceVerdict, ...]:
    """Return how what went in stands against what came out, each round but the last.

    A new filter takes its share up in the first. The sheet's tolerance is allowed.
    """
    done, service = balances_of(sheet, log), applying(sheet.service, log)
    if isinstance(done, str):
        return ()
    holds = service.filter_holds_ml if is_done(log, StepKind.FILTER) else None
    due_ml = (holds or 0.0, *[0.0] * len(done))
    return tuple(
        verdict_of(
            one.net.ml - due,
            one.net.expanded_ml,
            service.service_fill_tolerance_ml or 0.0,
        )
        for one, due in zip(done[:-1], due_ml, strict=False)
    )


def refill_of(sheet: Sheet, log: Log) -> Judged | None:
    """Return how what went in stands against what came out; None: nothing to judge.

    For a level that is set by measuring alone. What a new filter takes up is due once,
    where the filter was changed. Where the sheet gives no tolerance, none is allowed
    and WITHIN cannot be proved.
    """
    done = balance_of(sheet, log)
    if isinstance(done, str) or not done.pours or done.out.ml <= 0.0:
        return None
    service = applying(sheet.service, log)
    changed = is_done(log, StepKind.FILTER)
    due_ml = (service.filter_holds_ml or 0.0) if changed else 0.0
    tolerance = service.service_fill_tolerance_ml
    by_ml, doubt = done.net.ml - due_ml, done.net.expanded_ml
    return Judged(
        verdict=verdict_of(by_ml, doubt, tolerance),
        by_ml=by_ml,
        expanded_ml=doubt,
        tolerance_ml=tolerance,
        over_total_ml=None,
    )


def refill_budget(sheet: Sheet, log: Log) -> Budget | None:
    """Return what a level set by measuring alone is worth, by source; None: nothing."""
    judged, done = refill_of(sheet, log), balance_of(sheet, log)
    if judged is None or isinstance(done, str):
        return None
    net = done.net
    jug_ml = math.hypot(net.reading_sd_ml, net.left_sd_ml, net.scale_sd_ml)
    parts = (
        BudgetPart(source=Source.JUG, off_ml=judged.by_ml, sd_ml=jug_ml),
        BudgetPart(source=Source.TEMPERATURE, off_ml=0.0, sd_ml=net.temp_sd_ml),
        BudgetPart(source=Source.DENSITY, off_ml=0.0, sd_ml=net.density_sd_ml),
    )
    return summed(parts, sheet.sump_area_cm2)


def old_share_of(sheet: Sheet, log: Log, more: int = 0) -> OldShare | None:
    """Return how much old fluid stays after the rounds so far; None: unknown.

    ``more``: so many more rounds like the last one; between them the gearbox is
    filled and driven.
    """
    done = balances_of(sheet, log)
    if isinstance(done, str) or sheet.fill_ml is None or done[-1].out.ml <= 0:
        return None
    drained = [d.out for d in done] + [done[-1].out] * more
    try:
        return old_share(drained, Amount(ml=sheet.fill_ml))
    except ValueError:
        return None


def rounds_wanted_of(sheet: Sheet, log: Log, share: float) -> int | None:
    """Return how many rounds in all bring the old fluid to a share; None: unknown.

    Those that were done count as they were measured, the others as the last one.
    """
    done = len(rounds_of(log))
    for more in range(MOST_ROUNDS - done + 1):
        left = old_share_of(sheet, log, more)
        if left is None:
            return None
        if left.share <= share:
            return done + more
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


def shortage_of(sheet: Sheet, service: Service, log: Log) -> FluidFinding | None:
    """Return whether surely less came out than the sheet says, and how much.

    Told of the first round, once every drain was measured.
    """
    done, first = balances_of(sheet, log), rounds_of(log)[0]
    all_out = all(d.name in first.places for d in service.drains)
    pumped = any(d.portion_ml for d in service.drains)  # a portion is no drain
    if isinstance(done, str) or not all_out or pumped:
        return None
    return shortage(done[0].out, service)


def old_fluid_of(sheet: Sheet, service: Service, log: Log) -> tuple[FluidFinding, ...]:
    """Return all that was seen of the old fluid, and what was measured of it."""
    names = {e.name for e in of(log, ServiceKind.OLD_FLUID)}
    seen = tuple(item for item in FluidFinding if item.value in names)
    found = (
        shortage_of(c.sheet, applying(c.sheet.service, log), c.log)
        for c in circuits_of(replace(sheet, service=service), log)
    )
    return (*seen, *dict.fromkeys(short for short in found if short is not None))


def differences_of(log: Log) -> Differences | None:
    """Return what differs in the car before and after; None: not both are kept."""
    before = last(log, ServiceKind.CAR, StepKind.BEFORE)
    after = last(log, ServiceKind.CAR, StepKind.AFTER)
    if before is None or after is None or before.car is None or after.car is None:
        return None
    first = odometer_at(log, StepKind.BEFORE)
    second = odometer_at(log, StepKind.AFTER)
    return compare(
        before.car,
        after.car,
        before_km=first.km if first else None,
        after_km=second.km if second else None,
    )
