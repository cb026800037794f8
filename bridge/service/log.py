"""The service as it goes: what the person did, in order, and what follows from it.

A Log is a tuple of entries, never changed, only added to; an entry is taken back by
a later one. Everything shown is computed from sheet and log, so a job file's entries
bring the whole service back. Nothing here blocks the person: only the gate does.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, TypeVar

from bridge.values.service_sheet import StepKind, Tick

if TYPE_CHECKING:
    from collections.abc import Iterable

    from bridge.values.service_sheet import Drain, Fastener, Part, Service, Variant


class Deed(StrEnum):
    """What an entry of the log says."""

    DONE = "done"
    """A step is done; ``step``."""
    NOTE = "note"
    """``text``, on a step."""
    VARIANT = "variant"
    """Which gearbox it is; ``name``."""
    AT_HAND = "at-hand"
    """A part, tool or fluid lies ready; ``name``."""
    TICKED = "ticked"
    """One thing at one fastener; ``name``, ``tick``."""
    OUT = "out"
    """An amount let out at a drain; ``name``, ``ml``, ``temp_c``."""
    IN = "in"
    """An amount filled in; ``ml``, ``temp_c``."""
    RAN_OFF = "ran-off"
    """What the level step let out again; ``ml``, ``temp_c``."""
    EXERCISED = "exercised"
    """The selector was worked to the end; ``text`` says how long in each position."""
    OLD_FLUID = "old-fluid"
    """Something seen in the old fluid; ``name``."""
    ODOMETER = "odometer"
    """``km``, before or after by ``step``."""
    CAR = "car"
    """What the car said of itself, before or after by ``step``; ``car``."""
    SEVERE = "severe"
    """The car is used hard, so the interval is shorter."""
    LEVEL = "level"
    """How the level was judged; ``text``."""
    DUE = "due"
    """The date and distance the person was told; ``text``, ``km``."""
    COMPLETE = "complete"
    """The service is closed; ``text`` lists what was left open."""
    TAKEN_BACK = "taken-back"
    """Entry number ``back`` does not count any more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Car:
    """What the car said of itself at one moment."""

    stored: tuple[str, ...] | None = None
    """Trouble codes, of each kind; None: not read."""
    pending: tuple[str, ...] | None = None
    permanent: tuple[str, ...] | None = None
    lamp: bool | None = None
    """The warning lamp; None: not known."""
    vin: str = ""
    voltage_v: float | None = None
    engine_rpm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One thing the person did or told; see Deed for what each field means."""

    deed: Deed
    at_utc_s: float
    """Seconds since 1970-01-01T00:00Z."""
    step: StepKind | None = None
    name: str = ""
    tick: Tick | None = None
    text: str = ""
    ml: float | None = None
    temp_c: float | None = None
    km: float | None = None
    car: Car | None = None
    back: int | None = None
    who: str = ""


Log = tuple[Entry, ...]


def standing(log: Log) -> tuple[tuple[int, Entry], ...]:
    """Return the entries that count, each with its number in the log, from 0."""
    gone = {e.back for e in log if e.deed is Deed.TAKEN_BACK}
    return tuple(
        (n, e)
        for n, e in enumerate(log)
        if e.deed is not Deed.TAKEN_BACK and n not in gone
    )


def of(log: Log, deed: Deed) -> tuple[Entry, ...]:
    """Return the entries of one kind that count."""
    return tuple(e for _, e in standing(log) if e.deed is deed)


def last(log: Log, deed: Deed, step: StepKind | None = None) -> Entry | None:
    """Return the newest entry of one kind that counts (of one step, if given)."""
    found = [e for e in of(log, deed) if step is None or e.step is step]
    return found[-1] if found else None


def number_of(
    log: Log,
    deed: Deed,
    *,
    name: str = "",
    tick: Tick | None = None,
    step: StepKind | None = None,
) -> int | None:
    """Return the number of the newest such entry that counts, or None."""
    wanted = (deed, name, tick, step)
    found = [n for n, e in standing(log) if (e.deed, e.name, e.tick, e.step) == wanted]
    return found[-1] if found else None


def toggled(log: Log, entry: Entry) -> Log:
    """Return the log with the entry added, or taken back if it stands already."""
    there = number_of(
        log, entry.deed, name=entry.name, tick=entry.tick, step=entry.step
    )
    return (*log, entry if there is None else taken_back(there, entry))


def taken_back(number: int, like: Entry) -> Entry:
    """Return the entry that takes entry ``number`` back, stamped as ``like``."""
    return Entry(
        deed=Deed.TAKEN_BACK, at_utc_s=like.at_utc_s, back=number, who=like.who
    )


def undone(log: Log, *, at_utc_s: float, who: str = "") -> Log:
    """Return the log with the newest entry that counts taken back."""
    left = standing(log)
    if not left:
        return log
    back = Entry(deed=Deed.TAKEN_BACK, at_utc_s=at_utc_s, back=left[-1][0], who=who)
    return (*log, back)


# What the sheet has for this very gearbox


def variant_of(service: Service, log: Log) -> Variant | None:
    """Return the gearbox the person found, or None if it was not told yet."""
    told = last(log, Deed.VARIANT)
    return next((v for v in service.variants if told and v.name == told.name), None)


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


def ticked(log: Log, name: str) -> frozenset[Tick]:
    """Return what is ticked off at a fastener."""
    return frozenset(
        e.tick for e in of(log, Deed.TICKED) if e.name == name and e.tick is not None
    )


def is_done(log: Log, step: StepKind) -> bool:
    """Return whether a step counts as done."""
    return any(e.step is step for e in of(log, Deed.DONE))


def is_complete(log: Log) -> bool:
    """Return whether the service was closed."""
    return bool(of(log, Deed.COMPLETE))


def next_open(service: Service, log: Log, after: StepKind) -> StepKind | None:
    """Return the next step not done, round the end of the order; None: all done."""
    order = service.order
    start = order.index(after) + 1 if after in order else 0
    turned = (*order[start:], *order[:start])
    return next((s for s in turned if not is_done(log, s)), None)
