"""The car before and after: trouble codes, voltage, number, odometer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.service import sums as sums
from bridge.service.before_after import ODDITY_TEXT
from bridge.service.log import last, odometer_at
from bridge.units import show_distance
from bridge.values.service_events import ServiceKind
from bridge.values.service_sheet import StepKind
from tui.service.pages.made import entry
from tui.service.pages.page_model import Asked, Item, ItemAction, PageLine
from tui.words import figures, wording
from tui.words.service import page_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bridge.service.before_after import CodeNews
    from bridge.values.service_events import CarFacts
    from tui.service.pages.page_model import PageView, Row


def engine(view: PageView) -> Item:
    """Offer the simulated car's key."""
    running = view.snapshot is not None and (view.snapshot.engine_rpm or 0.0) > 0.0
    return Item(
        text=page_words.SIMULATED_ENGINE.format("stop" if running else "start"),
        done=running,
        action=ItemAction.ENGINE,
    )


def car(view: PageView) -> Iterator[Row]:
    """Ask for the odometer; keep codes, voltage and number as the car tells them."""
    odometer = odometer_at(view.log, view.step)
    km = f": {show_distance(odometer.km, view.units)}" if odometer else ": type it"
    yield Item(
        text=f"Odometer{km}",
        done=odometer is not None,
        needed=True,
        asks=Asked.ODOMETER,
        entry=entry(view, ServiceKind.ODOMETER, step=view.step),
    )
    kept = last(view.log, ServiceKind.CAR, view.step)
    yield Item(
        text=page_words.SAVE_CODES,
        done=kept is not None,
        needed=view.snapshot is not None,
        action=ItemAction.TAKE_CAR,
        entry=entry(view, ServiceKind.CAR, step=view.step),
    )
    if kept is not None and kept.car is not None:
        yield from _said(kept.car)
    elif view.snapshot is None:
        yield PageLine(text=page_words.ODOMETER_ONLY, look="dim")
    if view.step is StepKind.AFTER:
        yield from _compared(view)
        for reminder in view.service.licensed_tool:
            yield PageLine(
                text=page_words.LICENSED_TOOL.format(figures.clean(reminder))
            )


def _said(facts: CarFacts) -> Iterator[Row]:
    for what in ("stored", "pending", "permanent"):
        yield PageLine(text=f"Trouble codes, {what}: {_codes(getattr(facts, what))}")
    yield PageLine(text=f"Battery {wording.voltage(facts.voltage_v)}")
    if facts.vin:
        yield PageLine(text=f"Vehicle number {figures.clean(facts.vin, 20)}")


def _codes(codes: tuple[str, ...] | None) -> str:
    if codes is None:
        return "not read"
    return figures.clean(", ".join(codes)) or "none"


def _compared(view: PageView) -> Iterator[Row]:
    found = sums.differences_of(view.log)
    if found is None:
        yield PageLine(text=page_words.COMPARED_LATER, look="dim")
        return
    yield PageLine(text="Compared with before:", look="strong")
    for news in found.codes:
        if news.compared:
            yield PageLine(text=f"Codes, {news.kind.value}: {code_news(news)}")
    if found.driven_km is not None:
        driven = show_distance(found.driven_km, view.units)
        yield PageLine(text=f"Driven in between: {driven}")
    for oddity in found.oddities:
        yield PageLine(text=ODDITY_TEXT[oddity], look="doubt")


def code_news(news: CodeNews) -> str:
    """Return what is new, gone and the same in one list of codes."""
    parts = [
        f"{what} {figures.clean(', '.join(codes))}"
        for what, codes in (("new", news.new), ("gone", news.gone), ("same", news.same))
        if codes
    ]
    return "; ".join(parts) or page_words.NO_CODES
