"""The service as it goes: what the person did, in order, and what follows from it.

A Log is a tuple of entries, never changed, only added to; an entry is taken back by
a later one. Everything shown is computed from sheet and log, so a job file's entries
bring the whole service back. Nothing here blocks the person: only the gate does.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

from bridge.values.frozen import frozen
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.service_sheet import StepKind, Tick

if TYPE_CHECKING:
    from collections.abc import Iterable

    from bridge.values.service_sheet import (
        Drain,
        Fastener,
        Part,
        Service,
        Variant,
    )
    from bridge.values.sheet import Sheet


Log = tuple[ServiceEvent, ...]


def standing(log: Log) -> tuple[tuple[int, ServiceEvent], ...]:
    """Return the entries that count, each with its number in the log, from 0."""
    gone = {e.back for e in log if e.kind is ServiceKind.TAKEN_BACK}
    return tuple(
        (n, e)
        for n, e in enumerate(log)
        if e.kind is not ServiceKind.TAKEN_BACK and n not in gone
    )


def of(log: Log, kind: ServiceKind) -> tuple[ServiceEvent, ...]:
    """Return the entries of one kind that count."""
    return tuple(e for _, e in standing(log) if e.kind is kind)


def last(
    log: Log, kind: ServiceKind, step: StepKind | None = None
) -> ServiceEvent | None:
    """Return the newest entry of one kind that counts (of one step, if given)."""
    found = [e for e in of(log, kind) if step is None or e.step is step]
    return found[-1] if found else None


def odometer_at(log: Log, step: StepKind) -> ServiceEvent | None:
    """Return what the odometer showed before or after.

    The first one told without a step, as a flag tells it, is that before.
    """
    event = last(log, ServiceKind.ODOMETER, step)
    if event is not None or step is not StepKind.BEFORE:
        return event
    return next((e for e in of(log, ServiceKind.ODOMETER) if e.step is None), None)


def number_of(log: Log, entry: ServiceEvent, times: int = 1) -> int | None:
    """Return the number of the newest such entry, if so many of them count; or None."""
    wanted = _what(entry)
    found = [n for n, e in standing(log) if _what(e) == wanted]
    return found[-1] if len(found) >= times else None


def _what(entry: ServiceEvent) -> tuple[object, ...]:
    return entry.kind, entry.name, entry.tick, entry.step, entry.count


def toggling(log: Log, entry: ServiceEvent, times: int = 1) -> ServiceEvent:
    """Return the entry, or what takes it back if it stands already so many times.

    Another variant is no toggle: the newest counts.
    """
    there = number_of(log, entry, times)
    if there is None or entry.kind is ServiceKind.VARIANT:
        return entry
    return ServiceEvent(kind=ServiceKind.TAKEN_BACK, back=there, who=entry.who)


def undoing(log: Log, *, who: str = "") -> ServiceEvent | None:
    """Return what takes the newest entry that counts back; None: there is none.

    What the car was seen to do is no entry of the person's and stays.
    """
    left = [(n, e) for n, e in standing(log) if e.kind is not ServiceKind.RAN_DRY]
    if not left:
        return None
    return ServiceEvent(kind=ServiceKind.TAKEN_BACK, back=left[-1][0], who=who)


# What the sheet has for this very gearbox


def variant_of(service: Service, log: Log) -> Variant | None:
    """Return the gearbox the person found, or None if it was not told yet."""
    event = last(log, ServiceKind.VARIANT)
    return next((v for v in service.variants if event and v.name == event.name), None)


def applying(service: Service, log: Log) -> Service:
    """Return the service with what is for other variants left out.

    Until the person has told which it is, everything stays in.
    """
    found = variant_of(service, log)
    if found is None:
        return service
    return replace(
        service,
        parts=_for(service.parts, found.name),
        fasteners=_for(service.fasteners, found.name),
        drains=_for(service.drains, found.name),
    )


_Item = TypeVar("_Item", "Part", "Fastener", "Drain")


def _for(items: Iterable[_Item], variant: str) -> tuple[_Item, ...]:
    return tuple(i for i in items if not i.only_for or variant in i.only_for)


def ticked(log: Log, fastener: Fastener, times: int = 1) -> frozenset[Tick]:
    """Return what is ticked off at a fastener, so many times (`rounds.refits`).

    A set of bolts with an order is tightened once each turn of it is ticked, or once
    somebody gave their word for all of them.
    """
    events = [e for e in of(log, ServiceKind.TICKED) if e.name == fastener.name]
    whole = Counter(e.tick for e in events if e.tick is not None and e.count is None)
    done = {tick for tick, many in whole.items() if many >= times}
    if fastener.turns and len(turns_ticked(log, fastener, times)) == fastener.turns:
        done.add(Tick.TIGHTENED)
    return frozenset(done)


def turns_ticked(log: Log, fastener: Fastener, times: int = 1) -> frozenset[int]:
    """Return which turns of a set of bolts' order are ticked so often, from 1.

    Somebody's word for all of them counts for each, once.
    """
    events = [e for e in of(log, ServiceKind.TICKED) if e.name == fastener.name]
    whole = sum(e.tick is Tick.TIGHTENED and e.count is None for e in events)
    many = Counter(e.count for e in events if e.count)
    turns = range(1, fastener.turns + 1)
    return frozenset(n for n in turns if many[n] and many[n] + whole >= times)


def is_done(log: Log, step: StepKind) -> bool:
    """Return whether a step counts as done."""
    return any(e.step is step for e in of(log, ServiceKind.DONE))


def is_begun(log: Log) -> bool:
    """Return whether a service was worked at, not only the car and a note told."""
    alone = (ServiceKind.NOTE, ServiceKind.ODOMETER, ServiceKind.PARTICULAR)
    return any(e.step is not None or e.kind not in alone for e in log)


def is_closed(log: Log) -> bool:
    """Return whether the service was closed; complete or not is `against`'s to say."""
    return bool(of(log, ServiceKind.COMPLETE))


