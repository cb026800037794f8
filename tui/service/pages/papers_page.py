"""The page of the papers, the same at every step: whose car, what was used, outcome."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.service.log import of
from bridge.service.papers.paper_words import Shown, words
from bridge.service.papers.whose import particulars
from bridge.units import show_temperature, show_volume
from bridge.values.service_events import Particular, ServiceKind
from tui.inputs.paper_lines import WORDS
from tui.service.pages.made import entry, toggle
from tui.service.pages.page_model import Asked, Item, PageLine
from tui.words import figures
from tui.words.service import page_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tui.inputs.paper_lines import Paper
    from tui.service.pages.page_model import PageView, Row


def rows(view: PageView) -> tuple[Row, ...]:
    """Return the page from top to bottom."""
    return tuple(_all(view))


def _all(view: PageView) -> Iterator[Row]:
    known = particulars(view.log)
    yield PageLine(text=page_words.PAPERS, look="strong")
    for word, paper in WORDS.items():
        if paper.kind is ServiceKind.PARTICULAR:
            typed = figures.clean(known.get(Particular(paper.name), ""))
            yield _asking(view, word, paper, f": {typed}" if typed else "", bool(typed))
        else:
            yield from _several(view, word, paper)
    for reminder in view.service.licensed_tool:
        text = page_words.HANDED_ON.format(figures.clean(reminder))
        yield toggle(view, text, ServiceKind.HANDED_ON, name=reminder)


def _several(view: PageView, word: str, paper: Paper) -> Iterator[Row]:
    events = of(view.log, paper.kind)
    yield _asking(view, word, paper, ": type another" if events else "", bool(events))
    for event in events:
        text = figures.clean(words(event, view.service, _shown(view)), 300)
        yield PageLine(text=f"  {text}", look="dim")


def _asking(view: PageView, word: str, paper: Paper, more: str, done: bool) -> Item:  # noqa: FBT001 - as Item's
    return Item(
        text=f"{paper.label}{more or ': type it'}",
        done=done,
        asks=Asked.PAPER,
        word=word,
        entry=entry(view, paper.kind, name=paper.name),
    )


def _shown(view: PageView) -> Shown:
    return Shown(
        volume=lambda ml: show_volume(None if ml is None else ml / 1000, view.units),
        temperature=lambda temp_c: show_temperature(temp_c, view.units),
    )
