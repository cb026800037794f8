"""How the level was set, in figures: the table of a judgement and what it is worth."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from bridge.jobfile.file.format import RowKind
from bridge.jobfile.report.document import ReportTable
from bridge.jobfile.report.field_words import number, of, plain, volume, yes_no
from bridge.jobfile.report.summary import Moment, Summary
from bridge.level.budget import RECTANGULAR
from bridge.units import (
    ABSENT,
    Units,
    show_chance,
    show_duration,
    show_temperature,
    show_temperature_step,
)

MM_PER_INCH = 25.4
"""Exactly (NIST SP 811, 2008, appendix B.8)."""


def judgement_table(summary: Summary, last: Moment, units: Units) -> ReportTable:
    """Return how it was set, with what all of it is worth."""
    content = last.content
    found = of(content, "stick")
    if found:
        return _by_stick(summary, last, units)
    opened, closed, error = (of(content, k) for k in ("opened", "closed", "error"))
    height = number(error.get("height_mm"))
    share = number(content.get("settled_chance"))
    rows = (
        ("Fluid at opening", _seen(summary, opened, units)),
        ("Fluid at closing", _seen(summary, closed, units)),
        ("Plug open for", show_duration(number(content.get("open_s")))),
        ("Inside the window all the while", yes_no(content.get("inside"))),
        ("Opened while GO was shown", yes_no(content.get("on_go"))),
        ("Chance that it had settled", percent(share)),
        ("Nobody marked what ran", yes_no(content.get("timer_only"))),
        ("How the car leaned, as typed", _lean(summary, last.seq)),
        ("What the temperature makes of the level", level_error(error, units)),
        ("The same as a height", _height(height, units)),
        *budget_rows(of(content, "budget"), units),
        ("Added in the level step", volume(content.get("added_ml"), units)),
    )
    return ReportTable(caption="How it was set", head=("What", "Figure"), rows=rows)


SOURCES = {
    "temperature": "of the temperature's reading",
    "sensor": "of the sensor's accuracy",
    "tilt": "of the tilt",
    "still-running": "of what still ran at closing",
    "jug": "of the jugs or the scale",
    "reading": "of the stick's readings",
    "density": "of the density",
}


def budget_rows(
    budget: Mapping[str, object] | None, units: Units
) -> Iterator[tuple[str, str]]:
    """Yield what each source of doubt is worth, and all of them together (k = 2)."""
    if not budget:
        return
    parts = budget.get("parts")
    for part in parts if isinstance(parts, list) else ():
        source, sd = str(part.get("source")), number(part.get("sd_ml"))
        name = f"Doubt {SOURCES.get(source, plain(source))}"
        if sd is None:
            yield name, "not known, not in the sum"
            continue
        off = number(part.get("off_ml")) or 0.0
        yield name, f"{volume(off, units)} ± {volume(2.0 * sd, units)}"
    wide_ml = volume(budget.get("expanded_ml"), units)
    yield (
        "The level in all",
        f"{volume(budget.get('off_ml'), units)} ± {wide_ml} (k = 2)",
    )
    off_mm, wide_mm = number(budget.get("off_mm")), number(budget.get("expanded_mm"))
    if off_mm is not None:
        height = f"{_height(off_mm, units)} ± {_height(wide_mm, units).lstrip('+')}"
        yield "The same as a height", height


def _by_stick(summary: Summary, last: Moment, units: Units) -> ReportTable:
    content, found = last.content, of(last.content, "stick")
    over = _height(number(found.get("over_middle_mm")), units)
    doubt = number(found.get("expanded_mm"))
    rows = (
        ("Readings of the stick", f"{number(found.get('reads')) or 0:.0f}"),
        ("Fluid at the first one", _seen(summary, of(content, "opened"), units)),
        ("Fluid at the last one", _seen(summary, of(content, "closed"), units)),
        ("How the car leaned, as typed", _lean(summary, last.seq)),
        ("Against the middle of the marks", over),
        ("That is known to within (k = 2)", _height(doubt, units).lstrip("+")),
        ("To the middle", volume(found.get("to_middle_ml"), units)),
        *budget_rows(of(content, "budget"), units),
        ("Added in the level step", volume(content.get("added_ml"), units)),
    )
    return ReportTable(caption="How it was read", head=("What", "Figure"), rows=rows)


def _height(height_mm: float | None, units: Units) -> str:
    if height_mm is None:
        return ABSENT
    if units is Units.US:
        return f"{height_mm / MM_PER_INCH:+.3f} in"
    return f"{height_mm:+.2f} mm"


def _seen(summary: Summary, seen: dict[str, object], units: Units) -> str:
    return fluid(summary, seen.get("temp_c"), seen.get("sd_c"), units)


def fluid(summary: Summary, temp_c: object, sd_c: object, units: Units) -> str:
    """Return the fluid's temperature and how well it is known (k = 2).

    By the estimate and the sensor together (JCGM 100, 4.3.7), as the screen has it;
    where the sheet does not state the sensor's accuracy it says so.
    """
    shown, sd = show_temperature(number(temp_c), units), number(sd_c)
    if sd is None or shown == ABSENT:
        return shown
    accuracy_c = number(summary.sheet.get("sensor_accuracy_c"))
    both = math.hypot(sd, (accuracy_c or 0.0) * RECTANGULAR)
    wide = show_temperature_step(2.0 * both, units, digits=2)
    what = "with the sensor's own" if accuracy_c else "the sensor's own not stated"
    return f"{shown} ± {wide} (k = 2, {what})"


def _lean(summary: Summary, before: int) -> str:
    """Return the angles that stood when it was judged, as they were typed."""
    typed = [m for m in summary.of(RowKind.TILT) if m.seq < before]
    if not typed:
        return "not measured"
    along, across = (
        number(typed[-1].content.get(key)) for key in ("lengthways_deg", "across_deg")
    )
    if along is None or across is None:
        return ABSENT
    return f"{along:+.1f}° lengthways (nose up), {across:+.1f}° across (right side up)"


def percent(share: float | None) -> str:
    """Return a share of 1 in percent."""
    return ABSENT if share is None else show_chance(share)


def level_error(error: dict[str, object], units: Units) -> str:
    """Return what the fluid's temperature makes of the level, as an amount."""
    value = number(error.get("volume_ml"))
    if value is None:
        return ABSENT
    side = "overfilled" if value > 0 else "underfilled"
    return f"{volume(abs(value), units)} {side}"
