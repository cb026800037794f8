"""Pages about things: which gearbox, parts and tools, plugs and how they go back."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from bridge.service.fastening import (
    angle_words,
    sequence_words,
    stages_words,
    ticks_wanted,
    tube_lift,
)
from bridge.service.log import of, ticked, turns_ticked, variant_of
from bridge.service.rounds import refits
from bridge.service.step_names import renewals
from bridge.units import Units, show_length, show_torque, show_volume
from bridge.values.service_events import ServiceKind
from bridge.values.service_sheet import PartKind, Tick
from tui.service.pages.made import entry, toggle
from tui.service.pages.page_model import Item, PageLine
from tui.words import figures
from tui.words.service import page_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bridge.values.service_sheet import Fastener, Part
    from tui.service.pages.page_model import PageView, Row

_HEADINGS = {
    PartKind.PART: "Parts",
    PartKind.TOOL: "Tools",
    PartKind.FLUID: "Fluid",
}


def variants(view: PageView) -> Iterator[Row]:
    """Offer the gearboxes the car may have; one that does not fit is said loudly."""
    for variant in view.service.variants:
        name = figures.clean(variant.name)
        text = f"{name}: {figures.clean(variant.look_for)}"
        item = toggle(view, text, ServiceKind.VARIANT, name=variant.name)
        yield replace(item, needed=item.done and variant.fits)  # it ends the step
    found = variant_of(view.service, view.log)
    if found is not None and not found.fits:
        instead = figures.clean(found.instead)
        yield PageLine(
            text=page_words.WRONG_GEARBOX + (f" Use {instead}." if instead else ""),
            look="bad",
        )
    elif found is None and view.service.variants:
        yield PageLine(text=page_words.NO_VARIANT, look="dim")


def parts(view: PageView) -> Iterator[Row]:
    """List what must lie ready, by kind."""
    there = {e.name for e in of(view.log, ServiceKind.AT_HAND)}
    lacking = [p.name for p in view.service.parts if p.name not in there]
    if len(view.service.parts) > 1:
        yield Item(
            text="All here",
            done=not lacking,
            all_of=tuple(entry(view, ServiceKind.AT_HAND, name=n) for n in lacking),
        )
    for kind, heading in _HEADINGS.items():
        listed = [p for p in view.service.parts if p.kind is kind]
        if listed:
            yield PageLine(text=heading, look="strong")
        for part in listed:
            yield toggle(view, _part(part), ServiceKind.AT_HAND, name=part.name)


def _part(part: Part) -> str:
    count = f"{part.count} × " if part.count != 1 else ""
    once = " (one use)" if part.one_use else ""
    about = (part.size, part.number and f"part number {part.number}", part.note)
    facts = "".join(f", {figures.clean(fact)}" for fact in about if fact)
    return f"{count}{figures.clean(part.name)}{once}{facts}"


def fasteners(view: PageView) -> Iterator[Row]:
    """List the plugs and covers that belong to this step, with their ticks."""
    for fastener in view.service.fasteners:
        if fastener.step is view.step:
            yield from _fastener(view, fastener)


def _fastener(view: PageView, fastener: Fastener) -> Iterator[Row]:
    times = refits(view.service, view.log, fastener)
    done = ticked(view.log, fastener, times)
    wanted = ticks_wanted(fastener)
    left = len([t for t in wanted if t not in done])
    count = f"{fastener.count} × " if fastener.count != 1 else ""
    number = fastener.number and f"part number {fastener.number}"
    about = ", ".join(x for x in (fastener.drive, fastener.thread, number) if x)
    head = f"{count}{figures.clean(fastener.name)}"
    if about:
        head += f" ({figures.clean(about)})"
    if times > 1:
        head += f", round {times}"
    yield PageLine(text=head if left else f"{head}: all ticked", look="strong")
    for tick in wanted:
        if tick is Tick.TIGHTENED and fastener.sequence:
            yield from _turns(view, fastener, times)
            continue
        yield toggle(
            view,
            tick_text(fastener, tick, view),
            ServiceKind.TICKED,
            times=times,
            name=fastener.name,
            tick=tick,
        )
    if fastener.plastic:
        yield PageLine(text=page_words.PLASTIC, look="doubt")
    if fastener.note:
        yield PageLine(text=f"  {figures.clean(fastener.note)}", look="dim")


def _turns(view: PageView, fastener: Fastener, times: int) -> Iterator[Row]:
    """Offer the next bolt of a set that is tightened in an order, one at a time."""
    order, whole = sequence_words(fastener), _tightened(fastener, view)
    yield PageLine(text=page_words.EVERY_STAGE.format(whole, order), look="strong")
    turned, turns = turns_ticked(view.log, fastener, times), fastener.turns
    left = [n for n in range(1, turns + 1) if n not in turned]
    if Tick.TIGHTENED in ticked(view.log, fastener, times):
        yield PageLine(text=page_words.ALL_TIGHTENED, look="good")
        return
    bolt, torque_nm = fastener.turn(left[0])
    by = f" to {show_torque(torque_nm, view.units)}" if torque_nm is not None else ""
    yield toggle(
        view,
        f"Number {bolt}{by}: turn {left[0]} of {turns}",
        ServiceKind.TICKED,
        times=times,
        name=fastener.name,
        tick=Tick.TIGHTENED,
        count=left[0],
    )


def tick_text(fastener: Fastener, tick: Tick, view: PageView) -> str:
    """Return what one tick says, with the sheet's figure in the person's units."""
    if tick is Tick.RENEWED:
        return renewals(fastener)
    if tick is Tick.ANGLE:
        return angle_words(fastener)
    if tick is Tick.BACKED_OFF:
        return _backed_off(fastener, view)
    return _tightened(fastener, view)


def _backed_off(fastener: Fastener, view: PageView) -> str:
    turns = fastener.turns_back or 0.0
    words = page_words.BACKED_OFF.format(turns, "" if turns == 1 else "s")
    lift = tube_lift(fastener, view.service.tube_pitch_mm, view.sheet.sump_area_cm2)
    if lift is None:
        return words
    words += f": {show_length(lift.height_mm, view.units)} higher"
    if lift.volume_ml is None:
        return words
    return f"{words}, worth {show_volume(lift.volume_ml / 1000.0, view.units)}"


def _tightened(fastener: Fastener, view: PageView) -> str:
    if fastener.torque_nm is None:
        if fastener.hand_tight:
            return "hand tight"
        return page_words.NO_TORQUE
    words = f"torque {_torque(fastener, view.units)}"
    if view.units is Units.METRIC:  # for the wrench that has the other scale only
        words += f" ({_torque(fastener, Units.US)})"
    return words


def _torque(fastener: Fastener, units: Units) -> str:
    torque = show_torque(fastener.torque_nm, units, fastener.torque_tolerance_nm)
    return stages_words(fastener, partial(show_torque, units=units)) + torque
