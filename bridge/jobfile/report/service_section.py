"""The report's part about the service: steps, amounts, plugs, old fluid, next due.

Computed from the file alone: the sheet's service as it was used, and the entries.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Any

from bridge.jobfile.report.document import (
    Block,
    Items,
    Para,
    ReportTable,
    Section,
    Tone,
)
from bridge.jobfile.report.field_words import (
    moment_utc,
    number,
    temperature,
    text,
    volume,
)
from bridge.jobfile.report.summary import Summary
from bridge.service import sums as sums
from bridge.service.against import against, is_complete
from bridge.service.balance import LOST_TEXT, VERDICT_TEXT, Balance
from bridge.service.before_after import ODDITY_TEXT
from bridge.service.fastening import angle_words, stages_words, ticks_wanted
from bridge.service.log import (
    Log,
    OneCircuit,
    applying,
    circuits_of,
    last,
    of,
    variant_of,
)
from bridge.service.log import ticked as ticks_of
from bridge.service.missing import missing
from bridge.service.old_fluid import COMMON_PRACTICE, SEEN_TEXT, Severity, meanings
from bridge.service.rounds import refits
from bridge.service.step_names import renewals, step_name
from bridge.units import ABSENT, Units, show_distance, show_torque
from bridge.values.codec import from_plain
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.service_sheet import Fastener, Service, StepKind, Tick
from bridge.values.sheet import LevelMethod, Sheet, Window


class SectionFacts:
    """The service of one job: its sheet, its log. False if there is none."""

    def __init__(self, summary: Summary) -> None:
        self.log: Log = summary.log
        self._any = summary.has_service
        kept = summary.sheet
        self.sheet = Sheet(
            name=text(kept.get("name")),
            source="",
            window=Window(low_c=0.0, high_c=0.0),
            fill_ml=number(kept.get("fill_ml")),
            density_kg_m3=number(kept.get("density_kg_m3")),
            method=_method(kept.get("method")),
            service=_service(kept.get("service")),
        )

    def __bool__(self) -> bool:
        """Return whether anything of a service was told."""
        return self._any

    @property
    def service(self) -> Service:
        """The service for the gearbox that was found."""
        return applying(self.sheet.service, self.log)


def _method(word: Any) -> LevelMethod:
    known = {m.value: m for m in LevelMethod}
    return known.get(str(word), LevelMethod.OVERFLOW_TUBE)


def _service(plain: Any) -> Service:
    try:
        return from_plain(Service, plain or {})
    except ValueError:
        return Service()


def sections(facts: SectionFacts, units: Units) -> tuple[Section, ...]:
    """Return the sections about the service; none if nothing was told."""
    if not facts:
        return ()
    return (
        _steps(facts),
        _amounts(facts, units),
        _plugs(facts, units),
        _old_fluid(facts),
        _car(facts, units),
        _due(facts, units),
    )


def _steps(facts: SectionFacts) -> Section:
    blocks: list[Block] = []
    found = variant_of(facts.sheet.service, facts.log)
    if found is not None:
        fit = "" if found.fits else " This sheet is NOT for it."
        tone = Tone.PLAIN if found.fits else Tone.BAD
        blocks.append(Para(text=f"Gearbox found: {found.name}.{fit}", tone=tone))
    marked = sorted(of(facts.log, ServiceKind.DONE), key=lambda e: e.at_utc_s)
    done = {e.step: e for e in marked}
    rows = tuple(
        (step_name(step), *_when(done.get(step)), _notes(facts, step.value))
        for step in facts.service.order
    )
    if rows:
        head = ("Step", "Done", "By", "Notes")
        blocks.append(
            ReportTable(caption="The steps, in the sheet's order", head=head, rows=rows)
        )
    worked = last(facts.log, ServiceKind.EXERCISED)
    if worked is not None:
        blocks.append(Para(text=f"Selector cycled: {text(worked.text)}."))
    return Section(heading="The service", blocks=tuple(blocks))


def _when(entry: ServiceEvent | None) -> tuple[str, str]:
    if entry is None:
        return ("left open", ABSENT)
    return (_at(entry), entry.who or ABSENT)


def _at(entry: ServiceEvent) -> str:
    """Return when an entry was made; the level step's facts have marks of their own."""
    return moment_utc(entry.at_utc_s) if entry.at_utc_s else "at the level step"


def _notes(facts: SectionFacts, step: str) -> str:
    notes = [
        text(e.text)
        for e in of(facts.log, ServiceKind.NOTE)
        if e.step and e.step.value == step
    ]
    return "; ".join(notes) or ABSENT


_WHAT = {
    ServiceKind.OUT: "came out",
    ServiceKind.IN: "went in",
    ServiceKind.ADDED: "added",
    ServiceKind.RAN_OFF: "ran off at the level",
}


