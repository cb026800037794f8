"""The page of one step: what the sheet says, its items, its notes, its end. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.service.log import is_done, of
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.service_sheet import StepKind
from tui.service.pages import amounts_page, car_page, plugs_page, work_page
from tui.service.pages.made import entry
from tui.service.pages.page_model import Asked, Item, PageLine, PageView, Row
from tui.words import figures
from tui.words.cautions import at_step, own_of
from tui.words.screen import pages
from tui.words.service import page_words

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

_OWN: dict[StepKind, Callable[[PageView], Iterator[Row]]] = {
    StepKind.IDENTIFY: plugs_page.variants,
    StepKind.PARTS: plugs_page.parts,
    StepKind.BEFORE: car_page.car,
    StepKind.DRAIN: amounts_page.drains,
    StepKind.OLD_FLUID: work_page.old_fluid,
    StepKind.FILL: amounts_page.fill,
    StepKind.EXERCISE: work_page.exercise,
    StepKind.LEVEL: work_page.level,
    StepKind.AFTER: car_page.car,
    StepKind.DUE: work_page.due,
}

_ENGINE_MATTERS = frozenset(
    {
        StepKind.BEFORE,
        StepKind.FILL,
        StepKind.EXERCISE,
        StepKind.LEVEL,
        StepKind.CLOSING,
        StepKind.AFTER,
    }
)


def rows(view: PageView) -> tuple[Row, ...]:
    """Return the page of the view's step from top to bottom."""
    return tuple(_all(view))


def cautions(view: PageView) -> list[str]:
    """Return the cautions that stand on the page of the view's step."""
    first = pages.cautions(view.sheet) if view.step is StepKind.CAUTIONS else []
    return [*first, *_at_step(view)]


def _at_step(view: PageView) -> tuple[str, ...]:
    return at_step(view.step, [figures.clean(text) for text in own_of(view.sheet)])


def _all(view: PageView) -> Iterator[Row]:
    if view.step is StepKind.CAUTIONS:
        yield PageLine(text=pages.cautions_text(view.sheet))
    for caution in _at_step(view):
        yield PageLine(text=caution, look="doubt")
    for number, text in enumerate(view.service.lines_of(view.step), 1):
        yield PageLine(text=f"{number}. {figures.clean(text)}")
    if view.simulated and view.step in _ENGINE_MATTERS:
        yield car_page.engine(view)
    page = _OWN.get(view.step)
    if page is not None:
        yield from page(view)
    yield from plugs_page.fasteners(view)
    for note in (e for e in of(view.log, ServiceKind.NOTE) if e.step is view.step):
        yield PageLine(text=f"Note: {figures.clean(note.text)}", look="dim")
    yield _end(view)
    yield Item(
        text="Add a note",
        asks=Asked.NOTE,
        entry=entry(view, ServiceKind.NOTE, step=view.step),
    )
    if view.step is view.service.order[-1]:
        yield from work_page.completing(view)


def _end(view: PageView) -> Item:
    done = is_done(view.log, view.step)
    toggles: ServiceEvent = entry(view, ServiceKind.DONE, step=view.step)
    words = {
        StepKind.CAUTIONS: page_words.CAUTIONS_READ,
        StepKind.IDENTIFY: "Variant chosen",
    }.get(view.step, page_words.STEP_DONE)
    return Item(text=words, done=done, toggles=toggles, finishes=not done)
