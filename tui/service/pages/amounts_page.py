"""Pages about amounts: what came out, what goes in, and how the two stand."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bridge.service import sums as sums
from bridge.service.against import REFILL_TEXT
from bridge.service.balance import (
    FILL_NOTE_TEXT,
    LOST_TEXT,
    VERDICT_TEXT,
    BalanceVerdict,
)
from bridge.service.log import applying, circuits_of, is_done, last, of
from bridge.service.rounds import pump_out, rounds_of, waits_for
from bridge.units import Units, show_temperature, show_volume
from bridge.values.service_events import ServiceKind
from bridge.values.service_sheet import StepKind
from tui.service.pages.made import entry
from tui.service.pages.page_model import Asked, Item, PageLine
from tui.words import figures, result_words
from tui.words.service import amount_words

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from bridge.service.amounts import Amount
    from bridge.values.service_events import ServiceEvent
    from bridge.values.service_sheet import Drain
    from tui.service.pages.page_model import PageView, Row
    from tui.words.figures import TemperatureUnit

_ANYWHERE = "the drain"
POUND_KG = 0.45359237
"""Exactly (NIST SP 811, 2008, appendix B.8)."""
WANTED_SHARE = 0.1
"""Old fluid that is usually left alone (common practice, no source)."""


def _in_each(
    view: PageView, page: Callable[[PageView, str], Iterator[Row]]
) -> Iterator[Row]:
    """Yield a page for each circuit by itself, under its name."""
    for one in circuits_of(view.sheet, view.log):
        if one.name:
            yield PageLine(text=f"{figures.clean(one.name)}:", look="strong")
        service = applying(one.sheet.service, one.log)
        own = replace(view, sheet=one.sheet, service=service, log=one.log)
        yield from page(own, one.name)


def drains(view: PageView) -> Iterator[Row]:
    """Ask what came out at each place, in this round."""
    yield from _in_each(view, _drains)


def _drains(view: PageView, _circuit: str) -> Iterator[Row]:
    yield from _rounds(view)
    for drain in view.service.drains:
        yield from _drain(view, drain)
    if not view.service.drains:
        yield _asking(view, "Came out", ServiceKind.OUT, name=_ANYWHERE)
    yield from _each(view, ServiceKind.OUT)
    done = sums.balance_of(view.sheet, view.log)
    if isinstance(done, str):
        yield PageLine(text=done, look="bad")
    elif of(view.log, ServiceKind.OUT):
        yield PageLine(
            text=amount_words.OUT_IN_ALL.format(_amount(done.out, view)), look="strong"
        )
        yield from _old_share(view)


def _drain(view: PageView, drain: Drain) -> Iterator[Row]:
    name = figures.clean(drain.name)
    if drain.pressure:
        yield PageLine(text=amount_words.UNDER_PRESSURE.format(name), look="doubt")
    if drain.sideways:
        yield PageLine(text=amount_words.SIDEWAYS.format(name), look="doubt")
    if drain.note:
        yield PageLine(text=f"{name}: {figures.clean(drain.note)}", look="dim")
    usual = ""
    if drain.expected_ml is not None:
        usual = f" (usually {_litres(drain.expected_ml, view)})"
    yield from _pumping(view, drain)
    place = f"Came out: {name}{usual}"
    again = waits_for(view.log, view.service) is StepKind.DRAIN
    own = replace(view, log=()) if again else _this_round(view)
    item = _asking(own, place, ServiceKind.OUT, name=drain.name)
    yield replace(item, needed=True)
    if drain.portion_ml is not None:
        yield _asking(view, "Went in", ServiceKind.IN)


def _pumping(view: PageView, drain: Drain) -> Iterator[Row]:
    """Say what comes next where a gearbox is pumped out in portions, and the totals."""
    done = pump_out(view.log, drain)
    if done is None:
        return
    portion = _litres(done.portion_ml, view)
    if done.owed_ml:
        text = amount_words.FILL_FIRST.format(_litres(done.owed_ml, view))
    elif done.left_ml is not None and done.left_ml < 0.5 * done.portion_ml:
        text = amount_words.ALL_OUT
    else:
        text = amount_words.START_AND_STOP.format(portion)
    yield PageLine(text=text, look="doubt" if done.owed_ml else "strong")
    left = "" if done.left_ml is None else f", {_litres(done.left_ml, view)} to come"
    yield PageLine(
        text=amount_words.SO_FAR.format(
            _litres(done.out_ml, view), _litres(done.in_ml, view), left
        )
    )


def _old_share(view: PageView) -> Iterator[Row]:
    left = sums.old_share_of(view.sheet, view.log)
    if left is None:
        return
    yield PageLine(
        text=amount_words.OLD_SHARE.format(
            figures.percent(left.share),
            figures.percent(left.low),
            figures.percent(left.high),
        )
    )
    done = len(rounds_of(view.log))
    more = [sums.old_share_of(view.sheet, view.log, n) for n in (1, 2)]
    shares = [figures.percent(again.share) for again in more if again is not None]
    if len(shares) == 2:
        yield PageLine(
            text=amount_words.SHARES_NEXT.format(
                shares[0], done + 1, shares[1], done + 2
            ),
            look="dim",
        )
    wanted = sums.rounds_wanted_of(view.sheet, view.log, WANTED_SHARE)
    if wanted is not None and wanted > done:
        yield PageLine(
            text=amount_words.ROUNDS_WANTED.format(
                wanted, figures.percent(WANTED_SHARE)
            ),
            look="dim",
        )


def _this_round(view: PageView) -> PageView:
    """Return the view with the amounts of the present round alone.

    Pumped out in portions each amount is one more of the same.
    """
    if any(d.portion_ml for d in view.service.drains):
        return view
    return replace(view, log=rounds_of(view.log)[-1].events)


def _rounds(view: PageView) -> Iterator[Row]:
    """Say which round it is, and what each one came to."""
    done, wanted = len(rounds_of(view.log)), view.service.rounds
    pumped = any(d.portion_ml for d in view.service.drains)
    if pumped or max(done, wanted) < 2:
        return
    of_all = f" of {wanted}" if wanted > 1 else ""
    yield PageLine(text=f"Round {done}{of_all}.", look="strong")
    balances = sums.balances_of(view.sheet, view.log)
    for number, one in enumerate(() if isinstance(balances, str) else balances, 1):
        if one.out.ml or one.pours:
            yield PageLine(
                text=f"  Round {number}: out {_litres(one.out.ml, view)}, in "
                f"{_litres(one.put_in.ml, view)}.",
                look="dim",
            )
    waits = waits_for(view.log, view.service)
    if waits is StepKind.FILL:
        yield PageLine(text=amount_words.CLOSE_DRAINS)
    if waits is StepKind.DRAIN:
        yield PageLine(text=amount_words.DRAIN_AGAIN.format(done + 1))


def fill(view: PageView) -> Iterator[Row]:
    """Suggest the first fill, ask what went in, show the balance."""
    yield from _in_each(view, _fill)


def _fill(view: PageView, circuit: str) -> Iterator[Row]:
    if view.service.fluid_name:
        number = view.service.fluid_number
        about = f", number {figures.clean(number)}" if number else ""
        yield PageLine(text=f"Fluid: {figures.clean(view.service.fluid_name)}{about}")
    for wrong in view.service.forbidden_fluids:
        yield PageLine(text=f"Never fill in: {figures.clean(wrong)}", look="doubt")
    if view.service.rounds > 1:
        yield PageLine(
            text=amount_words.SHEET_ROUNDS.format(view.service.rounds),
            look="strong",
        )
    yield from _rounds(view)
    yield from _suggested(view, circuit)
    what = _of("Went in", circuit)
    asking = _asking(_this_round(view), what, ServiceKind.IN, name=circuit)
    yield replace(asking, needed=True)
    yield from _each(view, ServiceKind.IN)
    yield from balance(view)


def _of(text: str, circuit: str) -> str:
    return f"{text}, {figures.clean(circuit)}" if circuit else text


def _suggested(view: PageView, circuit: str) -> Iterator[Row]:
    first = sums.first_fill_of(view.sheet, view.service, view.log)
    if first is None or isinstance(first, str):
        usual = view.service.service_fill_ml
        if usual is not None:
            yield PageLine(text=amount_words.USUAL_FILL.format(_litres(usual, view)))
        return
    at = show_temperature(view.service.service_fill_temp_c, view.units, digits=0)
    yield PageLine(
        text=amount_words.FIRST_FILL.format(
            _litres(first.ml, view), at, _litres(first.expanded_ml, view)
        ),
        look="strong",
    )
    yield from _at_its_heat(view, circuit)
    for note in first.notes:
        yield PageLine(text=FILL_NOTE_TEXT[note])


def _at_its_heat(view: PageView, circuit: str) -> Iterator[Row]:
    """Ask how warm the new fluid is; say how much that is to pour, or to weigh."""
    event = last(view.log, ServiceKind.NEW_FLUID)
    yield Item(
        text=amount_words.HOW_WARM + ("type it" if event is None else "again"),
        done=event is not None,
        asks=Asked.TEMPERATURE,
        entry=entry(view, ServiceKind.NEW_FLUID, name=circuit, step=view.step),
    )
    pour = sums.pour_wanted_of(view.sheet, view.service, view.log)
    if pour is not None:
        at = show_temperature(pour.temp_c, view.units, digits=0)
        kg = pour.kg if view.units is Units.METRIC else pour.kg / POUND_KG
        weight = f"{kg:.2f} {'kg' if view.units is Units.METRIC else 'lb'}"
        yield PageLine(
            text=amount_words.POUR.format(_litres(pour.ml, view), at, weight),
            look="strong",
        )


def balance(view: PageView) -> Iterator[Row]:
    """Say what went in against what came out, and against the sheet."""
    done = sums.balance_of(view.sheet, view.log)
    if isinstance(done, str):
        yield PageLine(text=done, look="bad")
        return
    if not of(view.log, ServiceKind.IN) and not of(view.log, ServiceKind.ADDED):
        return
    at = show_temperature(view.service.service_fill_temp_c, view.units, digits=0)
    yield PageLine(
        text=amount_words.BALANCE.format(
            at,
            _amount(done.out, view),
            _amount(done.put_in, view),
            _amount(done.ran_off, view),
            _against_before(done.net.ml, view),
            _litres(done.net.expanded_ml, view),
        )
    )
    judged = sums.judged_of(view.sheet, view.service, view.log)
    if judged is not None:
        yield PageLine(
            text=f"{VERDICT_TEXT[judged.verdict]} {_signed(judged.by_ml, view)}, "
            f"± {_litres(judged.expanded_ml, view)}.",
            look="strong",
        )
        if judged.over_total_ml is not None:
            over = _litres(judged.over_total_ml, view)
            yield PageLine(text=amount_words.OVER_TOTAL.format(over), look="bad")
    yield from _refill(view)
    yield PageLine(text=LOST_TEXT, look="dim")
    if done.assumed:
        yield PageLine(text=amount_words.ASSUMED, look="dim")


def _against_before(net_ml: float, view: PageView) -> str:
    shown = _litres(abs(net_ml), view)
    if shown == _litres(0.0, view):
        return amount_words.AS_BEFORE
    return amount_words.THAN_BEFORE.format(shown, "more" if net_ml > 0 else "less")


def _refill(view: PageView) -> Iterator[Row]:
    """Say whether a level that is set by measuring alone is proven."""
    if view.sheet.has_level_step:
        return
    found = sums.refill_of(view.sheet, view.log)
    worth = sums.refill_budget(view.sheet, view.log)
    if found is not None and worth is not None:
        good = found.verdict is BalanceVerdict.WITHIN
        yield PageLine(
            text=amount_words.BY_MEASURE.format(
                REFILL_TEXT[found.verdict],
                _signed(found.by_ml, view),
                _litres(found.expanded_ml, view),
            ),
            look="good" if good else "bad",
        )
        unit: TemperatureUnit = "C" if view.units is Units.METRIC else "F"
        yield PageLine(text=result_words.shares(worth, unit), look="dim")


def ran_off(view: PageView) -> Iterator[Row]:
    """Ask what the level step let out again."""
    yield from _in_each(view, _ran_off)


def _ran_off(view: PageView, circuit: str) -> Iterator[Row]:
    what = _of(amount_words.RAN_OUT, circuit)
    yield _asking(view, what, ServiceKind.RAN_OFF, name=circuit)
    yield from _each(view, ServiceKind.RAN_OFF)
    for added in of(view.log, ServiceKind.ADDED):
        yield PageLine(text=f"  Topped up: {_measured(added, view)}", look="dim")
    if is_done(view.log, StepKind.FILL) or of(view.log, ServiceKind.ADDED):
        yield from balance(view)


def _asking(view: PageView, text: str, kind: ServiceKind, *, name: str = "") -> Item:
    there = any(e.name == name for e in of(view.log, kind))
    return Item(
        text=f"{text}: {'type another' if there else 'type it'}",
        done=there,
        asks=Asked.AMOUNT,
        ask=_question(text, view),
        entry=entry(view, kind, name=name, step=view.step),
    )


def _question(text: str, view: PageView) -> str:
    """Name the place in the prompt, and the unit of a bare number."""
    unit = amount_words.ASK_LITERS
    if view.units is not Units.METRIC:
        unit = amount_words.ASK_QUARTS
    return f"{text.removeprefix('Came out: ')}, how much, in {unit}"


def _each(view: PageView, kind: ServiceKind) -> Iterator[Row]:
    for event in of(view.log, kind):
        yield PageLine(text=f"  {_measured(event, view)}", look="dim")


def _measured(event: ServiceEvent, view: PageView) -> str:
    place = f"{figures.clean(event.name)}: " if event.name else ""
    at = ""
    if event.temp_c is not None:
        at = f" at {show_temperature(event.temp_c, view.units, digits=0)}"
    return f"{place}{_litres(event.ml or 0.0, view)}{at}"


def _litres(ml: float, view: PageView) -> str:
    return show_volume(ml / 1000.0, view.units)


def _signed(ml: float, view: PageView) -> str:
    return f"{_litres(abs(ml), view)} {'over' if ml >= 0 else 'short'}"


def _amount(amount: Amount, view: PageView) -> str:
    if amount.ml == 0:
        return "nothing"
    return f"{_litres(amount.ml, view)} ± {_litres(amount.expanded_ml, view)}"
