"""What the parts of a service must be among one another, and its order."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import Protocol

from bridge.sheets.keys.keys_service import line_key
from bridge.sheets.reading.findings import Told
from bridge.sheets.reading.service_sections import Lines
from bridge.sheets.reading.table import Table, in_words, nearest
from bridge.values.service_sheet import (
    Drain,
    Exercise,
    Fastener,
    Interval,
    Part,
    StepKind,
    Variant,
)

_PITCH = re.compile(r"M[0-9.]+x([0-9.]+)")


class _Named(Protocol):
    @property
    def name(self) -> str: ...


class _Partial(_Named, Protocol):
    @property
    def only_for(self) -> tuple[str, ...]: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """The sections of the service as they were read, each with its place."""

    variants: Told[Variant]
    parts: Told[Part]
    fasteners: Told[Fastener]
    drains: Told[Drain]
    exercise: Exercise | None
    interval: Interval | None
    lines: Lines
    volumes: dict[str, float | str | None]

    @property
    def empty(self) -> bool:
        """Whether the sheet tells no more than the level step and its cautions."""
        sections = (self.variants, self.parts, self.fasteners, self.drains)
        known = {StepKind.LEVEL, StepKind.CAUTIONS}
        volumes = {k: v for k, v in self.volumes.items() if k != "service_fill_temp_c"}
        return not (
            any(sections)
            or self.exercise
            or self.interval
            or any(step not in known for step, _ in self.lines)
            or any(volumes.values())
        )


def name_checks(parts: Parts) -> Iterator[Callable[[], None]]:
    """Yield the checks of the names, which all others rest on."""
    for told in (parts.variants, parts.parts, parts.fasteners, parts.drains):
        yield partial(_check_names, told)


def checks(
    parts: Parts, top: Table, order: tuple[StepKind, ...]
) -> Iterator[Callable[[], None]]:
    """Yield the checks that have nothing to do with one another."""
    yield partial(_check_some_fit, parts.variants)
    partial_ones: Told[_Partial] = (*parts.parts, *parts.fasteners, *parts.drains)
    for table, item in partial_ones:
        yield partial(_check_only_for, table, item, parts.variants)
    for table, drain in parts.drains:
        yield partial(_check_fastener, table, drain, parts.fasteners)
    yield partial(_check_pitch, parts, top)
    if order:
        yield from _order_checks(parts, top, order)


def _check_names(told: Told[_Named]) -> None:
    first: dict[str, Table] = {}
    for table, item in told:
        other = first.setdefault(item.name, table)
        if other is not table:
            raise table.mistake(
                "name",
                f"is {in_words(item.name)}, the name of {other.title} too; give each "
                f"a name of its own",
            )


def _check_some_fit(variants: Told[Variant]) -> None:
    if variants and not any(variant.fits for _, variant in variants):
        raise variants[0][0].mistake(
            "fits",
            "is false, as for every variant here, so the sheet is for none; take it "
            "out of the one that the figures are for",
        )


def _check_only_for(table: Table, item: _Partial, variants: Told[Variant]) -> None:
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


def _check_fastener(table: Table, drain: Drain, fasteners: Told[Fastener]) -> None:
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


def _check_pitch(parts: Parts, top: Table) -> None:
    pitch_mm = parts.volumes["tube_pitch_mm"]
    for _, fastener in parts.fasteners:
        thread = _PITCH.fullmatch(fastener.thread)
        if fastener.turns_back is None or thread is None or pitch_mm is None:
            continue
        if f"{pitch_mm:g}" != f"{float(thread[1]):g}":
            raise top.one("tube").mistake(
                "pitch",
                f"is {pitch_mm:g} mm, but {in_words(fastener.name)} has the thread "
                f"{in_words(fastener.thread)}; correct one of the two",
            )


def _order_checks(
    parts: Parts, top: Table, order: tuple[StepKind, ...]
) -> Iterator[Callable[[], None]]:
    """Whatever the sheet tells must have its step in the order."""
    steps = top.one("steps")
    for step, _ in parts.lines:
        home = top.one("cautions") if step is StepKind.CAUTIONS else steps
        key = "lines" if step is StepKind.CAUTIONS else line_key(step)
        yield partial(_check_in_order, home, key, step, order)
    for table, fastener in parts.fasteners:
        yield partial(_check_in_order, table, "step", fastener.step, order)
    sections = (
        (parts.variants, "name", StepKind.IDENTIFY),
        (parts.parts, "name", StepKind.PARTS),
        (parts.drains, "name", StepKind.DRAIN),
    )
    for told, key, step in sections:
        for table, _ in told[:1]:
            yield partial(_check_in_order, table, key, step, order)
    if parts.exercise:
        table = top.one("exercise")
        yield partial(_check_in_order, table, "positions", StepKind.EXERCISE, order)
    if parts.interval:
        table = top.one("interval")
        key = "distance" if table.has("distance") else "months"
        yield partial(_check_in_order, table, key, StepKind.DUE, order)


def _check_in_order(
    table: Table, key: str, step: StepKind, order: tuple[StepKind, ...]
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


def usual_order(parts: Parts) -> tuple[StepKind, ...]:
    """Return the steps that a sheet without an order of its own has, or ()."""
    if parts.empty:
        return ()
    has = {step for step, _ in parts.lines} | set(_ALWAYS)
    has |= {fastener.step for _, fastener in parts.fasteners}
    if parts.drains:
        has |= set(_WITH_DRAINS)
    content = {
        StepKind.IDENTIFY: parts.variants,
        StepKind.PARTS: parts.parts or parts.volumes["fluid_name"],
        StepKind.FILTER: parts.volumes["filter_holds_ml"],
        StepKind.FILL: parts.volumes["service_fill_ml"],
        StepKind.EXERCISE: parts.exercise,
        StepKind.DUE: parts.interval,
    }
    has |= {step for step, told in content.items() if told}
    return tuple(step for step in StepKind if step in has)