def _amounts(facts: SectionFacts, units: Units) -> Section:
    rows = tuple(
        (
            what,
            text(e.name) if e.name else ABSENT,
            volume(e.ml, units),
            temperature(e.temp_c, units),
            _at(e),
        )
        for kind, what in _WHAT.items()
        for e in of(facts.log, kind)
    )
    if not rows:
        return _section("Fluid out and in", Para(text="No amount was measured."))
    head = ("What", "Where", "Amount", "At", "When")
    table = ReportTable(caption="As measured", head=head, rows=rows)
    return _section("Fluid out and in", table, *_balances(facts, units))


def balance_rows(
    log: Log, service: Service, done: Balance, units: Units
) -> tuple[tuple[str, str, str], ...]:
    """Return what came out and went in; nothing that was not measured has a figure."""
    out = of(log, ServiceKind.OUT)
    put_in = [*of(log, ServiceKind.IN), *of(log, ServiceKind.ADDED)]
    ran_off = of(log, ServiceKind.RAN_OFF)
    drained = out or StepKind.DRAIN not in service.order
    return tuple(
        (what, volume(amount.ml, units), f"± {volume(amount.expanded_ml, units)}")
        if known
        else (what, instead, ABSENT)
        for what, amount, known, instead in (
            ("Came out", done.out, out, "not measured"),
            ("Went in", done.put_in, put_in, "not measured"),
            ("Ran off at the level", done.ran_off, ran_off, "none told"),
            (
                "More in it than before (below 0: less)",
                done.net,
                drained and put_in,
                "not known",
            ),
        )
    )


def _balances(facts: SectionFacts, units: Units) -> Iterator[Block]:
    for one in circuits_of(facts.sheet, facts.log):
        if one.name:
            yield Para(text=f"Circuit: {text(one.name)}")
        yield from _balance(one, units)


def _balance(circuit: OneCircuit, units: Units) -> list[Block]:
    service = applying(circuit.sheet.service, circuit.log)
    done = sums.balance_of(circuit.sheet, circuit.log)
    if isinstance(done, str):
        return [Para(text=done, tone=Tone.DOUBT)]
    at = temperature(service.service_fill_temp_c, units)
    rows = balance_rows(circuit.log, service, done, units)
    head = ("What", "Amount", "Uncertain by (k = 2)")
    blocks: list[Block] = [
        ReportTable(
            caption=f"Brought to {at} (API MPMS 11.1, table 54D)", head=head, rows=rows
        ),
        Para(text=LOST_TEXT),
    ]
    judged = sums.judged_of(circuit.sheet, service, circuit.log)
    if judged is not None:
        by = f"{volume(judged.by_ml, units)} ± {volume(judged.expanded_ml, units)}"
        usual = volume(service.service_fill_ml, units)
        blocks.append(
            Para(
                text=f"Against the sheet's service fill of {usual}: {by}. "
                f"{VERDICT_TEXT[judged.verdict]}"
            )
        )
    share = sums.old_share_of(circuit.sheet, circuit.log)
    if share is not None:
        blocks.append(
            Para(
                text=f"Old fluid left: about {share.share * 100:.0f} % (between "
                f"{share.low * 100:.0f} and {share.high * 100:.0f} %), if it mixes "
                "fully."
            )
        )
    return blocks


def _plugs(facts: SectionFacts, units: Units) -> Section:
    rows = tuple(
        (text(f.name), _tick(f, tick, units), *_when(ticked(facts, f, tick)))
        for f in facts.service.fasteners
        for tick in ticks_wanted(f)
    )
    if not rows:
        return _section("Plugs and covers", Para(text="The sheet names none."))
    head = ("Which", "What the sheet asks", "Ticked off", "By")
    return _section(
        "Plugs and covers", ReportTable(caption="As ticked off", head=head, rows=rows)
    )


def ticked(facts: SectionFacts, fastener: Fastener, tick: Tick) -> ServiceEvent | None:
    """Return the last time something at a fastener was ticked off; None: never.

    Of a set of bolts with an order only once all of it was, of a drain's plug only if
    it was in each round.
    """
    times = refits(facts.service, facts.log, fastener)
    if tick not in ticks_of(facts.log, fastener, times):
        return None
    found = [
        e
        for e in of(facts.log, ServiceKind.TICKED)
        if (e.name, e.tick) == (fastener.name, tick)
    ]
    return found[-1] if found else None


