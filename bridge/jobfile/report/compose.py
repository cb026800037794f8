"""A job's summary as a report: the level first, then what it rests on. Pure.

No figure is written that is not in the file: what is missing is said to be missing.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace

from bridge.jobfile.file.check import FileState
from bridge.jobfile.report import (
    car_section,
    level_section,
    service_section,
    work_section,
)
from bridge.jobfile.report.document import (
    Block,
    Document,
    Items,
    Para,
    Section,
    Tone,
    apart,
    without,
)
from bridge.jobfile.report.field_words import Local, moment_utc, text
from bridge.jobfile.report.short import papers_section
from bridge.jobfile.report.short.page_one import page_one
from bridge.jobfile.report.summary import Summary
from bridge.service.papers.whose import private_words
from bridge.units import Units
from bridge.values.service_events import Particular

_TONES = {
    FileState.INTACT: Tone.GOOD,
    FileState.GAPS: Tone.DOUBT,
    FileState.OPEN: Tone.DOUBT,
    FileState.CHANGED: Tone.BAD,
    FileState.ALTERED: Tone.BAD,
}
MOST_OF_NAME = 80
"""Characters of the gearbox's name above every report; the rest stands in it."""


def compose(
    summary: Summary,
    units: Units,
    *,
    local: Local | None = None,
    anonymous: bool = False,
) -> Document:
    """Return the report of a job in a person's units.

    ``local`` tells local time beside UTC; ``anonymous`` leaves the vehicle's number
    out, and customer and plate, wherever they stand, and says so.
    """
    facts = service_section.SectionFacts(summary)
    parts: tuple[tuple[str, Callable[[], Section | tuple[Section, ...]]], ...] = (
        (
            "In short",
            lambda: page_one(summary, facts, units, _open(summary, facts), local),
        ),
        ("The level", lambda: level_section.level(summary, units)),
        ("The temperature", lambda: level_section.trace(summary, units)),
        ("Conditions", lambda: level_section.conditions(summary, units)),
        ("Verdicts", lambda: level_section.verdicts(summary)),
        ("The service", lambda: service_section.sections(facts, units)),
        ("The papers", lambda: papers_section.sections(facts, units)),
        ("The work", lambda: _typed_later(summary, units, facts)),
        ("Trouble codes", lambda: car_section.codes(summary)),
        ("Cautions", lambda: work_section.cautions(summary)),
        (
            "Notes and photos",
            lambda: work_section.notes(summary, pictures=not anonymous),
        ),
        ("Is the record intact?", lambda: record(summary)),
        ("What was not done", lambda: not_done(summary, facts)),
        ("The job", lambda: car_section.about(summary, units)),
    )
    sections = tuple(s for heading, make in parts for s in _made(heading, make))
    name = text(summary.sheet.get("name"))[:MOST_OF_NAME]
    bench = "SIMULATED, not a real car. " if summary.start.get("simulated") else ""
    began = moment_utc(summary.began_utc_s)
    document = Document(
        title="Fluid level job",
        subtitle=f"{bench}{name}, {began}",
        sections=sections,
        footer=f"Job file {summary.path.name}. The maker's procedure and figures come "
        "first; this report says what was measured, not that the car is safe.",
        date_utc_s=summary.ended_utc_s,
        digest=summary.intact.head,
    )
    if not anonymous:
        return document
    cleared = without(document, _private(summary))
    return replace(cleared, subtitle=f"{cleared.subtitle}. {ANONYMOUS}")


ANONYMOUS = "Vehicle number, plate and customer are left out of this report."


def _private(summary: Summary) -> Iterator[str]:
    """Yield patterns of every number, plate and customer the record holds."""
    read = [m.content.get("text") for m in summary.of("vin")]
    kept = [e.car.vin for e in summary.log if e.car is not None and e.car.vin]
    private = private_words(summary.log)
    yield from map(apart, (v for v in (*read, *kept) if isinstance(v, str)))
    yield from map(apart, private[Particular.VIN])
    yield from map(apart, private[Particular.PLATE])
    for customer in private[Particular.CUSTOMER]:
        yield apart(customer)
        names = _NAME.findall(customer)
        yield from (apart(n) for n in names if n.casefold() not in _COMMON)


_NAME = re.compile(r"[^\W_]{3,}(?:['’-][^\W_]+)*")
"""A word of the customer's that may stand in a note by itself."""
_COMMON = frozenset({"and", "for", "the"})


