"""Entries as the page offers them: everything but the time, which the desk sets."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from bridge.service.log import Deed, Entry, number_of
from tui.service.pages.page_model import Item

if TYPE_CHECKING:
    from tui.service.pages.page_model import View


def entry(view: View, deed: Deed, **told: Any) -> Entry:
    """Return an entry by the view's person, not yet stamped."""
    return Entry(deed=deed, at_utc_s=0.0, who=view.who, **told)


def toggle(view: View, text: str, deed: Deed, **told: Any) -> Item:
    """Return an item that adds such an entry, or takes it back where it stands."""
    made = entry(view, deed, **told)
    there = number_of(view.log, deed, name=made.name, tick=made.tick, step=made.step)
    return Item(text=text, done=there is not None, toggles=made)
