"""The report's part about the papers: what was used, with what, what came of it."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from bridge.jobfile.report.document import Para, ReportTable, Section, Tone
from bridge.jobfile.report.field_words import moment_utc, temperature, text, volume
from bridge.protocol.vehicle_number import check_digit
from bridge.service.log import of
from bridge.service.papers.paper_words import (
    OUTCOME,
    PAPER_TEXT,
    USED,
    Shown,
    papers,
    words,
    wrench_of,
)
from bridge.service.papers.whose import PARTICULAR_TEXT, particulars
from bridge.units import ABSENT, Units, show_torque
from bridge.values.readings import CheckDigit
from bridge.values.service_events import Particular, ServiceEvent, ServiceKind

if TYPE_CHECKING:
    from bridge.jobfile.report.document import Block
    from bridge.jobfile.report.service_section import SectionFacts
    from bridge.service.log import Log

LEAST_CELL, LONGEST_TABLE = 80, 700
"""Characters of one cell at least, and of all cells of the first page's table."""
DIGIT_TEXT: dict[CheckDigit, str] = {
    CheckDigit.RIGHT: "check digit right",
    CheckDigit.WRONG: "CHECK DIGIT WRONG",
    CheckDigit.NOT_CHECKED: "no check digit to check",
}


def whose(log: Log) -> tuple[tuple[str, str], ...]:
    """Return the rows that say whose car it is, which one, who works on it."""
    known = particulars(log)
    rows = []
    for label, kinds in _ROWS:
        words = [text(known[what]) for what in kinds if what in known]
        if words:
            rows.append((label, ", ".join(words)))
    return tuple(rows)


_ROWS: tuple[tuple[str, tuple[Particular, ...]], ...] = (
    ("Customer", (Particular.CUSTOMER,)),
    ("Car", (Particular.PLATE, Particular.MODEL)),
    ("Shop", (Particular.SHOP, Particular.PLACE, Particular.MECHANIC)),
)


def typed_number(log: Log) -> str:
    """Return the vehicle's number as typed, with its check digit; '' if none was."""
    number = particulars(log).get(Particular.VIN)
    return f"{text(number)} ({DIGIT_TEXT[check_digit(number)]})" if number else ""


def in_short(facts: SectionFacts, units: Units) -> tuple[Block, ...]:
    """Return the first page's table of what was used and what came of it."""
    kinds = _kinds(facts)
    most = max(LEAST_CELL, LONGEST_TABLE // max(1, len(kinds)))
    rows = tuple((PAPER_TEXT[k], _together(facts, k, units, most)) for k in kinds)
    caption = "What was used, and what came of it"
    return (
        (ReportTable(caption=caption, head=("What", "Told"), rows=rows),)
        if rows
        else ()
    )


def rows_in_short(facts: SectionFacts) -> int:
    """Return how many rows that table has."""
    return len(_kinds(facts))


def _kinds(facts: SectionFacts) -> list[ServiceKind]:
    return [kind for kind in (*USED, *OUTCOME) if of(facts.log, kind)]


def _together(facts: SectionFacts, kind: ServiceKind, units: Units, most: int) -> str:
    """Return all of one kind in one cell, so that the first page stays one page."""
    found = [_words(facts, e, units) for e in of(facts.log, kind)]
    for many in range(len(found), 0, -1):
        left = len(found) - many
        more = f"; and {left} more, under The papers" if left else ""
        shown = f"{'; '.join(found[:many])}{more}"
        if len(shown) <= most:
            return shown
    return f"{found[0][:most]} ... (more under The papers)"


def _words(facts: SectionFacts, event: ServiceEvent, units: Units) -> str:
    shown = Shown(
        volume=partial(volume, units=units),
        temperature=partial(temperature, units=units),
    )
    return text(words(event, facts.service, shown))


def sections(facts: SectionFacts, units: Units) -> tuple[Section, ...]:
    """Return the sections behind the first page; of a job without any, none."""
    found = papers(facts.log)
    set_to = of(facts.log, ServiceKind.TORQUE)
    blocks: list[Block] = []
    if found:
        rows = tuple(
            (
                PAPER_TEXT[e.kind],
                _words(facts, e, units),
                moment_utc(e.at_utc_s),
                text(e.who),
            )
            for e in found
        )
        head = ("What", "Told", "When", "By")
        caption = "Used, handed in, and found afterwards"
        blocks.append(ReportTable(caption=caption, head=head, rows=rows))
    if set_to:
        blocks.append(_torques(facts, units))
    whose_rows = [
        (PARTICULAR_TEXT[Particular(e.name)], text(e.text), moment_utc(e.at_utc_s))
        for e in of(facts.log, ServiceKind.PARTICULAR)
        if e.name in tuple(Particular)
    ]
    if whose_rows:
        blocks.append(
            ReportTable(
                caption="Car and people",
                head=("What", "Told", "When"),
                rows=tuple(whose_rows),
            )
        )
    if not blocks:
        return ()
    return (Section(heading="The papers", blocks=tuple(blocks)),)


def _torques(facts: SectionFacts, units: Units) -> Block:
    asked = {f.name: f for f in facts.service.fasteners}
    rows = []
    for event in of(facts.log, ServiceKind.TORQUE):
        sheet = asked.get(event.name)
        tolerance = sheet.torque_tolerance_nm if sheet else None
        wanted = show_torque(sheet.torque_nm if sheet else None, units)
        give = "" if tolerance is None else f" ± {show_torque(tolerance, units)}"
        turn = sheet.angle_deg if sheet else None
        rows.append(
            (
                text(event.name),
                show_torque(event.torque_nm, units),
                f"{wanted}{give}{'' if turn is None else f', then {turn:g}°'}",
                wrench_of(facts.log, event) or ABSENT,
                moment_utc(event.at_utc_s),
            )
        )
    head = ("Which", "Set to", "The sheet asks", "With", "When")
    return ReportTable(caption="Torques as told", head=head, rows=tuple(rows))


def untold(log: Log) -> list[str]:
    """Return a line for each detail a customer may ask for that was never entered."""
    wanted = (
        (ServiceKind.FLUID_USED, "which fluid was used, by its can"),
        (ServiceKind.WASTE, "where the old fluid was handed in"),
        (ServiceKind.LEAK_CHECK, "a leak check after the work"),
        (ServiceKind.ROAD_TEST, "a road test"),
    )
    lines = [what for kind, what in wanted if not of(log, kind)]
    known = particulars(log)
    if not {Particular.PLATE, Particular.VIN} & known.keys():
        lines.append("the car's plate")
    return lines


def doubted(log: Log) -> tuple[Para, ...]:
    """Say on the first page where a typed number's check digit does not fit."""
    typed = particulars(log).get(Particular.VIN)
    if typed is None or check_digit(typed) is not CheckDigit.WRONG:
        return ()
    return (
        Para(
            text="The check digit of the vehicle number typed does not fit: compare "
            "it with the car (only North America demands it).",
            tone=Tone.DOUBT,
        ),
    )
