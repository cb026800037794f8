"""From a sheet's text to a Sheet."""

from __future__ import annotations

from bridge.core.model import Sheet, Signal, Window
from bridge.profile.geometry import check_selector, read_step
from bridge.profile.page import Page
from bridge.profile.sections import read_level, read_protocol, read_session
from bridge.profile.signals import read_draft
from bridge.profile.table import Table
from bridge.profile.together import check_protocol, check_window, finish


def parse_sheet(text: str, name: str) -> Sheet:
    """Return the sheet a TOML text holds; ``name`` says where it came from.

    Raises:
        SheetError: one sentence with ``name``, the key and the remedy.
    """
    page = Page(origin=name, text=text)
    top = Table(page=page, section="", path=(), entries=page.parse())
    top.check_keys()
    gearbox = top.one("gearbox")
    level_table = top.one("level")
    level = read_level(level_table)
    step = read_step(level_table, top.one("sump"), top.one("fluid"))
    protocol = read_protocol(top.one("link"))
    signals = _read_signals(top, level.window, protocol)
    check_selector(level_table, step["selector_position"], signals)
    return Sheet(
        **step,
        name=gearbox.text("name"),
        source=gearbox.text("source"),
        window=level.window,
        engine=level.engine,
        settle_time_s=level.settle_time_s,
        stay_chance=level.stay_chance,
        idle_low_rpm=level.idle_low_rpm,
        idle_high_rpm=level.idle_high_rpm,
        method=level.method,
        protocol=protocol,
        extended_session=read_session(top.one("link")),
        signals=signals,
        cautions=top.one("cautions").lines("lines"),
        steps=top.one("steps").lines("level"),
        origin=name,
    )


def _read_signals(top: Table, window: Window, protocol: str) -> tuple[Signal, ...]:
    drafts = tuple(read_draft(table) for table in top.each("signal"))
    signals = finish(drafts)
    check_protocol(drafts, top.one("link"), protocol)
    check_window(drafts, window)
    return signals
