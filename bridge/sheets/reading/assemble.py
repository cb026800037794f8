"""From a sheet's text to a Sheet, or to every mistake in it."""

from __future__ import annotations

from typing import Any

from bridge.sheets.reading.findings import Findings
from bridge.sheets.reading.geometry import check_selector, read_step
from bridge.sheets.reading.probe import probe
from bridge.sheets.reading.read_found import read_found
from bridge.sheets.reading.sections import (
    Level,
    read_level,
    read_protocol,
    read_session,
)
from bridge.sheets.reading.service_assemble import read_service
from bridge.sheets.reading.sheet_page import Page
from bridge.sheets.reading.signals import read_draft
from bridge.sheets.reading.signals_together import check_protocol, check_window, finish
from bridge.sheets.reading.table import Table
from bridge.values.errors import SheetError
from bridge.values.sheet import Sheet, Signal


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
    page = Page(origin=name, text=text)
    entries = found.attempt(page.parse)
    if entries is None:
        return None, tuple(found.mistakes)
    top = Table(page=page, section="", path=(), entries=entries)
    sheet = _assemble(top, found)
    if sheet is not None and not found.mistakes:
        return sheet, ()
    probe(top, found)
    return None, tuple(found.mistakes)


def _assemble(top: Table, found: Findings) -> Sheet | None:
    found.attempt(top.check_keys)
    found.attempt(lambda: top.one("gearbox"))
    level = found.attempt(lambda: read_level(top.one("level")))
    step = found.attempt(
        lambda: read_step(top.one("level"), top.one("sump"), top.one("fluid"))
    )
    link = found.attempt(lambda: _link(top.one("link")))
    signals = _read_signals(top, found, level, link)
    cautions = found.attempt(lambda: top.one("cautions").lines("lines"))
    steps = found.attempt(lambda: top.one("steps").lines("level"))
    if step is not None:
        position = step["selector_position"]
        found.attempt(lambda: check_selector(top.one("level"), position, signals))
    gearbox = found.attempt(lambda: _gearbox(top.one("gearbox")))
    from_search = found.attempt(
        lambda: read_found(top.one("found"), top.each("confirmed"))
    )
    service = read_service(top, found, cautions or (), signals)
    if not (gearbox and level and link and step):
        return None
    return Sheet(
        **gearbox,
        **step,
        **link,
        window=level.window,
        engine=level.engine,
        settle_time_s=level.settle_time_s,
        stay_chance=level.stay_chance,
        idle_low_rpm=level.idle_low_rpm,
        idle_high_rpm=level.idle_high_rpm,
        method=level.method,
        signals=signals,
        found=from_search,
        cautions=cautions or (),
        steps=steps or (),
        service=service,
        origin=top.page.origin,
    )


def _gearbox(table: Table) -> dict[str, Any]:
    return {"name": table.text("name"), "source": table.text("source")}


def _link(table: Table) -> dict[str, Any]:
    return {"protocol": read_protocol(table), "extended_session": read_session(table)}


def _read_signals(
    top: Table, found: Findings, level: Level | None, link: dict[str, Any] | None
) -> tuple[Signal, ...]:
    """Return the signals, checked against one another if each is right."""
    before = len(found.mistakes)
    drafts = tuple(draft for _, draft in found.each(top, "signal", read_draft))
    if len(found.mistakes) > before:
        return ()
    signals = found.attempt(lambda: finish(drafts))
    if link is not None:
        protocol = link["protocol"]
        found.attempt(lambda: check_protocol(drafts, top.one("link"), protocol))
    if level is not None:
        window = level.window
        found.attempt(lambda: check_window(drafts, window))
    return signals or ()