# Several circuits in one housing: each its own sheet and its own log, so that nothing
# mixes. A sheet without circuits is one circuit without a name.

NAMES_CIRCUIT = (
    ServiceKind.IN,
    ServiceKind.ADDED,
    ServiceKind.RAN_OFF,
    ServiceKind.NEW_FLUID,
)
"""What is told of one circuit by its name; what comes out is so by its drain."""
_NOT_HERE = ServiceEvent(kind=ServiceKind.NOTE)


@frozen
class OneCircuit:
    """One circuit's sheet, and what of the log is its own."""

    name: str
    """'': the sheet has no circuits."""
    sheet: Sheet
    log: Log
    """Of the same length as the whole, so that its numbers stand."""


def circuits_of(sheet: Sheet, log: Log) -> tuple[OneCircuit, ...]:
    """Return each circuit of a sheet with its part of a log."""
    circuits = sheet.service.circuits
    if not circuits:
        return (OneCircuit(name="", sheet=sheet, log=log),)
    return tuple(
        OneCircuit(
            name=one.name,
            sheet=_alone(sheet.of_circuit(one.name), one.name),
            log=log_in(sheet.service, log, one.name),
        )
        for one in circuits
    )


def _alone(sheet: Sheet, circuit: str) -> Sheet:
    drains = tuple(d for d in sheet.service.drains if d.circuit == circuit)
    service = replace(sheet.service, circuits=(), drains=drains)
    return replace(sheet, service=service)


def log_in(service: Service, log: Log, circuit: str) -> Log:
    """Return a log with what belongs to other circuits taken out, number by number."""
    drains = {d.name for d in service.drains if d.circuit == circuit}
    return tuple(e if _belongs(e, circuit, drains) else _NOT_HERE for e in log)


def _belongs(event: ServiceEvent, circuit: str, drains: Iterable[str]) -> bool:
    if event.kind is ServiceKind.OUT:
        return event.name in drains
    return event.kind not in NAMES_CIRCUIT or event.name == circuit


def beside(id_: str, circuit: str) -> str:
    """Return what a finding is called in one circuit."""
    return f"{id_}:{circuit}" if circuit else id_


def said_of(text: str, circuit: str) -> str:
    """Return a sentence with the circuit it is about before it."""
    return f"{circuit}: {text}" if circuit else text
