"""The report's part about the car, and about how the record was made."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from bridge.jobfile.report.document import Para, ReportTable, Section
from bridge.jobfile.report.field_words import codes as code_list
from bridge.jobfile.report.field_words import moment_utc, number, text, yes_no
from bridge.jobfile.report.summary import Moment, Summary
from bridge.level.settling.outflow import Basis
from bridge.units import (
    ABSENT,
    Units,
    show_distance,
    show_duration,
    show_temperature_span,
)
from bridge.values.sheet import Window


def codes(summary: Summary) -> Section:
    """Return the trouble codes as first and as last read."""
    found = summary.of("codes")
    heading = "Trouble codes before and after"
    if not found:
        return Section(
            heading=heading, blocks=(Para(text="No trouble codes were read."),)
        )
    first, last = found[0], found[-1]
    columns = [first] if first is last else [first, last]
    names = ("Before",) if first is last else ("Before", "After")
    rows = [
        (what, *(code_list(m.content.get(key)) for m in columns))
        for key, what in (
            ("stored", "Stored"),
            ("pending", "Pending"),
            ("permanent", "Permanent"),
        )
    ]
    rows.append(("Warning lamp on", *(yes_no(m.content.get("mil")) for m in columns)))
    rows.append(("Read", *(moment_utc(m.utc_s) for m in columns)))
    table = ReportTable(
        caption="As the control units told them",
        head=("List", *names),
        rows=tuple(rows),
    )
    sentence = _difference(first, last)
    return Section(heading=heading, blocks=(table, Para(text=sentence)))


def _difference(first: Moment, last: Moment) -> str:
    if first is last:
        return "They were read once only."
    before, after = (_all(m) for m in (first, last))
    if before == after:
        return "No difference."
    new, gone = sorted(after - before), sorted(before - after)
    parts = [f"new: {', '.join(new)}"] if new else []
    parts += [f"gone: {', '.join(gone)}"] if gone else []
    return f"Difference: {'; '.join(parts)}."


def _all(moment: Moment) -> set[str]:
    found: set[str] = set()
    for key in ("stored", "pending", "permanent"):
        values = moment.content.get(key)
        if isinstance(values, list):
            found |= {f"{text(v)} ({key})" for v in values}
    return found


def _span(window: Window, units: Units) -> str:
    return show_temperature_span(window.low_c, window.high_c, units)


def about(summary: Summary, units: Units) -> Section:
    """Return how the record was made: tool, sheet, adapter, car."""
    sheet, start = summary.sheet, summary.start
    span = summary.window
    window = "--" if span is None else _span(span, units)
    odometer, vin = summary.last("odometer"), summary.last("vin")
    adapter = summary.last("adapter")
    rows = (
        ("Began", moment_utc(summary.began_utc_s)),
        ("Ended", moment_utc(summary.ended_utc_s)),
        (
            "Watched for",
            f"{show_duration(summary.length_s)}, watches: {summary.watches}",
        ),
        ("Events", str(summary.intact.events)),
        ("Tool", text(start.get("tool"))),
        ("Readings from", text(start.get("source"))),
        ("Simulated", yes_no(start.get("simulated"))),
        ("Adapter", text(adapter.content.get("banner")) if adapter else "--"),
        ("Protocol", text(adapter.content.get("protocol")) if adapter else "--"),
        ("VIN", _vin(vin)),
        ("Odometer", _odometer(odometer, units)),
        ("Sheet", text(sheet.get("name"))),
        ("Its source", _origin(sheet, "source")),
        *_figures(sheet),
        ("Its SHA-256", text(sheet.get("sha256"))),
        ("Window", window),
        ("Usual settle time", _settle_time(sheet)),
    )
    table = ReportTable(
        caption="Record, sheet and car", head=("What", "Told"), rows=rows
    )
    return Section(heading="How this was recorded", blocks=(table,))


def _settle_time(sheet: dict[str, Any]) -> str:
    """Return the time, and what it rests on if the sheet states none."""
    shown = show_duration(number(sheet.get("settle_time_s")))
    basis = sheet.get("settle_time_basis", Basis.STATED.value)
    return shown if basis == Basis.STATED.value else f"{shown}, reckoned: not stated"


def _odometer(moment: Moment | None, units: Units) -> str:
    """Return the distance, and the person's own words where they are others."""
    if moment is None:
        return ABSENT
    shown = show_distance(number(moment.content.get("km")), units)
    typed = moment.content.get("text")
    if not isinstance(typed, str) or typed.replace(" ", "") == shown.replace(" ", ""):
        return shown
    return f'{shown}, written as "{text(typed)}"'


def _vin(moment: Moment | None) -> str:
    if moment is None:
        return "--"
    check = text(moment.content.get("check"))
    return f"{text(moment.content.get('text'))} (check digit {check})"


_BEFORE = {"entered_by": "entered by ", "checked_by": "checked by "}


def _origin(content: Mapping[str, object], document: str) -> str:
    """Return document, edition, page and date, who entered and checked them, status."""
    keys = (document, "edition", "page", "dated", "entered_by", "checked_by", "status")
    parts = (
        f"{_BEFORE.get(k, '')}{text(content.get(k))}" for k in keys if content.get(k)
    )
    return ", ".join(parts) or text(None)


def _figures(sheet: Mapping[str, object]) -> Iterator[tuple[str, str]]:
    """Yield the figures that come from elsewhere, each beside where that is."""
    figures = sheet.get("figures")
    for one in figures if isinstance(figures, list) else ():
        names = one.get("of") if isinstance(one, dict) else None
        for name in names if isinstance(names, list) else ():
            yield f"Figure {text(name)}", _origin(one, "document")
