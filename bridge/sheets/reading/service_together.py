"""The service: its parts put together, checked against one another, and its order."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from typing import Any, Protocol, TypeVar

from bridge.sheets.keys.keys_service import LINED_STEPS, line_key
from bridge.sheets.reading.findings import Findings, SectionRead
from bridge.sheets.reading.table import SheetTable, in_words, nearest
from bridge.values.frozen import frozen
from bridge.values.service_sheet import (
    Circuit,
    Drain,
    Exercise,
    Fastener,
    Interval,
    Part,
    Service,
    StepKind,
    Variant,
)
from bridge.values.sheet import Role, Signal

T = TypeVar("T")
Sections = Mapping[str, tuple[SectionRead, ...]]
_PITCH = re.compile(r"M[0-9.]+x([0-9.]+)")


class _Named(Protocol):
    @property
    def name(self) -> str: ...


class _Partial(_Named, Protocol):
    @property
    def only_for(self) -> tuple[str, ...]: ...


Placed = tuple[tuple[SheetTable, T], ...]
"""Items of a repeated section, each with the place it was read from."""
Lines = tuple[tuple[StepKind, tuple[str, ...]], ...]
SERVICE = (
    *("fluid", "filter", "tube", "variant", "part", "fastener", "circuit", "drain"),
    *("exercise", "interval", "cautions", "steps"),
)
"""The sections that fill the Service."""


@frozen
class Parts:
    """The sections of the service as they were read, each with its place."""

    variants: Placed[Variant]
    parts: Placed[Part]
    fasteners: Placed[Fastener]
    drains: Placed[Drain]
    exercise: Exercise | None
    interval: Interval | None
    lines: Lines
    volumes: dict[str, Any]

    @property
    def empty(self) -> bool:
        """Whether the sheet tells no more than the level step and its cautions."""
        sections = (self.variants, self.parts, self.fasteners, self.drains)
        known = {StepKind.LEVEL, StepKind.CAUTIONS}
        return not (
            any(sections)
            or self.exercise
            or self.interval
            or any(step not in known for step, _ in self.lines)
            or any(self.volumes.values())
        )


def read_service(
    sections: Sections, found: Findings, signals: tuple[Signal, ...]
) -> Service:
    """Return the service of sections that are right; mistakes go into the findings."""
    parts = _parts(sections)
    order = sections["steps"][0].fields(Service).get("order", ())
    found.attempt_each(_name_checks(parts))
    if found.clean(*((section,) for section in SERVICE)):
        found.attempt_each(_checks(parts, sections, order))
        found.attempt(partial(_check_positions, sections["exercise"][0], signals))
    circuits = tuple(Circuit(**one.fields(Circuit)) for one in sections["circuit"])
    if parts.empty and not order and not circuits:
        return Service()
    return Service(
        order=order or usual_order(parts, circuits),
        lines=parts.lines,
        variants=tuple(item for _, item in parts.variants),
        parts=tuple(item for _, item in parts.parts),
        fasteners=tuple(item for _, item in parts.fasteners),
        drains=tuple(item for _, item in parts.drains),
        circuits=circuits,
        exercise=parts.exercise,
        interval=parts.interval,
        **parts.volumes,
    )


def _parts(sections: Sections) -> Parts:
    volumes: dict[str, Any] = {}
    for section in ("fluid", "filter", "tube", "steps"):
        volumes |= sections[section][0].fields(Service)
    volumes.pop("order", None)
    return Parts(
        variants=_placed(sections["variant"], Variant),
        parts=_placed(sections["part"], Part),
        fasteners=_placed(sections["fastener"], Fastener),
        drains=_placed(sections["drain"], Drain),
        exercise=_one(sections["exercise"][0], Exercise),
        interval=_one(sections["interval"][0], Interval),
        lines=_lines(sections),
        volumes=volumes,
    )


def _placed(sections: tuple[SectionRead, ...], of: type[T]) -> Placed[T]:
    return tuple((one.table, of(**one.fields(of))) for one in sections)


def _one(section: SectionRead, of: type[T]) -> T | None:
    return of(**section.fields(of)) if section.table.entries else None


def _lines(sections: Sections) -> Lines:
    """Return what the sheet says of each step, in the usual order."""
    steps = sections["steps"][0]
    said: dict[StepKind, Any] = {s: steps.get(line_key(s)) for s in LINED_STEPS}
    said[StepKind.CAUTIONS] = sections["cautions"][0].get("lines")
    return tuple((step, said[step]) for step in StepKind if said[step])


def _check_positions(exercise: SectionRead, signals: tuple[Signal, ...]) -> None:
    signal = next((s for s in signals if s.role is Role.SELECTOR), None)
    if signal is None or not signal.labels:
        return
    labels = [label for _, label in signal.labels]
    for position in exercise.get("positions") or ():
        if position not in labels:
            raise exercise.table.mistake(
                "positions",
                f"has {in_words(position)} in it, which the selector's labels do not "
                f"have; write some of {', '.join(labels)}",
            )


def _name_checks(parts: Parts) -> Iterator[Callable[[], None]]:
    """Yield the checks of the names, which all others rest on."""
    for placed in (parts.variants, parts.parts, parts.fasteners, parts.drains):
        yield partial(_check_names, placed)


def _checks(
    parts: Parts, sections: Sections, order: tuple[StepKind, ...]
) -> Iterator[Callable[[], None]]:
    """Yield the checks that have nothing to do with one another."""
    yield partial(_check_some_fit, parts.variants)
    partial_ones: Placed[_Partial] = (*parts.parts, *parts.fasteners, *parts.drains)
    for table, item in partial_ones:
        yield partial(_check_only_for, table, item, parts.variants)
    for table, drain in parts.drains:
        yield partial(_check_fastener, table, drain, parts.fasteners)
    yield partial(_check_pitch, parts, sections["tube"][0].table)
    if order:
        yield from _order_checks(parts, sections, order)


def _check_names(placed: Placed[_Named]) -> None:
    first: dict[str, SheetTable] = {}
    for table, item in placed:
        other = first.setdefault(item.name, table)
        if other is not table:
            raise table.mistake(
                "name",
                f"is {in_words(item.name)}, the name of {other.title} too; give each "
                f"a name of its own",
            )


def _check_some_fit(variants: Placed[Variant]) -> None:
    if variants and not any(variant.fits for _, variant in variants):
        raise variants[0][0].mistake(
            "fits",
            "is false, as for every variant here, so the sheet is for none; take it "
            "out of the one that the figures are for",
        )


def _check_only_for(
    table: SheetTable, item: _Partial, variants: Placed[Variant]
) -> None:
    fits = {variant.name: variant.fits for _, variant in variants}
    for name in item.only_for:
        if name not in fits:
            known = nearest(name, tuple(fits)) if fits else "a [[variant]] of that name"
            raise table.mistake(
                "only_for",
                f"names {in_words(name)}, which is no variant of this sheet; "
                f"write {known}",
            )
        if not fits[name]:
            raise table.mistake(
                "only_for",
                f"names {in_words(name)}, a variant that the sheet does not fit; take "
                f"it out",
            )


def _check_fastener(
    table: SheetTable, drain: Drain, fasteners: Placed[Fastener]
) -> None:
    if not drain.fastener:
        return
    by_name = {fastener.name: fastener for _, fastener in fasteners}
    fastener = by_name.get(drain.fastener)
    if fastener is None:
        known = (
            nearest(drain.fastener, tuple(by_name))
            if by_name
            else "a [[fastener]] of that name"
        )
        raise table.mistake(
            "fastener",
            f"is {in_words(drain.fastener)}, which is no fastener of this sheet; "
            f"write {known}",
        )
    for_some = set(fastener.only_for)
    if for_some and not (drain.only_for and set(drain.only_for) <= for_some):
        raise table.mistake(
            "fastener",
            f"is {in_words(drain.fastener)}, which not every variant of this drain "
            f"has; make the two only_for equal",
        )


def _check_pitch(parts: Parts, tube: SheetTable) -> None:
    pitch_mm = parts.volumes.get("tube_pitch_mm")
    for _, fastener in parts.fasteners:
        thread = _PITCH.fullmatch(fastener.thread)
        if fastener.turns_back is None or thread is None or pitch_mm is None:
            continue
        if f"{pitch_mm:g}" != f"{float(thread[1]):g}":
            raise tube.mistake(
                "pitch",
                f"is {pitch_mm:g} mm, but {in_words(fastener.name)} has the thread "
                f"{in_words(fastener.thread)}; correct one of the two",
            )


def _order_checks(
    parts: Parts, sections: Sections, order: tuple[StepKind, ...]
) -> Iterator[Callable[[], None]]:
    """Whatever the sheet tells must have its step in the order."""
    steps, cautions = sections["steps"][0].table, sections["cautions"][0].table
    for step, _ in parts.lines:
        home = cautions if step is StepKind.CAUTIONS else steps
        key = "lines" if step is StepKind.CAUTIONS else line_key(step)
        yield partial(_check_in_order, home, key, step, order)
    for table, fastener in parts.fasteners:
        yield partial(_check_in_order, table, "step", fastener.step, order)
    named = (
        (parts.variants, "name", StepKind.IDENTIFY),
        (parts.parts, "name", StepKind.PARTS),
        (parts.drains, "name", StepKind.DRAIN),
    )
    for placed, key, step in named:
        for table, _ in placed[:1]:
            yield partial(_check_in_order, table, key, step, order)
    if steps.has("licensed_tool"):
        yield partial(_check_in_order, steps, "licensed_tool", StepKind.AFTER, order)
    if parts.exercise:
        table = sections["exercise"][0].table
        yield partial(_check_in_order, table, "positions", StepKind.EXERCISE, order)
    if parts.interval:
        table = sections["interval"][0].table
        key = next(k for k in ("distance", "months", "time") if table.has(k))
        yield partial(_check_in_order, table, key, StepKind.DUE, order)


def _check_in_order(
    table: SheetTable, key: str, step: StepKind, order: tuple[StepKind, ...]
) -> None:
    if step not in order:
        raise table.mistake(
            key,
            f'belongs to the step "{step}", which order in [steps] leaves out; add it '
            f"there or take this out",
        )


_ALWAYS = (StepKind.BEFORE, StepKind.LEVEL, StepKind.AFTER)
_WITH_DRAINS = (
    StepKind.FILL_PLUG,
    StepKind.DRAIN,
    StepKind.OLD_FLUID,
    StepKind.FILL,
    StepKind.RECHECK,
)


def usual_order(
    parts: Parts, circuits: tuple[Circuit, ...] = ()
) -> tuple[StepKind, ...]:
    """Return the steps that a sheet without an order of its own has, or ()."""
    if parts.empty and not circuits:
        return ()
    has = {step for step, _ in parts.lines} | set(_ALWAYS)
    has |= {fastener.step for _, fastener in parts.fasteners}
    if parts.drains:
        has |= set(_WITH_DRAINS)
    content = {
        StepKind.IDENTIFY: parts.variants,
        StepKind.PARTS: parts.parts or parts.volumes.get("fluid_name") or circuits,
        StepKind.FILTER: parts.volumes.get("filter_holds_ml")
        or any(c.filter_holds_ml for c in circuits),
        StepKind.FILL: parts.volumes.get("service_fill_ml")
        or any(c.service_fill_ml for c in circuits),
        StepKind.EXERCISE: parts.exercise,
        StepKind.DUE: parts.interval,
    }
    has |= {step for step, works in content.items() if works}
    return tuple(step for step in StepKind if step in has)
