"""From a sheet's text to a Sheet, or to every mistake in it."""

from __future__ import annotations

from functools import partial
from typing import Any

from bridge.sheets.keys.all_keys import SECTIONS
from bridge.sheets.reading.findings import Findings, SectionRead
from bridge.sheets.reading.section_checks import (
    check_air_windows,
    check_circuits,
    check_figures,
    check_phases,
    check_refill,
    check_stick,
    section_checks,
)
from bridge.sheets.reading.service_together import SERVICE, read_service
from bridge.sheets.reading.sheet_page import SheetPage
from bridge.sheets.reading.signals import read_draft
from bridge.sheets.reading.signals_together import check_protocol, check_window, finish
from bridge.sheets.reading.table import SheetTable, in_words
from bridge.values.errors import SheetError
from bridge.values.found import Checkpoint, FigureSource, Found, Status
from bridge.values.sheet import (
    AirWindow,
    Confirmation,
    Leg,
    Role,
    Sheet,
    Signal,
    StickMarks,
    Window,
)

_TOP = ("gearbox", "level", "sump", "fluid", "link", "cautions", "steps")
"""The sections that fill the Sheet itself."""
Sections = dict[str, tuple[SectionRead, ...]]


def parse_sheet(text: str, name: str) -> Sheet:
    """Return the sheet a TOML text holds; ``name`` says where it came from.

    Raises:
        SheetError: one sentence with ``name``, the key and the remedy.
    """
    sheet, mistakes = examine(text, name)
    if sheet is None:
        raise mistakes[0]
    return sheet


def examine(text: str, name: str) -> tuple[Sheet | None, tuple[SheetError, ...]]:
    """Return the sheet, or None and every mistake that can be told apart.

    What is checked across sections is checked only when each is right by itself, so
    that no mistake is a mere consequence of another.
    """
    found = Findings()
    page = SheetPage(origin=name, text=text)
    entries = found.attempt(page.parse)
    if entries is None:
        return None, tuple(found.mistakes)
    top = SheetTable(page=page, section="", path=(), entries=entries)
    sheet = _assemble(top, found)
    return (None if found.mistakes else sheet), tuple(found.mistakes)


def _assemble(top: SheetTable, found: Findings) -> Sheet | None:
    found.attempt_each(partial(top.check_key, key) for key in top.entries)
    sections = {section: found.read(top, section) for section in SECTIONS}
    found.attempt_each(section_checks(sections))
    found.attempt(partial(check_air_windows, sections))
    found.attempt(partial(check_circuits, sections))
    found.attempt(partial(check_figures, sections))
    found.attempt(partial(check_phases, sections))
    found.attempt(partial(check_stick, sections))
    found.attempt(partial(check_refill, sections))
    signals = _read_signals(sections, found)
    service = None
    if found.clean(*((section,) for section in (*SERVICE, *_unknown(top)))):
        service = read_service(sections, found, signals)
    if found.mistakes or service is None:
        return None
    fields: dict[str, Any] = {}
    for section in _TOP:
        fields |= sections[section][0].fields(Sheet)
    figures = tuple(
        FigureSource(**one.fields(FigureSource)) for one in sections["figure"]
    )
    statuses = (fields.get("status"), *(one.status for one in figures))
    if Status.DRAFT in statuses:  # a first GO wants a second look, once
        fields["confirm"] = (*fields.get("confirm", ()), Confirmation.FIGURES)
    return Sheet(
        **fields,
        signals=signals,
        figures=figures,
        air_windows=tuple(
            AirWindow(**one.fields(AirWindow)) for one in sections["window"]
        ),
        legs=tuple(Leg(**one.fields(Leg)) for one in sections["phase"]),
        stick=tuple(StickMarks(**one.fields(StickMarks)) for one in sections["stick"]),
        found=_found(sections),
        service=service,
        origin=top.page.origin,
    )


def _unknown(top: SheetTable) -> list[str]:
    return [section for section in top.entries if section not in SECTIONS]


def _found(sections: Sections) -> Found | None:
    if not sections["found"][0].table.entries:
        return None  # comparisons with a signal nobody doubts
    return Found(
        **sections["found"][0].fields(Found),
        checkpoints=tuple(
            Checkpoint(**one.fields(Checkpoint)) for one in sections["confirmed"]
        ),
    )


def _read_signals(sections: Sections, found: Findings) -> tuple[Signal, ...]:
    """Return the signals, checked against one another if each is right."""
    drafts = tuple(read_draft(one, found) for one in sections["signal"])
    right = tuple(draft for draft in drafts if draft is not None)
    if len(right) < len(drafts) or not found.clean(("signal",)):
        return ()
    signals = found.attempt(partial(finish, right)) or ()
    if sections["link"] and found.clean(("link",)):
        found.attempt(partial(check_protocol, right, sections["link"][0]))
    for one in (*sections["level"], *sections["window"], *sections["phase"]):
        window = one.get("window")
        if window is not None:
            ends = Window(low_c=window[0], high_c=window[1])
            found.attempt(partial(check_window, right, ends))
        found.attempt(partial(_check_selector, one, signals))
    return signals


def _check_selector(level: SectionRead, signals: tuple[Signal, ...]) -> None:
    """Refuse a selector position that the selector's signal cannot tell."""
    position = level.get("selector")
    signal = next((s for s in signals if s.role is Role.SELECTOR), None)
    if position is None or signal is None or not signal.labels:
        return
    labels = [label for _, label in signal.labels]
    if position not in labels:
        raise level.table.mistake(
            "selector",
            f"is {in_words(position)}, which the selector's labels do not have; "
            f"write one of {', '.join(labels)}",
        )
