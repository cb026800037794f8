"""Doubts about the level step: window, settle time, source, cautions, signals."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from bridge.level.found_signal import unconfirmed
from bridge.level.settling.outflow import (
    USUAL_AREA_CM2,
    USUAL_BORE_MM,
    Basis,
    drops,
    reckoned_settle_s,
    settle_of,
)
from bridge.level.volume import DENSITY_KG_M3, volume_at, volume_ml
from bridge.sheets.reading.can_ids import ENGINE_IDS, spell, standard_reply
from bridge.sheets.warnings.warning import SheetWarning, doubt
from bridge.units import (
    Units,
    show_area,
    show_length,
    show_temperature,
    show_temperature_step,
    show_volume,
)
from bridge.values.found import Status
from bridge.values.sheet import EngineRule, Role, Sheet

_WARMING_C_PER_S = 2.5 / 60
"""How fast fluid passes through a window around 40 °C while the engine idles: 10 °C
in 4.0 minutes for a first-order rise from 20 towards 90 °C in 20 minutes (computed;
the time constant is common practice, no source)."""

_WIDEST_C = 30.0
_WARMEST_C = 110.0
_SHORTEST_SOURCE = 12
_NO_SOURCE = ("unknown", "internet", "forum", "somewhere", "todo", "n/a", "not known")


def _width_c(sheet: Sheet) -> float:
    """How wide the window is; no end at all of one that has a single edge."""
    window = sheet.window
    return window.high_c - window.low_c if window.closed else math.inf


def window(sheet: Sheet, units: Units) -> Iterator[SheetWarning]:
    """Doubt a window that is very wide or very hot."""
    if not sheet.has_level_step:
        return
    if _WIDEST_C < _width_c(sheet) < math.inf:
        width, low, high = (
            show_temperature_step(step, units, digits=0)
            for step in (_width_c(sheet), 5.0, 20.0)
        )
        yield doubt(
            "level.window",
            f"is {width} wide, and most are {low} to {high}",
            "look up both limits again",
        )
    if sheet.window.high_c > _WARMEST_C and not sheet.window.above_open:
        end = show_temperature(sheet.window.high_c, units, digits=0)
        yield doubt(
            "level.window",
            f"ends at {end}, hotter than levels are usually set",
            "look up the limit and its unit again",
        )


def settling(sheet: Sheet, units: Units) -> Iterator[SheetWarning]:
    """Doubt a settle time no outflow has, and one that warming fluid will not leave."""
    if not sheet.has_level_step:
        return
    settle, reckoned_s = settle_of(sheet), reckoned_settle_s(sheet)
    stated = settle.basis is Basis.STATED
    if reckoned_s and (settle.basis is Basis.USUAL or settle.time_s < reckoned_s / 2):
        yield doubt(
            "level.settle_time",
            (f"is {settle.time_s:.4g} s" if stated else "is not told")
            + f", and with {_opening(sheet, units)} a surplus runs some "
            f"{reckoned_s:.0f} s until less than {drops(sheet.drop_rate_per_s)} a "
            "second come",
            "look it up again, or give the sheet's own bore, area and drop_rate",
        )
        return
    lasts_s = _width_c(sheet) / _WARMING_C_PER_S
    if sheet.engine is EngineRule.IDLING and settle.time_s > lasts_s / 2:
        yield doubt(
            "level.settle_time",
            f"is {'' if stated else 'reckoned as '}{settle.time_s:.0f} s, more than "
            f"half of the {lasts_s:.0f} s that warming fluid usually stays in such a "
            f"window, so that the gate may seldom say GO",
            "look up both again",
        )


def _opening(sheet: Sheet, units: Units) -> str:
    """Say what the outflow was reckoned with."""
    bore, area = sheet.bore_mm, sheet.sump_area_cm2
    wide = show_length(bore or USUAL_BORE_MM[sheet.method], units)
    free = show_area(area or USUAL_AREA_CM2, units)
    return (
        f"{'an' if bore else 'a usual'} opening of {wide} and "
        f"{'a' if area else 'a usual'} surface of {free}"
    )


_LEAST_CHANCE = 0.8
_SLOWEST_IDLE_RPM, _FASTEST_IDLE_RPM = 350.0, 1500.0
"""Engines of cars idle at 600 to 900 rpm warm and up to 1500 cold (common practice, no
source)."""


def slack(sheet: Sheet, _: Units) -> Iterator[SheetWarning]:
    """Doubt figures that would let the gate say GO too easily."""
    if sheet.stay_chance < _LEAST_CHANCE:
        yield doubt(
            "level.stay_chance",
            f"is {sheet.stay_chance:g}: the fluid may leave the window before the "
            f"surplus has run off in {1 - sheet.stay_chance:.0%} of all cases",
            f"take it out, or write {_LEAST_CHANCE:g} or more",
        )
    low, high = sheet.idle_low_rpm, sheet.idle_high_rpm
    if low < _SLOWEST_IDLE_RPM or high > _FASTEST_IDLE_RPM:
        yield doubt(
            "level.idle_speed",
            f"runs from {low:g} to {high:g} rpm, more than idling, and the level is "
            f"wrong at any other speed",
            "look up the idle speed with the selector where the sheet wants it",
        )


def tilt(sheet: Sheet, units: Units) -> Iterator[SheetWarning]:
    """Doubt a tilt limit that alone shifts the level by more than half the window."""
    limit, area, fill = sheet.tilt_limit_deg, sheet.sump_area_cm2, sheet.fill_ml
    if limit is None or area is None or fill is None or not sheet.window.closed:
        return
    reach_mm = abs(sheet.opening_forward_mm) + abs(sheet.opening_right_mm)
    worth_ml = volume_ml(math.tan(math.radians(limit)) * reach_mm, area)
    low, high = sheet.window.low_c, sheet.window.high_c
    density = sheet.density_kg_m3 or DENSITY_KG_M3
    window_ml = volume_at(fill, from_c=low, to_c=high, density_kg_m3=density) - fill
    if worth_ml > 0.5 * window_ml:
        shown, whole = (show_volume(ml / 1000.0, units) for ml in (worth_ml, window_ml))
        yield doubt(
            "level.tilt_limit",
            f"lets the car lean by what is worth {shown} at the opening, more than "
            f"half of the {whole} between the ends of the window",
            "look it up again, or write a smaller one",
        )


def source(sheet: Sheet, _: Units) -> Iterator[SheetWarning]:
    """Doubt a source that nobody can look up."""
    text = sheet.source.casefold()
    if len(text) < _SHORTEST_SOURCE or any(word in text for word in _NO_SOURCE):
        yield doubt(
            "gearbox.source",
            f'is "{sheet.source}", which does not let anyone look the figures up',
            "name the document, its edition and the section",
        )


def checked(sheet: Sheet, _: Units) -> Iterator[SheetWarning]:
    """Doubt figures that one pair of eyes alone has seen."""
    if sheet.status is Status.DRAFT:
        yield doubt(
            "gearbox.status",
            "is draft, so nobody has held the figures against the document again",
            'let someone else do that, and write checked_by and status = "checked"',
        )
    if sheet.one_pair_of_eyes:
        yield doubt(
            "gearbox.checked_by",
            "names nobody but who entered the figures, though status is checked",
            "let someone else hold them against the document",
        )
    for one in sheet.figures:
        if one.status is Status.DRAFT or one.one_pair_of_eyes:
            yield doubt(
                "figure.status",
                f"is {one.status} for {', '.join(one.of)}, and nobody else has held "
                "them against the document",
                'let someone do that, and write checked_by and status = "checked"',
            )


def steps(sheet: Sheet, _: Units) -> Iterator[SheetWarning]:
    """Doubt a level step that nobody wrote down."""
    if not sheet.steps and sheet.has_level_step:
        yield doubt(
            "steps.level",
            "is missing, so the level step is not written down",
            "add level = [...] in the maker's order",
        )


_CAUTIONS: tuple[tuple[str, str], ...] = (
    ("hot fluid", r"\bhot|scald|burn"),
    ("how the car is held up", r"\bjack|\bstands|\blift"),
    ("the exhaust's carbon monoxide", r"carbon monoxide|exhaust"),
    ("gloves and eye protection", r"glove|eye"),
)
"""What every job needs a word on (common practice), and how it shows in a text."""
_MOVING = ("moving parts", r"\bturn|rotat|moving|\bbelt|\bfan|\bshaft")


def cautions(sheet: Sheet, _: Units) -> Iterator[SheetWarning]:
    """Doubt a sheet that leaves out a caution which every such job needs."""
    if not sheet.cautions:
        yield doubt(
            "cautions.lines",
            "is missing, so there are no cautions",
            "add at least hot fluid, how the car is held up, the running engine",
        )
        return
    text = " ".join(sheet.cautions).casefold()
    needed = (*_CAUTIONS, _MOVING) if sheet.engine is EngineRule.IDLING else _CAUTIONS
    missing = [what for what, words in needed if not re.search(words, text)]
    if missing:
        yield doubt(
            "cautions.lines",
            f"has no word on {', '.join(missing)}, as far as one can tell",
            "add a sentence on each",
        )


def _by_thermometer(sheet: Sheet) -> bool:
    """Whether the sheet means to go without signals: a thermometer is to be at hand."""
    parts = (part.name.casefold() for part in sheet.service.parts)
    return not sheet.signals and any("thermometer" in name for name in parts)


def fluid(sheet: Sheet, units: Units) -> Iterator[SheetWarning]:
    """Doubt a fluid signal that can hardly tell the window, or the lack of one."""
    signal = sheet.signal(Role.FLUID_TEMPERATURE)
    if not sheet.has_level_step or (signal is None and _by_thermometer(sheet)):
        return
    if signal is None:
        yield doubt(
            "signal.role",
            'is nowhere "fluid-temperature": no signal gives the fluid '
            "temperature, and from the car the gate can never say GO",
            "add that [[signal]], or type in what a thermometer reads (sumpgate "
            "live --thermometer)",
        )
        return
    at = sheet.signals.index(signal)
    if _width_c(sheet) < 2 * abs(signal.factor):
        width, step = (
            show_temperature_step(value, units, digits=2)
            for value in (_width_c(sheet), abs(signal.factor))
        )
        yield doubt(
            "level.window",
            f"is {width} wide, less than two steps of the sensor's {step}",
            "look up factor and window again",
        )
    if signal.request_id in ENGINE_IDS:
        yield doubt(
            "signal.request_id",
            f"is {spell(signal.request_id or 0)}, by convention the engine's control "
            f"unit, whose temperatures are coolant and engine oil",
            "make sure that this unit knows the gearbox's fluid, or write the "
            "gearbox's unit",
            at,
        )
    if signal.service == 0x01:
        yield doubt(
            "signal.service",
            "asks for the fluid temperature as a standard PID, and no standard PID "
            "is known to carry it",
            "look up service and identifier again",
            at,
        )
    if not signal.not_available and signal.maximum is None:
        yield doubt(
            "signal.not_available",
            "is missing, so nothing says which raw value means 'no reading'",
            "add it, or minimum and maximum",
            at,
        )


def selector(sheet: Sheet, _: Units) -> Iterator[SheetWarning]:
    """Doubt a selector whose positions have no names."""
    signal = sheet.signal(Role.SELECTOR)
    if signal is not None and not signal.labels:
        yield doubt(
            "signal.labels",
            "is missing: the selector has no labels, so its position has no name",
            'add labels = { "0" = "P", ... }',
            sheet.signals.index(signal),
        )


def ids(sheet: Sheet, _: Units) -> Iterator[SheetWarning]:
    """Doubt request ids that no standard gives to a control unit."""
    asked = {s.request_id: i for i, s in reversed(list(enumerate(sheet.signals)))}
    for can_id, at in sorted((k, v) for k, v in asked.items() if k is not None):
        if standard_reply(can_id) is None:
            yield doubt(
                "signal.request_id",
                f"is {spell(can_id)}, and {spell(can_id)} is outside ISO 15765-4 "
                f"(7E0 to 7E7, 18DAxxF1)",
                "make sure that it is a control unit's diagnostic id on this very car",
                at,
            )


def found(sheet: Sheet, _: Units) -> Iterator[SheetWarning]:
    """Doubt a found signal that no thermometer has borne out."""
    if why := unconfirmed(sheet):
        yield doubt(
            "found.signal",
            f"is not confirmed, so that the gate stays at NO-GO ({why})",
            "confirm it with sumpgate find --confirm SHEET",
        )


LOOKS = (
    window,
    slack,
    source,
    checked,
    steps,
    cautions,
    fluid,
    selector,
    ids,
    found,
)
IN_EACH = (settling, tilt)
"""What is of one fluid: looked at in each of several circuits."""
