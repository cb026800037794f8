"""Doubts about the service around the level: order, volumes, interval, variants."""

from __future__ import annotations

import re
from collections.abc import Iterator

from bridge.sheets.warnings.warning import SheetWarning, doubt
from bridge.units import Units, show_distance, show_volume
from bridge.values.service_sheet import PartKind, Service, StepKind
from bridge.values.sheet import EngineRule, Sheet

_LEAST_FILL_ML, _MOST_FILL_ML = 2000.0, 10_000.0
_SHORTEST_KM, _LONGEST_KM = 20_000.0, 160_000.0
_FEWEST_MONTHS, _MOST_MONTHS = 12, 120
_SHORTEST_HOLD_S, _LONGEST_HOLD_S = 2.0, 15.0
"""Usual service fills, intervals (30 000 to 100 000 miles, half of it under severe
use) and dwell times (2 to 10 s): common practice, with some room."""

_FIRST: tuple[tuple[StepKind, StepKind, str], ...] = (
    (StepKind.CAUTIONS, StepKind.FILL_PLUG, "nobody should work without them"),
    (StepKind.IDENTIFY, StepKind.DRAIN, "it may be a gearbox the sheet is not for"),
    (
        StepKind.FILL_PLUG,
        StepKind.DRAIN,
        "a fill plug that does not open leaves the car without fluid",
    ),
    (StepKind.DRAIN, StepKind.REFIT, "plugs go in when it is empty"),
    (StepKind.REFIT, StepKind.FILL, "fluid runs out of open plugs"),
    (StepKind.FILL, StepKind.EXERCISE, "an empty gearbox must not turn"),
    (StepKind.EXERCISE, StepKind.LEVEL, "the passages must be full for a true level"),
    (StepKind.FILL, StepKind.LEVEL, "there is no level without fluid"),
    (StepKind.BEFORE, StepKind.DRAIN, "it is there to compare with"),
    (StepKind.LEVEL, StepKind.CLOSING, "the level is set through open plugs"),
    (StepKind.CLOSING, StepKind.RECHECK, "the drive needs everything closed"),
)
"""(first, then, why): common practice, no source."""


def order(sheet: Sheet, _: Units) -> Iterator[SheetWarning]:
    """Doubt steps that are missing, turned round or empty."""
    steps = sheet.service.order
    if not steps:
        return
    for first, then, why in _FIRST:
        if first in steps and then in steps and steps.index(first) > steps.index(then):
            yield _order(f'has "{first}" after "{then}", but {why}', "turn them round")
    yield from _missing(sheet)
    for step in steps:
        if step in _TALKING and not sheet.service.lines_of(step):
            yield _order(f'has the step "{step}" with nothing to say', _FILL_IN[step])


_TALKING = (StepKind.FILTER, StepKind.CLOSING, StepKind.REFIT)
_FILL_IN = {step: f"add {step} = [...] to [steps]" for step in _TALKING}


def _order(why: str, remedy: str) -> SheetWarning:
    return doubt("steps.order", why, remedy)


def _missing(sheet: Sheet) -> Iterator[SheetWarning]:
    steps = sheet.service.order
    if StepKind.LEVEL not in steps and sheet.has_level_step:
        yield _order("leaves out the level step", 'add "level" to it')
    if StepKind.DRAIN not in steps:
        return
    wanted = (
        (StepKind.FILL_PLUG, "so the fill plug is not tried before draining"),
        (StepKind.OLD_FLUID, "so nobody looks at the old fluid"),
        (StepKind.FILL, "so nothing says when to fill up again"),
        (StepKind.RECHECK, "so nobody looks for leaks after a drive"),
    )
    for step, why in wanted:
        if step not in steps:
            yield _order(f'has no step "{step}", {why}', f'add "{step}" to it')


def volumes(sheet: Sheet, units: Units) -> Iterator[SheetWarning]:
    """Doubt what a service takes, by itself and against drains and total fill."""
    service = sheet.service
    fill = service.service_fill_ml
    if fill is None:
        if StepKind.FILL in service.order:
            yield _fill("is missing, so nobody sees a fill that is far off", _LOOK_UP)
        return
    if sheet.fill_ml is not None and fill > sheet.fill_ml:
        shown, whole = (show_volume(ml / 1000.0, units) for ml in (fill, sheet.fill_ml))
        yield _fill(
            f"is {shown}, more than all the fluid in the gearbox ({whole})",
            "look up both again",
        )
    yield from _against_drains(service, fill, units)


def size(sheet: Sheet, units: Units) -> Iterator[SheetWarning]:
    """Doubt a service fill no gearbox with one fluid has."""
    fill = sheet.service.service_fill_ml
    if fill is not None and not _LEAST_FILL_ML <= fill <= _MOST_FILL_ML:
        shown, low, high = (
            show_volume(ml / 1000.0, units)
            for ml in (fill, _LEAST_FILL_ML, _MOST_FILL_ML)
        )
        yield _fill(f"is {shown}, and most are {low} to {high}", _LOOK_UP)


_LOOK_UP = "look it up again, and its unit"


def _fill(why: str, remedy: str) -> SheetWarning:
    return doubt("fluid.service_fill", why, remedy)


