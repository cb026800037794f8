"""Where the service stands, as each JSON row has it."""

from __future__ import annotations

import time
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from bridge.service import sums
from bridge.service.against import against
from bridge.service.balance import Balance
from bridge.service.log import OneCircuit, applying, circuits_of, is_done, last
from bridge.service.missing import OTHER_GEARBOX, lacks_of
from bridge.service.papers.whose import particulars
from bridge.service.rounds import reopened, rounds_of
from bridge.values.service_events import ServiceKind

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from bridge.service.log import Log
    from bridge.snapshot import Snapshot
    from bridge.values.readings import TroubleCodes
    from bridge.values.service_sheet import Service, StepKind
    from bridge.values.sheet import Sheet


class ServiceRows:
    """Makes the service's part of each row, anew only when something has changed.

    Rows come many times a second and the service changes a few times an hour.
    """

    def __init__(self, sheet: Sheet, utc: Callable[[], float] = time.time) -> None:
        """``utc``: seconds since 1970; the next service counts from that day."""
        self._sheet, self._utc = sheet, utc
        self._seen: tuple[Log, TroubleCodes | None, date] | None = None
        self._row: dict[str, Any] | None = None

    def row(self, snapshot: Snapshot) -> dict[str, Any] | None:
        """Return the service as it stands; None: the snapshot has no log."""
        if snapshot.log is None:
            return None
        today = datetime.fromtimestamp(self._utc(), UTC).astimezone().date()
        seen = (snapshot.log, snapshot.codes, today)
        if seen != self._seen:
            self._row = service_as_dict(*seen, self._sheet)
            self._seen = seen
        return self._row


def service_as_dict(
    log: Log, codes: TroubleCodes | None, today: date, sheet: Sheet
) -> dict[str, Any]:
    """Return how the service stands by its log and the car's codes."""
    service = applying(sheet.service, log)
    still = [x.id for x in lacks_of(service, log) if x.id != OTHER_GEARBOX]
    found = [one.id for one in against(sheet, log, codes)]
    circuits = circuits_of(sheet, log)
    one = circuits[0] if len(circuits) == 1 else None
    return {
        "steps": {step.value: _state(sheet, log, step) for step in service.order},
        "open": still,
        "against": found,
        "complete": not still and not found,
        **_amounts(one),
        "circuits": {c.name: _amounts(c) for c in circuits if c.name},
        "next_due": _next_due(service, log, today),
        "papers": {what.value: text for what, text in particulars(log).items()},
    }


def _state(sheet: Sheet, log: Log, step: StepKind) -> str:
    if is_done(log, step) and step not in reopened(sheet, log):
        return "done"
    return "open" if last(log, ServiceKind.SKIPPED, step) is None else "skipped"


def _amounts(one: OneCircuit | None) -> dict[str, float | None]:
    """Return a circuit's sums at the sheet's own temperature; None: cannot be told.

    Of several circuits together there is none: they never mix.
    """
    keys = ("out_ml", "in_ml", "added_ml", "net_ml", "net_u_ml", "rounds", "old_share")
    amounts: dict[str, float | None] = dict.fromkeys(keys)
    if one is None:
        return amounts
    done = sums.balance_of(one.sheet, one.log)
    left = sums.old_share_of(one.sheet, one.log)
    amounts["rounds"] = len(rounds_of(one.log))
    amounts["old_share"] = None if left is None else round(left.share, 4)
    if not isinstance(done, Balance):
        return amounts
    poured, added = sums.poured_of(one.sheet, one.log)
    return amounts | {
        "out_ml": round(done.out.ml, 1),
        "in_ml": round(poured.ml, 1),
        "added_ml": round(added.ml, 1),
        "net_ml": round(done.net.ml, 1),
        "net_u_ml": round(done.net.expanded_ml, 1),
    }


def _next_due(service: Service, log: Log, today: date) -> dict[str, Any] | None:
    due = sums.due_of(service, log, today)
    if due is None or isinstance(due, str):
        return None
    km = due.odometer_km
    return {
        "on": None if due.on is None else due.on.isoformat(),
        "odometer_km": None if km is None else round(km, 1),
    }
