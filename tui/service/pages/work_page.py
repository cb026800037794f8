"""Pages about work: the old fluid, the selector, the level, what is due, the end."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.service import sums as sums
from bridge.service.against import against
from bridge.service.log import is_closed, last, of
from bridge.service.missing import missing
from bridge.service.old_fluid import (
    COMMON_PRACTICE,
    SEEN_TEXT,
    FluidFinding,
    Severity,
    meanings,
)
from bridge.units import Units, show_temperature
from bridge.values.service_events import ServiceKind
from tui.service.pages import amounts_page
from tui.service.pages.made import entry, toggle
from tui.service.pages.page_model import Asked, Item, ItemAction, PageLine
from tui.words import figures, result_words, service_words, step_wording
from tui.words.service import page_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bridge.level.step.step_values import Step
    from bridge.service.against import Against
    from tui.service.pages.page_model import PageView, Row
    from tui.words.figures import TemperatureUnit


def old_fluid(view: PageView) -> Iterator[Row]:
    """Ask what the old fluid shows; say what that usually means, the worst first."""
    measured = sums.shortage_of(view.sheet, view.service, view.log)
    for seen in FluidFinding:
        if seen in (FluidFinding.SHORT, FluidFinding.VERY_SHORT):
            continue  # that is measured, not looked at
        yield toggle(view, SEEN_TEXT[seen], ServiceKind.OLD_FLUID, name=seen.value)
    found = sums.old_fluid_of(view.sheet, view.service, view.log)
    if not found:
        return
    if measured is not None:
        yield PageLine(text=SEEN_TEXT[measured] + ".", look="doubt")
    for meaning in meanings(found):
        together = ", ".join(SEEN_TEXT[s] for s in meaning.seen)
        yield PageLine(
            text=f"{together}: {meaning.means} {meaning.do}",
            look=_GRAVE[meaning.severity],
        )
    yield PageLine(text=COMMON_PRACTICE, look="dim")


_GRAVE = {
    Severity.USUAL: "",
    Severity.WATCH: "",
    Severity.INSPECT: "doubt",
    Severity.STOP: "bad",
}


def exercise(view: PageView) -> Iterator[Row]:
    """Offer the paced exercise; say how it went."""
    plan = view.service.exercise
    if plan is None:
        yield PageLine(text=page_words.NO_POSITIONS, look="dim")
        return
    through = " ".join(figures.clean(p) for p in plan.positions)
    rounds = "once" if plan.rounds == 1 else f"{plan.rounds} times"
    yield PageLine(text=page_words.EXERCISE.format(through, plan.hold_s, rounds))
    yield PageLine(text=page_words.BRAKES_ON, look="strong")
    done = last(view.log, ServiceKind.EXERCISED)
    yield Item(
        text=page_words.START_EXERCISE,
        done=done is not None,
        needed=True,
        action=ItemAction.EXERCISE,
        entry=entry(view, ServiceKind.EXERCISED, step=view.step),
    )
    if done is not None:
        yield PageLine(text=f"Cycled: {figures.clean(done.text)}", look="good")


def level(view: PageView) -> Iterator[Row]:
    """Lead to the live screen; say how the level was judged and what ran off."""
    yield PageLine(text=page_words.ON_LIVE_SCREEN)
    if view.sheet.close_at_c is not None:
        at = show_temperature(view.sheet.close_at_c, view.units)
        yield PageLine(text=page_words.CLOSE_AT.format(at))
    judged = last(view.log, ServiceKind.LEVEL)
    yield Item(
        text=page_words.TO_LIVE_SCREEN,
        done=judged is not None,
        needed=True,
        action=ItemAction.TO_LIVE,
    )
    step = view.snapshot.step if view.snapshot else None
    lead = (view.snapshot and view.snapshot.lead) or view.sheet
    unit: TemperatureUnit = "C" if view.units is Units.METRIC else "F"
    came = result_words.result(step, lead, unit) if step else None
    if step is not None:
        yield from _phases_done(view, step)
    if came is not None:
        yield PageLine(text=f"Level {came.line}")
    elif judged is not None:
        yield PageLine(text=f"Level: {figures.clean(step_wording.kept_level(judged))}")
    yield from amounts_page.ran_off(view)


def _phases_done(view: PageView, step: Step) -> Iterator[Row]:
    """Say how the level of each phase that is behind was set."""
    for leg, done in zip(view.sheet.legs, step.legs_done, strict=False):
        if done.outcome is not None:
            said = step_wording.outcome(done.outcome)
            yield PageLine(text=f"Level, {figures.clean(leg.name)}: {said}")


def due(view: PageView) -> Iterator[Row]:
    """Say when the next service is due, whichever comes first."""
    interval = view.service.interval
    found = sums.due_of(view.service, view.log, view.today)
    if interval is None or found is None:
        yield PageLine(text=page_words.NO_INTERVAL, look="dim")
        return
    if interval.severe:
        yield PageLine(text=page_words.HARD_USE)
        yield from (PageLine(text=f"- {figures.clean(s)}") for s in interval.severe)
    if look := figures.look_words(interval, view.units):
        yield PageLine(text=page_words.LOOK_BETWEEN.format(look))
    yield toggle(view, page_words.USED_HARD, ServiceKind.SEVERE)
    if isinstance(found, str):
        yield PageLine(text=found, look="bad")
        return
    yield PageLine(text=service_words.due_words(found, view.units), look="strong")
    if last(view.log, ServiceKind.ODOMETER) is None:
        yield PageLine(text=page_words.NO_ODOMETER)
    if found.remind_on is not None:
        yield Item(
            text=page_words.WRITE_CALENDAR,
            done=bool(of(view.log, ServiceKind.DUE)),
            action=ItemAction.CALENDAR,
        )


def completing(view: PageView) -> Iterator[Row]:
    """List what is missing or against it, never hidden; offer to close the service."""
    lacks = missing(view.service, view.log)
    found = against(view.sheet, view.log)
    closed, whole = is_closed(view.log), not lacks and not found
    if closed:
        yield PageLine(
            text=page_words.IS_COMPLETE if whole else page_words.IS_INCOMPLETE,
            look="good" if whole else "bad",
        )
    yield PageLine(text="")
    if found:
        yield PageLine(text=f"Speaks against it ({len(found)}):", look="bad")
        for one in found:
            yield from _against(view, one)
    if lacks:
        yield PageLine(text=f"Still missing ({len(lacks)}):", look="doubt")
        yield from (
            PageLine(text=f"- {figures.clean(lack)}", look="doubt") for lack in lacks
        )
    if whole:
        yield PageLine(text=page_words.NOTHING_AGAINST, look="good")
    yield Item(
        text=page_words.CLOSE_COMPLETE if whole else page_words.CLOSE_INCOMPLETE,
        done=closed,
        action=ItemAction.COMPLETE,
    )


def _against(view: PageView, one: Against) -> Iterator[Row]:
    yield PageLine(text=f"- {figures.clean(one.text)}", look="bad")
    if one.answerable:
        yield Item(
            text=page_words.LOOKED_INTO,
            asks=Asked.ANSWER,
            entry=entry(view, ServiceKind.ANSWERED, name=one.id, step=view.step),
        )