def _against_drains(
    service: Service, fill_ml: float, units: Units
) -> Iterator[SheetWarning]:
    slack_ml = max(service.service_fill_tolerance_ml or 0.0, 0.15 * fill_ml)
    names = [variant.name for variant in service.variants if variant.fits] or [""]
    for name in names:
        sum_ml = _drained_ml(service, name)
        if sum_ml is None or abs(sum_ml - fill_ml) <= slack_ml:
            continue
        wanted, came = (show_volume(ml / 1000.0, units) for ml in (fill_ml, sum_ml))
        yield _fill(
            f"is {wanted}, but drains and filter come to {came}",
            "look up service fill, drains and filter again",
        )
        return


def _drained_ml(service: Service, variant: str) -> float | None:
    """Return what drains and filter of a variant come to; None if it is not told."""
    out = [
        drain.expected_ml
        for drain in service.drains
        if not drain.only_for or variant in drain.only_for
    ]
    if not out or None in out:
        return None
    return sum(ml for ml in out if ml is not None) + (service.filter_holds_ml or 0.0)


def fluid(sheet: Sheet, _: Units) -> Iterator[SheetWarning]:
    """Doubt a fluid without a name and a fill without anything to fill in."""
    service = sheet.service
    if StepKind.FILL not in service.order:
        return
    if not service.fluid_name:
        yield doubt(
            "fluid.name",
            "is missing, and the wrong fluid can ruin a gearbox",
            "write what the maker asks of it",
        )
    if service.parts and not any(p.kind is PartKind.FLUID for p in service.parts):
        yield doubt(
            "part.kind",
            'is nowhere "fluid", so the list of parts has nothing to fill in',
            "add the fluid and how much of it",
        )
    if StepKind.FILTER in service.order and service.filter_holds_ml is None:
        yield doubt(
            "filter.holds",
            "is missing, so the balance does not know what the filter keeps",
            "look it up or measure it",
        )


def exercise(sheet: Sheet, _: Units) -> Iterator[SheetWarning]:
    """Doubt a selector that is not worked, or hardly."""
    moves = sheet.service.exercise
    if moves is None:
        if sheet.service.order and sheet.engine is EngineRule.IDLING:
            yield doubt(
                "exercise.positions",
                "is missing, though the engine idles and the passages fill only "
                "when the selector is worked",
                "add the positions, and hold and rounds",
            )
        return
    if not _SHORTEST_HOLD_S <= moves.hold_s <= _LONGEST_HOLD_S:
        yield doubt(
            "exercise.hold",
            f"is {moves.hold_s:g} s, and usual are {_SHORTEST_HOLD_S:g} to "
            f"{_LONGEST_HOLD_S:g} s (common practice)",
            "look it up again",
        )
    if not re.search(r"creep|brake pedal|hold the brake|foot", _cautions(sheet)):
        yield doubt(
            "cautions.lines",
            "has no word on the brake, and the car can creep while the selector is "
            "worked",
            "add a sentence on it",
        )


def _cautions(sheet: Sheet) -> str:
    return " ".join(sheet.cautions).casefold()


def interval(sheet: Sheet, units: Units) -> Iterator[SheetWarning]:
    """Doubt an interval that is unusual or does not know severe use."""
    every = sheet.service.interval
    if every is None:
        return
    km, months = every.distance_km, every.months
    if every.days is not None and not 365 <= every.days <= _MOST_MONTHS * 365 / 12:
        yield _interval("time", f"is {every.days} days, and usual are years", _LOOK_UP)
    if km is not None and not _SHORTEST_KM <= km <= _LONGEST_KM:
        low, high = (show_distance(end, units) for end in (_SHORTEST_KM, _LONGEST_KM))
        yield _interval(
            "distance",
            f"is {show_distance(km, units)}, and usual are {low} to {high}",
            _LOOK_UP,
        )
    if months is not None and not _FEWEST_MONTHS <= months <= _MOST_MONTHS:
        yield _interval(
            "months",
            f"is {months}, and usual are {_FEWEST_MONTHS} to {_MOST_MONTHS}",
            _LOOK_UP,
        )
    if not every.severe:
        yield _interval(
            "severe",
            "is missing, so nobody can tell whether the shorter interval holds",
            "add what the maker counts as severe use",
        )
    if every.severe_factor > 0.8:
        yield _interval(
            "severe_factor",
            f"is {every.severe_factor:g}, hardly shorter; half is usual",
            "look it up again",
        )


def _interval(key: str, why: str, remedy: str) -> SheetWarning:
    return doubt(f"interval.{key}", why, remedy)


def variants(sheet: Sheet, _: Units) -> Iterator[SheetWarning]:
    """Doubt variants that leave nothing to choose, or lead nowhere."""
    known = sheet.service.variants
    if len(known) == 1:
        yield doubt(
            "variant.name",
            "is the only variant, so there is nothing to tell it from",
            "add the others that look like it, or take it out",
            0,
        )
    for at, variant in enumerate(known):
        if not variant.fits and not variant.instead:
            yield doubt(
                "variant.instead",
                f'is missing, so whoever has "{variant.name}" does not know where '
                f"to look",
                "name the document that has its figures",
                at,
            )


LOOKS = (order, size, exercise, interval, variants)
IN_EACH = (volumes, fluid)
"""What is of one fluid: looked at in each of several circuits."""
