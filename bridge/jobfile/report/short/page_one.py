"""The report's first page: whose car, what was done, what came of it, who signs. Pure.

It says nothing that does not stand further back with its evidence.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from bridge.jobfile.file.check import FileState
from bridge.jobfile.report.document import (
    Block,
    Items,
    Para,
    ReportTable,
    Section,
    Tone,
)
from bridge.jobfile.report.field_words import (
    Local,
    moment_both,
    number,
    of,
    plain,
    text,
    volume,
)
from bridge.jobfile.report.level_section import OUTCOMES
from bridge.jobfile.report.service_section import (
    SectionFacts,
    answered,
    balance_rows,
    closed,
    speaks_against,
    ticked,
)
from bridge.jobfile.report.short import papers_section
from bridge.jobfile.report.short.level_tables import (
    SOURCES,
    budget_rows,
    level_error,
)
from bridge.jobfile.report.summary import Moment, Summary
from bridge.service import sums
from bridge.service.against import REFILL_TEXT
from bridge.service.balance import VERDICT_TEXT, BalanceVerdict
from bridge.service.fastening import ticks_wanted
from bridge.service.log import last
from bridge.service.log import of as of_kind
from bridge.units import ABSENT, Units, show_distance, show_torque
from bridge.values.codec import to_plain
from bridge.values.service_events import ServiceKind
from bridge.values.service_sheet import StepKind, Tick

MOST_LINES, LEAST_LINES = 8, 2
"""Of what is open so much is told here; the rest further back."""
MOST_CODES = 20
_SIGN = "_" * 26


def page_one(
    summary: Summary,
    facts: SectionFacts,
    units: Units,
    opened: list[str],
    local: Local | None,
) -> Section:
    """Return the first page; ``opened``: what was not done or not recorded."""
    blocks: list[Block] = [
        *_closed(facts),
        _whose(summary, facts, units, local),
        *papers_section.doubted(facts.log),
        *_set(summary, facts, units),
        _fluid(summary, facts, units),
        *papers_section.in_short(facts, units),
        *_torques(summary, facts, units),
        *_codes(summary, facts),
        *_against(summary, facts),
        *_open(opened, _room(facts)),
        Para(text=f"Next due: {_due(summary, facts, units)}"),
        Para(text=f"Work done by {_SIGN}   date {_SIGN[:12]}", signed=True),
        Para(text=f"Handed over to {_SIGN}   date {_SIGN[:12]}", signed=True),
    ]
    return Section(heading="In short", blocks=tuple(blocks), ends_page=True)


def _closed(facts: SectionFacts) -> Iterator[Para]:
    """Say at the head whether the service is complete."""
    if facts:
        sentence, tone = closed(facts)
        yield Para(text=sentence, tone=tone)


def _whose(
    summary: Summary, facts: SectionFacts, units: Units, local: Local | None
) -> ReportTable:
    odometer, vin = summary.last("odometer"), summary.last("vin")
    km = number(odometer.content.get("km")) if odometer else None
    who = dict.fromkeys(e.who for e in facts.log if e.who)
    rows = (
        *papers_section.whose(facts.log),
        ("Vehicle number", _number(vin, facts)),
        ("Odometer", show_distance(km, units)),
        ("Gearbox", text(summary.sheet.get("name"))),
        ("Began", moment_both(summary.began_utc_s, local)),
        ("Ended", moment_both(summary.ended_utc_s, local)),
        ("Work by", ", ".join(map(text, who)) or ABSENT),
    )
    return ReportTable(caption="Car and job", head=("What", "Told"), rows=rows)


def _number(vin: Moment | None, facts: SectionFacts) -> str:
    """Return the vehicle's number as the car told it and as somebody typed it."""
    read = text(vin.content.get("text")) if vin else ""
    typed = papers_section.typed_number(facts.log)
    both = (f"{read}, as read" if read else "", f"{typed}, as typed" if typed else "")
    return "; ".join(b for b in both if b) or ABSENT


def _set(summary: Summary, facts: SectionFacts, units: Units) -> Iterator[Para]:
    """Say how the level stands; never as good while something speaks against it."""
    step = facts.sheet.has_level_step
    for para in _level(summary, units) if step else _refill(facts, units):
        if para.tone is Tone.GOOD and speaks_against(facts):
            yield Para(text=f"{para.text} {BUT}", tone=Tone.DOUBT)
        else:
            yield para


BUT = "But see what speaks against handing it over."


