"""From a sheet's text to a Sheet."""

from __future__ import annotations

from bridge.core.model import Sheet
from bridge.profile.page import Page
from bridge.profile.sections import read_level, read_protocol
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
    level = read_level(top.one("level"))
    link = top.one("link")
    drafts = tuple(read_draft(table) for table in top.each("signal"))
    signals = finish(drafts)
    protocol = read_protocol(link)
    check_protocol(drafts, link, protocol)
    check_window(drafts, level.window)
    return Sheet(
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
        signals=signals,
        cautions=top.one("cautions").lines("lines"),
        steps=top.one("steps").lines("level"),
        origin=name,
    )
