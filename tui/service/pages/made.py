"""Entries as the page offers them: everything but the time, which the editor sets."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from bridge.service.log import number_of
from bridge.values.service_events import ServiceEvent, ServiceKind
from tui.service.pages.page_model import Item

if TYPE_CHECKING:
    from tui.service.pages.page_model import PageView


def entry(view: PageView, kind: ServiceKind, **fields: Any) -> ServiceEvent:
    """Return an entry by the view's person, not yet stamped."""
    return ServiceEvent(kind=kind, at_utc_s=0.0, who=view.who, **fields)


def toggle(
    view: PageView, text: str, kind: ServiceKind, *, times: int = 1, **fields: Any
) -> Item:
    """Return an item that adds such an entry, or takes it back where it stands.

    ``times``: as often as it must stand by now, where several rounds are driven.
    """
    made = entry(view, kind, **fields)
    there = number_of(view.log, made, times)
    needed = kind in _NEEDED
    return Item(text=text, done=there is not None, toggles=made, needed=needed)


_NEEDED = frozenset({ServiceKind.AT_HAND, ServiceKind.TICKED})
