"""The rounds of a service: drained and filled, and how much old fluid they leave.

A round is not entered, it follows from the order of things: what comes out at a place
that was measured already, after something was filled in, begins the next one. Each
round has its own amounts; what the level step adds or lets run off is the last one's.

Each drain takes its share of all the fluid, and what is put in mixes fully with the
rest before the next: then the product of (1 - drained/total) over the rounds is left.
Where it does not mix (a converter that keeps its own) more old fluid is left.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from bridge.level.budget import COVERAGE
from bridge.service.amounts import Amount, MeasuredAmount
from bridge.service.before_after import RUNNING_RPM
from bridge.service.fastening import ticks_wanted
from bridge.service.log import (
    applying,
    circuits_of,
    is_done,
    log_in,
    standing,
    ticked,
)
from bridge.values.frozen import frozen
from bridge.values.service_events import ServiceKind
from bridge.values.service_sheet import StepKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bridge.service.log import Log
    from bridge.values.service_events import ServiceEvent
    from bridge.values.service_sheet import Drain, Fastener, Service
    from bridge.values.sheet import Sheet

_OUT, _IN = ServiceKind.OUT, ServiceKind.IN
_POURED = frozenset({_IN, ServiceKind.ADDED})
_MEASURED = frozenset({_OUT, *_POURED, ServiceKind.RAN_OFF})


@frozen
class Round:
    """What was measured between one drain and the next; in the order it was told."""

    events: tuple[ServiceEvent, ...] = ()

    @property
    def out(self) -> tuple[MeasuredAmount, ...]:
        """What came out at the drains."""
        return self.of(_OUT)

    @property
    def put_in(self) -> tuple[MeasuredAmount, ...]:
        """What was filled in, at the level step too."""
        return (*self.of(_IN), *self.of(ServiceKind.ADDED))

    @property
    def ran_off(self) -> tuple[MeasuredAmount, ...]:
        """What the level opening let out again."""
        return self.of(ServiceKind.RAN_OFF)

    @property
    def places(self) -> frozenset[str]:
        """The drains that were measured."""
        return frozenset(e.name for e in self.events if e.kind is _OUT)

    @property
    def filled(self) -> bool:
        """Whether anything was filled in."""
        return any(e.kind in _POURED for e in self.events)

    def of(self, kind: ServiceKind) -> tuple[MeasuredAmount, ...]:
        """Return the amounts of one kind, in the order they were told."""
        return tuple(
            MeasuredAmount(
                ml=e.ml,
                temp_c=e.temp_c,
                place=e.name or kind.value,
                weighed=e.kg is not None,
            )
            for e in self.events
            if e.kind is kind and e.ml is not None
        )


def rounds_of(log: Log) -> tuple[Round, ...]:
    """Return the rounds of a log, the first one first; one that is empty at least."""
    found: list[Round] = [Round()]
    for _, event in standing(log):
        if event.kind not in _MEASURED or event.ml is None:
            continue
        now = found[-1]
        if event.kind is _OUT and now.filled and event.name in now.places:
            found.append(now := Round())
        found[-1] = Round(events=(*now.events, event))
    return tuple(found)


def waits_for(log: Log, service: Service) -> StepKind | None:
    """Return which of draining and filling a circuit's rounds wait for, if any.

    A gearbox that is pumped out in portions is led portion by portion.
    """
    if any(d.portion_ml for d in service.drains):
        return None
    return _waits_for(rounds_of(log), service.rounds)


def _waits_for(rounds: Sequence[Round], wanted: int) -> StepKind | None:
    now = rounds[-1]
    if now.filled and now.places and len(rounds) < wanted:
        return StepKind.DRAIN
    return StepKind.FILL if len(rounds) > 1 and not now.filled else None


def refits(service: Service, log: Log, fastener: Fastener) -> int:
    """Return how often a fastener is to be put back by now: 1 where it closes no drain.

    What closes a drain is opened in each round that drains there, and is put back,
    with what must be new, before it is filled again.
    """
    many = {c.name: c.rounds for c in service.circuits}
    most = 1
    for drain in service.drains:
        if drain.fastener != fastener.name or drain.portion_ml:
            continue
        own, wanted = log, service.rounds
        if drain.circuit:
            own, wanted = log_in(service, log, drain.circuit), many[drain.circuit]
        rounds = rounds_of(own)
        begins = _waits_for(rounds, wanted) is StepKind.DRAIN
        most = max(most, sum(drain.name in r.places for r in rounds) + begins)
    return most


def tick_times(service: Service, log: Log, entry: ServiceEvent) -> int:
    """Return how often something told must stand by now, a tick as `refits` says."""
    for fastener in service.fasteners:
        if entry.kind is ServiceKind.TICKED and fastener.name == entry.name:
            return refits(service, log, fastener)
    return 1


def reopened(sheet: Sheet, log: Log) -> tuple[StepKind, ...]:
    """Return the steps that a further round opens again, in the order they are due."""
    due = {waits_for(one.log, one.sheet.service) for one in circuits_of(sheet, log)}
    if StepKind.DRAIN in due:
        due.add(StepKind.FILL)
    service = applying(sheet.service, log)
    for fastener in service.fasteners:
        times = refits(service, log, fastener)
        if times > 1 and not set(ticks_wanted(fastener)) <= ticked(
            log, fastener, times
        ):
            due.add(fastener.step)
    order = service.order or tuple(StepKind)
    return tuple(step for step in order if step in due)


def next_open(sheet: Sheet, log: Log, after: StepKind) -> StepKind | None:
    """Return the next step not done, round the end of the order; None: all done.

    A round that the sheet wants comes before whatever follows.
    """
    order = sheet.service.order
    again = [s for s in reopened(sheet, log) if s in order]
    if again and again[0] is not after:
        return again[0]
    start = order.index(after) + 1 if after in order else 0
    turned = (*order[start:], *order[:start])
    return next((s for s in turned if s in again or not is_done(log, s)), None)


def runs_dry(log: Log, service: Service, engine_rpm: float) -> bool:
    """Return whether this engine speed is one more run with the fluid out.

    Told once for each time the gearbox is drained.
    """
    if engine_rpm <= RUNNING_RPM or not is_empty_of_fluid(log, service):
        return False
    for _, event in reversed(standing(log)):
        if event.kind in (_OUT, ServiceKind.RAN_DRY):
            return event.kind is _OUT
    return False


def is_empty_of_fluid(log: Log, service: Service | None = None) -> bool:
    """Return whether something was drained and nothing filled in since.

    With the ``service``: a portion that the engine pumped out is no drain, two without
    a refill are.
    """
    now = rounds_of(log)[-1]
    drains = service.drains if service else ()
    portions = {d.name: 1.5 * d.portion_ml for d in drains if d.portion_ml}
    drained = any(
        math.fsum(m.ml for m in now.out if m.place == place) > portions.get(place, 0.0)
        for place in now.places
    )
    return drained and not now.filled


@frozen
class PumpOut:
    """How far a gearbox is pumped out in portions; all as read off the jugs."""

    portion_ml: float
    out_ml: float
    in_ml: float
    """Filled in since the first portion came out."""
    left_ml: float | None
    """Still to come out; None: the sheet does not say how much in all."""

    @property
    def owed_ml(self) -> float:
        """To fill in before the next portion; 0: nothing."""
        short = self.out_ml - self.in_ml
        return short if short > 0.1 * self.portion_ml else 0.0


def pump_out(log: Log, drain: Drain) -> PumpOut | None:
    """Return how a drain by portions stands; None: it is none."""
    if drain.portion_ml is None:
        return None
    rounds = [r for r in rounds_of(log) if drain.name in r.places]
    out_ml = math.fsum(m.ml for r in rounds for m in r.out if m.place == drain.name)
    in_ml = math.fsum(m.ml for r in rounds for m in r.put_in)
    left = None if drain.expected_ml is None else max(0.0, drain.expected_ml - out_ml)
    return PumpOut(
        portion_ml=drain.portion_ml, out_ml=out_ml, in_ml=in_ml, left_ml=left
    )


@frozen
class OldShare:
    """Share of old fluid left, 0..1, with its standard uncertainty."""

    share: float
    sd: float

    @property
    def low(self) -> float:
        """The lower end of the stated uncertainty; not below 0."""
        return max(0.0, self.share - COVERAGE * self.sd)

    @property
    def high(self) -> float:
        """The upper end of the stated uncertainty; not above 1."""
        return min(1.0, self.share + COVERAGE * self.sd)


def old_share(drained: Sequence[Amount], total: Amount) -> OldShare:
    """Return the share of old fluid left after draining these amounts, one a round.

    ``total``: all the fluid, at the same temperature as the amounts. The rounds are
    read off the same jug, so their doubts add up plainly (JCGM 100, 5.2.2, note 1);
    an amount's and the total's are independent (5.1.2). Raises ValueError where more
    was drained than there is.
    """
    kept = [1.0 - _part(amount, total) for amount in drained]
    share, sd = math.prod(kept), 0.0
    for place, amount in enumerate(drained):
        others = math.prod(k for n, k in enumerate(kept) if n != place)
        spread = math.hypot(amount.sd_ml, amount.ml / total.ml * total.sd_ml)
        sd += others * spread / total.ml
    return OldShare(share=share, sd=sd)


def _part(drained: Amount, total: Amount) -> float:
    """Return the drained share; a little over 1 by bad measuring counts as all."""
    if not total.ml > 0.0:
        raise ValueError("All the fluid must be more than 0 mL: see the sheet.")
    out_ml = drained.ml + drained.lost_ml  # what clung and dripped came out too
    over = out_ml - total.ml
    if drained.ml < 0.0 or over > COVERAGE * math.hypot(drained.sd_ml, total.sd_ml):
        raise ValueError(
            f"{drained.ml:.0f} mL came out of {total.ml:.0f} mL in all: that cannot "
            "be, measure again or see the sheet's fill."
        )
    return min(1.0, out_ml / total.ml)
