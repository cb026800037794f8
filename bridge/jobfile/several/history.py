"""Jobs one under the other: a car's history on the screen, a shop's year as CSV. Pure.

CSV: RFC 4180. Times are UTC, amounts mL, distances km, whatever the screen shows.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from typing import TextIO

from bridge.jobfile.export import utc_text, word
from bridge.jobfile.report.document import Document, Para, ReportTable, Section, Tone
from bridge.jobfile.report.field_words import moment_utc, number, plain, text, volume
from bridge.jobfile.report.service_section import SectionFacts
from bridge.jobfile.report.summary import Summary
from bridge.jobfile.several.compare_jobs import constant_words
from bridge.jobfile.several.warm_up import TimeConstant, warm_up_constant
from bridge.service import sums
from bridge.service.log import last
from bridge.service.papers.whose import bare, particulars
from bridge.units import ABSENT, Units, show_distance
from bridge.values.frozen import frozen
from bridge.values.service_events import Particular, ServiceKind


@frozen
class Visit:
    """One job of a car, in figures; None: not known."""

    job: str
    began_utc_s: float | None
    vin: str
    """As the car told it, else as somebody typed it."""
    plate: str
    customer: str
    km: float | None
    gearbox: str
    level: str
    """How it was judged, as words; '' where it was not."""
    out_ml: float | None
    in_ml: float | None
    constant: TimeConstant | None
    """Of the warm-up, where it was seen."""
    old_share: float | None
    """Share of old fluid left, 0..1, if it mixes completely."""
    due_on: str
    due_km: float | None
    record: str
    simulated: bool


def visit_of(summary: Summary) -> Visit:
    """Return a job's line of the history; what makes no sense in it is not known."""
    facts = SectionFacts(summary)
    known = particulars(facts.log)
    judged, odometer, vin = (summary.last(k) for k in ("judgement", "odometer", "vin"))
    outcome = judged.content.get("outcome") if judged else None
    due_on, due_km = _due(summary, facts)
    share = sums.old_share_of(facts.sheet, facts.log) if facts else None
    return Visit(
        job=summary.path.stem,
        began_utc_s=summary.began_utc_s,
        vin=_known(vin.content.get("text")) if vin else known.get(Particular.VIN, ""),
        plate=known.get(Particular.PLATE, ""),
        customer=known.get(Particular.CUSTOMER, ""),
        km=number(odometer.content.get("km")) if odometer else None,
        gearbox=_known(summary.sheet.get("name")),
        level=plain(outcome) if isinstance(outcome, str) else "",
        out_ml=_sum(summary, "drained"),
        in_ml=_sum(summary, "filled", "added"),
        constant=warm_up_constant(summary),
        old_share=share.share if share else None,
        due_on=due_on,
        due_km=due_km,
        record=summary.intact.state.value,
        simulated=bool(summary.start.get("simulated")),
    )


def _known(value: object) -> str:
    return "" if text(value) == ABSENT else text(value)


def _sum(summary: Summary, *what: str) -> float | None:
    found = [m for m in summary.of("volume") if m.content.get("what") in what]
    amounts = [a for m in found if (a := number(m.content.get("ml"))) is not None]
    return sum(amounts) if amounts else None


def _due(summary: Summary, facts: SectionFacts) -> tuple[str, float | None]:
    kept = last(facts.log, ServiceKind.DUE)
    if kept is not None:
        return kept.name, kept.km
    typed = summary.last("next-due")
    if typed is None:
        return "", None
    return _known(typed.content.get("date")), number(typed.content.get("km"))


def history(visits: Iterable[Visit], units: Units) -> Document:
    """Return jobs as one table, the oldest first."""
    ordered = sorted(visits, key=lambda v: v.began_utc_s or 0.0)
    rows = tuple(_row(v, units) for v in ordered)
    head = (
        *("Began", "Vehicle", "Odometer", "Level", "Out", "In", "Old left"),
        *("Time constant seen", "Due"),
    )
    cars = {v.vin or bare(v.plate) for v in ordered if v.vin or v.plate}
    blocks: list[Para | ReportTable] = []
    if len(cars) > 1:
        many = f"These are jobs on {len(cars)} different cars."
        blocks.append(Para(text=many, tone=Tone.DOUBT))
    elif any(not (v.vin or v.plate) for v in ordered):
        unsure = "Whether all of them are one car is not known: a number is missing."
        blocks.append(Para(text=unsure, tone=Tone.DOUBT))
    bad = [v.job for v in ordered if v.record != "intact"]
    if bad:
        blocks.append(Para(text=f"Not intact: {', '.join(bad)}.", tone=Tone.DOUBT))
    many = "1 job" if len(rows) == 1 else f"{len(rows)} jobs"
    blocks.append(ReportTable(caption=many, head=head, rows=rows))
    return Document(
        title="History",
        subtitle=", ".join(dict.fromkeys(v.gearbox for v in ordered if v.gearbox)),
        sections=(Section(heading="Jobs", blocks=tuple(blocks)),),
        footer="Amounts as measured; the share of old fluid left is what one service "
        "leaves if it mixes completely. A time constant is that of the warm-up from "
        "the coldest to the warmest reading, with what else would fit it (k = 2); a "
        "drive, a window or another engine speed makes it another one.",
    )


def _row(visit: Visit, units: Units) -> tuple[str, ...]:
    share = visit.old_share
    due = [visit.due_on] if visit.due_on else []
    due += [show_distance(visit.due_km, units)] if visit.due_km is not None else []
    level = visit.level or "not judged"
    return (
        moment_utc(visit.began_utc_s),
        " ".join(text(t) for t in (visit.plate, visit.vin) if t) or ABSENT,
        show_distance(visit.km, units),
        f"{level} (simulated)" if visit.simulated else level,
        volume(visit.out_ml, units),
        volume(visit.in_ml, units),
        ABSENT if share is None else f"{share * 100:.0f} %",
        constant_words(visit.constant),
        " or ".join(due) or ABSENT,
    )


COLUMNS = (
    "job", "began_utc", "vehicle", "plate", "customer", "odometer_km",
    "gearbox", "level", "out_ml", "in_ml", "old_share", "due_on", "due_km",
    "record", "simulated", "time_constant_s", "time_constant_low_s",
    "time_constant_high_s",
)  # fmt: skip


def to_csv(visits: Iterable[Visit], out: TextIO) -> None:
    """Write jobs as a table; the stream must not translate line ends."""
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    for v in sorted(visits, key=lambda v: v.began_utc_s or 0.0):
        began = "" if v.began_utc_s is None else utc_text(v.began_utc_s)
        words = (v.gearbox, v.level, v.due_on)
        gearbox, level, due_on = map(word, words)
        car = map(word, (v.vin, v.plate, v.customer))
        shown = [v.km, v.out_ml, v.in_ml, v.old_share, v.due_km]
        km, out_ml, in_ml, share, due_km = ("" if n is None else repr(n) for n in shown)
        writer.writerow(
            (
                *(word(v.job), began, *car, km, gearbox, level, out_ml, in_ml, share),
                *(due_on, due_km, v.record, "yes" if v.simulated else "no"),
                *_constant(v.constant),
            )
        )


def _constant(found: TimeConstant | None) -> tuple[str, ...]:
    if found is None:
        return ("", "", "")
    return tuple(f"{s:.1f}" for s in (found.tau_s, found.low_s, found.high_s))