def _tick(fastener: Fastener, tick: Tick, units: Units) -> str:
    if tick is Tick.RENEWED:
        return renewals(fastener)
    if tick is Tick.ANGLE:
        return angle_words(fastener)
    if tick is Tick.BACKED_OFF:
        return f"backed off {fastener.turns_back or 0:g} turns"
    if fastener.torque_nm is None:
        return "hand tight" if fastener.hand_tight else "tight (no torque on the sheet)"
    torque = show_torque(fastener.torque_nm, units)
    return f"torque {stages_words(fastener, partial(show_torque, units=units))}{torque}"


def _old_fluid(facts: SectionFacts) -> Section:
    seen = sums.old_fluid_of(facts.sheet, facts.service, facts.log)
    if not seen:
        return _section("The old fluid", Para(text="Nothing was told of it."))
    blocks: list[Block] = [Items(lines=tuple(SEEN_TEXT[s] for s in seen))]
    for meaning in meanings(seen):
        tone = Tone.BAD if meaning.severity is Severity.STOP else Tone.PLAIN
        if meaning.severity is Severity.INSPECT:
            tone = Tone.DOUBT
        blocks.append(Para(text=f"{meaning.means} {meaning.do}", tone=tone))
    blocks.append(Para(text=COMMON_PRACTICE))
    return _section("The old fluid", *blocks)


def _car(facts: SectionFacts, units: Units) -> Section:
    rows = [row for what in ("before", "after") for row in _kept(facts, what, units)]
    if not rows:
        return _section("The car before and after", Para(text="Nothing was kept."))
    blocks: list[Block] = [
        ReportTable(caption="As kept", head=("When", "What", "Found"), rows=tuple(rows))
    ]
    differences = sums.differences_of(facts.log)
    if differences is not None:
        blocks += [
            Para(text=ODDITY_TEXT[oddity], tone=Tone.DOUBT)
            for oddity in differences.oddities
        ]
    return _section("The car before and after", *blocks)


def _kept(
    facts: SectionFacts, what: str, units: Units
) -> Iterator[tuple[str, str, str]]:
    for e in of(facts.log, ServiceKind.ODOMETER):
        if e.step and e.step.value == what:
            yield (what, "odometer", show_distance(e.km, units))
    for e in of(facts.log, ServiceKind.CAR):
        if e.step and e.step.value == what:
            yield from ((what, *row) for row in _car_rows(e))


def _car_rows(entry: ServiceEvent) -> list[tuple[str, str]]:
    car = entry.car
    if car is None:
        return []
    lists = (
        ("stored codes", car.stored),
        ("pending codes", car.pending),
        ("permanent codes", car.permanent),
    )
    rows = [
        (what, "not read" if found is None else ", ".join(found) or "none")
        for what, found in lists
    ]
    volts = ABSENT if car.voltage_v is None else f"{car.voltage_v:.1f} V"
    return [*rows, ("supply", volts), ("vehicle number", car.vin or ABSENT)]


def _due(facts: SectionFacts, units: Units) -> Section:
    kept = last(facts.log, ServiceKind.DUE)
    if kept is None:
        return _section("Next due", Para(text="It was not told when it is due."))
    rows = [
        ("on", text(kept.name) if kept.name else ABSENT),
        ("at", ABSENT if kept.km is None else show_distance(kept.km, units)),
    ]
    hard = "yes" if of(facts.log, ServiceKind.SEVERE) else "no"
    rows.append(("used hard", hard))
    table = ReportTable(
        caption="Whichever comes first", head=("What", "When"), rows=tuple(rows)
    )
    return _section("Next due", table)


def lacking(facts: SectionFacts) -> tuple[str, ...]:
    """Return what the sheet asks for and was never entered."""
    return missing(facts.sheet.service, facts.log) if facts else ()


def speaks_against(facts: SectionFacts) -> tuple[str, ...]:
    """Return what was found that speaks against the job and was not answered."""
    return tuple(a.text for a in against(facts.sheet, facts.log)) if facts else ()


def answered(facts: SectionFacts) -> tuple[str, ...]:
    """Return what was looked into, and what was found and done about it."""
    return tuple(
        f"Looked into ({text(e.name)}): {text(e.text)}"
        for e in of(facts.log, ServiceKind.ANSWERED)
    )


def closed(facts: SectionFacts) -> tuple[str, Tone]:
    """Return when the service was closed and whether it is complete."""
    entry = last(facts.log, ServiceKind.COMPLETE)
    if entry is None:
        return "The service was not closed as complete.", Tone.DOUBT
    when = moment_utc(entry.at_utc_s)
    if is_complete(facts.sheet, facts.log):
        return f"The service was closed as complete on {when}.", Tone.GOOD
    where = "see what is open and what speaks against it"
    return f"The service was closed on {when}, NOT complete: {where}.", Tone.BAD


def _section(heading: str, *blocks: Block) -> Section:
    return Section(heading=heading, blocks=blocks)