def _made(
    heading: str, make: Callable[[], Section | tuple[Section, ...]]
) -> tuple[Section, ...]:
    """Return a part of the report; of a record that makes no sense, say that.

    The chain says that an event is as it was written, not that this tool wrote it:
    a list may stand where a word belongs.
    """
    try:
        made = make()
    except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError):
        why = (
            "This part cannot be shown: the record holds something there that "
            "sumpgate does not write. Do not rely on it."
        )
        made = Section(heading=heading, blocks=(Para(text=why, tone=Tone.BAD),))
    return made if isinstance(made, tuple) else (made,)


def _typed_later(
    summary: Summary, units: Units, facts: service_section.SectionFacts
) -> tuple[Section, ...]:
    """Return what was added to the file by itself; in a service only what is there."""
    made = (
        ("volume", work_section.volumes(summary, units)),
        ("fastener", work_section.fasteners(summary, units)),
        ("old-fluid", work_section.old_fluid(summary)),
        ("next-due", work_section.next_due(summary, units)),
    )
    later = {
        kind
        for kind, _ in made
        if any(not m.content.get("service") for m in summary.of(kind))
    }
    return tuple(section for kind, section in made if not facts or kind in later)


def record(summary: Summary) -> Section:
    """Return whether the file is as it was written."""
    finding = summary.intact
    blocks = [
        Para(text=f"The record is {finding.sentence}.", tone=_TONES[finding.state])
    ]
    if finding.state in (FileState.CHANGED, FileState.ALTERED):
        blocks.append(
            Para(
                text="Do not rely on this report as proof. Nothing after the first "
                "event that does not fit is shown in it.",
                tone=Tone.BAD,
            )
        )
    blocks.append(
        Para(
            text="The chain of hashes shows a change made to the file by accident or "
            "by hand. It cannot show that somebody made the whole file anew, nor who "
            "wrote it, nor that the clock or the sensor was right."
        )
    )
    if summary.lost:
        blocks.append(
            Para(
                text=f"{summary.lost} events could not be written at the time and are "
                "missing.",
                tone=Tone.DOUBT,
            )
        )
    if summary.left_out:
        blocks.append(
            Para(
                text=f"{summary.left_out} events are too many or too large to be shown "
                "here; export shows them.",
                tone=Tone.DOUBT,
            )
        )
    blocks.append(Para(text=f"Hash of the last event: {finding.head}"))
    return Section(heading="Is the record intact?", blocks=tuple(blocks))


_WANTED = (
    ("judgement", "the level step: opening and closing were not marked"),
    ("volume", "volumes drained and filled"),
    ("fastener", "plugs and covers, their washers and torque"),
    ("old-fluid", "how the old fluid looked"),
    ("codes", "the car's trouble codes"),
    ("odometer", "the odometer"),
    ("vin", "the vehicle's identification number"),
    ("next-due", "when the next service is due"),
)


_BY_SERVICE = frozenset({"volume", "fastener", "old-fluid", "odometer", "next-due"})
"""What a service lists by itself, more exactly."""


def _open(summary: Summary, facts: service_section.SectionFacts) -> list[str]:
    """Return a line for each thing not done or not entered."""
    lines = [
        what
        for kind, what in _WANTED
        if not summary.of(kind) and not (facts and kind in _BY_SERVICE)
    ]
    if len(summary.of("codes")) == 1:
        lines.append("trouble codes after the job: they were read once only")
    if not summary.go:
        lines.append("GO was never shown")
    if facts:
        lines += papers_section.untold(facts.log)
    return [*lines, *service_section.lacking(facts)]


def _closed(facts: service_section.SectionFacts) -> Para:
    sentence, tone = service_section.closed(facts)
    return Para(text=sentence, tone=tone)


def not_done(summary: Summary, facts: service_section.SectionFacts) -> Section:
    """Return what the file does not hold."""
    lines = _open(summary, facts)
    closed = [_closed(facts)] if facts else []
    if not lines:
        blocks: list[Block] = [Para(text="Nothing is missing from the record.")]
    else:
        missing = Para(text="Not recorded, so not shown to have been done:")
        blocks = [missing, Items(lines=tuple(lines))]
    for words, found in (
        (
            "What speaks against handing the car over:",
            service_section.speaks_against(facts),
        ),
        ("Found, and looked into:", service_section.answered(facts)),
    ):
        blocks += [Para(text=words), Items(lines=found)] if found else []
    return Section(heading="What was not done", blocks=(*closed, *blocks))