def _level(summary: Summary, units: Units) -> Iterator[Para]:
    judged = summary.last("judgement")
    outcome = judged.content.get("outcome") if judged else None
    if judged is None or not outcome:
        yield Para(text="Level: not judged, it is not proven.", tone=Tone.DOUBT)
        return
    sentence, tone = OUTCOMES.get(str(outcome), (plain(outcome), Tone.DOUBT))
    yield Para(text=f"Level: {sentence}", tone=tone)
    by = level_error(of(judged.content, "error"), units)
    if by != ABSENT:
        yield Para(text=f"What the fluid's temperature makes of the level: {by}.")
    yield from _budget(of(judged.content, "budget"), units)


def _budget(budget: dict[str, Any], units: Units) -> Iterator[Para]:
    """Say how well the level is known in all, and which doubt is not in that."""
    wide_ml = number(budget.get("expanded_ml"))
    if wide_ml is None:
        return
    parts = budget.get("parts")
    unknown = [
        SOURCES.get(str(part.get("source")), plain(part.get("source")))
        for part in (parts if isinstance(parts, list) else ())
        if isinstance(part, dict) and number(part.get("sd_ml")) is None
    ]
    left = f", without the doubt {' and '.join(unknown)}: not known" if unknown else ""
    by = f"{volume(budget.get('off_ml'), units)} ± {volume(wide_ml, units)} (k = 2)"
    yield Para(text=f"The level in all: {by}{left}.")


def _refill(facts: SectionFacts, units: Units) -> Iterator[Para]:
    """Say how a level stands that is set by measuring alone."""
    found = sums.refill_of(facts.sheet, facts.log)
    if found is None:
        yield Para(text="Level: not measured, it is not proven.", tone=Tone.DOUBT)
        return
    by = f"{volume(found.by_ml, units)} ± {volume(found.expanded_ml, units)}"
    good = found.verdict is BalanceVerdict.WITHIN
    yield Para(
        text=f"Level, by measure: {REFILL_TEXT[found.verdict]} By {by} (k = 2).",
        tone=Tone.GOOD if good else Tone.BAD,
    )
    worth = sums.refill_budget(facts.sheet, facts.log)
    parts = (f"{name}: {by}" for name, by in budget_rows(to_plain(worth), units))
    yield Para(text="; ".join(parts) + ".")


def _fluid(summary: Summary, facts: SectionFacts, units: Units) -> Block:
    if facts and len(facts.sheet.service.circuits) > 1:
        return _as_measured(summary, units, "Each circuit's balance stands further on.")
    done = sums.balance_of(facts.sheet, facts.log) if facts else ""
    if isinstance(done, str):
        return _as_measured(summary, units, done)
    if not done.pours and not done.out.ml:  # what was typed later stands by itself
        return _as_measured(summary, units, "")
    return ReportTable(
        caption="Fluid, brought to one temperature (k = 2)",
        head=("What", "Amount", "Uncertain by"),
        rows=balance_rows(facts.log, facts.service, done, units),
    )


def _as_measured(summary: Summary, units: Units, why: str) -> Block:
    """Return sums of what was measured, where no balance can be made."""
    totals: dict[str, float] = {}
    for moment in summary.of("volume"):
        ml = number(moment.content.get("ml"))
        if ml is not None:
            what = plain(moment.content.get("what")).capitalize()
            totals[what] = totals.get(what, 0.0) + ml
    if not totals:
        return Para(text="Fluid: no amount was measured.", tone=Tone.DOUBT)
    rows = tuple((what, volume(ml, units)) for what, ml in totals.items())
    note = f" ({why.rstrip('.')})" if why else ""
    caption = f"Fluid as measured, not brought to one temperature{note}"
    return ReportTable(caption=caption, head=("What", "Amount"), rows=rows)


_TIGHT = (Tick.TIGHTENED, Tick.ANGLE)


def _torques(summary: Summary, facts: SectionFacts, units: Units) -> Iterator[Para]:
    wanted = [
        (f, t) for f in facts.service.fasteners for t in ticks_wanted(f) if t in _TIGHT
    ]
    typed = bool(summary.of("fastener")) and not of_kind(facts.log, ServiceKind.TICKED)
    if not facts or not wanted or typed:
        yield _typed_torques(summary, units)
        return
    left = [(f, t) for f, t in wanted if ticked(facts, f, t) is None]
    if not left:
        many = f"all {len(wanted)} torques and angles the sheet asks for"
        yield Para(text=f"Set, as ticked off: {many}.", tone=Tone.GOOD)
    figures = {e.name: e.torque_nm for e in of_kind(facts.log, ServiceKind.TORQUE)}
    unset = [
        f"{text(f.name)} ({'angle' if t is Tick.ANGLE else 'torque'})"
        for f, t in left
        if t is Tick.ANGLE or f.name not in figures
    ]
    if unset:
        yield Para(text=f"NOT told to be set: {', '.join(unset)}.", tone=Tone.BAD)
    only = [
        f"{text(f.name)} {show_torque(figures[f.name], units)}"
        for f, t in left
        if t is Tick.TIGHTENED and f.name in figures
    ]
    if only:
        told_only = f"Told as set to, but not ticked off: {', '.join(only)}."
        yield Para(text=told_only, tone=Tone.DOUBT)


def _typed_torques(summary: Summary, units: Units) -> Para:
    found = [
        f"{text(m.content.get('what'))} {show_torque(nm, units)}"
        for m in summary.of("fastener")
        if (nm := number(m.content.get("torque_nm"))) is not None
    ]
    if not found:
        return Para(text="Torques: none is in the record.", tone=Tone.DOUBT)
    return Para(text=f"Torques as typed in: {', '.join(found)}.")


def _codes(summary: Summary, facts: SectionFacts) -> Iterator[Para]:
    """Say which trouble codes the car told before and after, watched or kept."""
    read = [m.content for m in summary.of("codes")]
    kept: list[tuple[StepKind | None, dict[str, Any]]] = [
        (e.step, to_plain(e.car)) for e in of_kind(facts.log, ServiceKind.CAR) if e.car
    ]
    before = [*read[:1], *(c for step, c in kept if step is StepKind.BEFORE)]
    after = [*read[1:][-1:], *(c for step, c in kept if step is not StepKind.BEFORE)]
    if before and after:
        yield Para(
            text=f"Trouble codes before: {_all_codes(before)}; after: "
            f"{_all_codes(after)}."
        )
    elif before or after:
        yield Para(text=f"Trouble codes, read once: {_all_codes(before or after)}.")


def _all_codes(lists: list[dict[str, Any]]) -> str:
    """Return every code of several readings, the first MOST_CODES by name."""
    kinds = ("stored", "pending", "permanent")
    found = [
        v for codes_of in lists for k in kinds if isinstance(v := codes_of.get(k), list)
    ]
    if not found:
        return "not told"
    codes = list(dict.fromkeys(text(c) for v in found for c in v))
    more = len(codes) - MOST_CODES
    rest = [f"and {more} more, further back"] if more > 0 else []
    return ", ".join([*codes[:MOST_CODES], *rest]) or "none"


def _against(summary: Summary, facts: SectionFacts) -> Iterator[Block]:
    """Yield what speaks against handing the car over."""
    if summary.intact.state is not FileState.INTACT:
        tone = Tone.BAD
        if summary.intact.state in (FileState.GAPS, FileState.OPEN):
            tone = Tone.DOUBT
        yield Para(text=f"The record is {summary.intact.sentence}.", tone=tone)
    if not facts:
        return
    judged = sums.judged_of(facts.sheet, facts.service, facts.log)
    if judged is not None and judged.verdict is BalanceVerdict.CANNOT_TELL:
        yield Para(text=VERDICT_TEXT[judged.verdict], tone=Tone.DOUBT)
    found = speaks_against(facts)
    if found:
        yield Para(text="Speaks against handing it over:", tone=Tone.BAD)
        yield _first(found, MOST_LINES)
    done = answered(facts)
    if done:
        yield Para(text="Found, and looked into:", tone=Tone.DOUBT)
        yield _first(done, LEAST_LINES)


def _room(facts: SectionFacts) -> int:
    """Return how many open points leave the first page one page."""
    taken = len(speaks_against(facts)) + papers_section.rows_in_short(facts)
    return max(LEAST_LINES, MOST_LINES - taken)


def _open(opened: list[str], most: int) -> Iterator[Block]:
    if not opened:
        yield Para(text="Nothing is missing from the record.", tone=Tone.GOOD)
        return
    yield Para(text="Open, or not recorded:", tone=Tone.DOUBT)
    yield _first(opened, most)


def _first(lines: Sequence[str], most: int) -> Items:
    return Items(lines=tuple(lines[:most]), more=max(0, len(lines) - most))


def _due(summary: Summary, facts: SectionFacts, units: Units) -> str:
    kept = last(facts.log, ServiceKind.DUE) if facts else None
    if kept is not None:
        return _either(kept.name or "", kept.km, units)
    typed: Moment | None = summary.last("next-due")
    if typed is None:
        return "not told."
    when = typed.content.get("date")
    km = number(typed.content.get("km"))
    return _either(when if isinstance(when, str) else "", km, units)


def _either(on: str, km: float | None, units: Units) -> str:
    parts = [f"on {text(on)}"] if on else []
    parts += [f"at {show_distance(km, units)}"] if km is not None else []
    both = ", whichever comes first" * (len(parts) == 2)
    return f"{' or '.join(parts)}{both}." if parts else "not told."
