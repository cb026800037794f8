"""The typed words of the service, as its sheet has them: places, items, steps, kinds.

Every word names what the sheet names; case does not matter, and a hyphen stands for a
blank.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from bridge.service.against import against, answer_to, says_something
from bridge.service.fastening import ticks_wanted
from bridge.service.level_facts import as_fact
from bridge.service.log import (
    circuits_of,
    is_closed,
    is_done,
    number_of,
    standing,
    undoing,
)
from bridge.service.missing import missing
from bridge.service.old_fluid import FluidFinding
from bridge.service.rounds import reopened, tick_times
from bridge.units import QuantityError, said_temperature, said_torque
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.service_sheet import StepKind, Tick
from tui.inputs.answers import Refused, found_name, none_of, read_pour, short
from tui.inputs.car_lines import codes, next_due, odometer
from tui.inputs.paper_lines import WORDS as PAPER_WORDS
from tui.words.service import line_words

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from bridge.service.log import Log
    from bridge.values.events import PersonEvent
    from bridge.values.service_sheet import Service
    from bridge.values.sheet import Sheet
    from tui.inputs.answers import LineState
    from tui.inputs.paper_lines import Paper

ANYWHERE = "the drain"
"""The place where a sheet names none."""
_TYPED_SEEN = tuple(
    s for s in FluidFinding if s not in (FluidFinding.SHORT, FluidFinding.VERY_SHORT)
)
"""What a person sees; what is short is measured."""
_BECAUSE = re.compile(r"\s+because\s+", re.IGNORECASE)
TORQUE_APART = 1.5
"""So many times the sheet's torque, or its part, is asked back (common practice)."""


def words_of(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Yield every word a sheet has, with the line it belongs to."""
    service = sheet.service
    for place in places(service):
        yield "PLACE", place
    for item, _ in items(service):
        yield "ITEM", item
    for step in service.order:
        yield "STEP", step.value
    for kind, value in _seen():
        yield "KIND", f"{kind} {value}"
    for variant in service.variants:
        yield "NAME", variant.name
    yield from (("CIRCUIT", circuit.name) for circuit in service.circuits)
    torqued = (f.name for f in service.fasteners if f.torque_nm is not None)
    yield from (("FASTENER", name) for name in torqued)


def places(service: Service) -> tuple[str, ...]:
    """Return where fluid is let out."""
    return tuple(d.name for d in service.drains) or (ANYWHERE,)


def items(service: Service) -> Iterator[tuple[str, ServiceEvent]]:
    """Yield what can be ticked off, with its event."""
    for part in service.parts:
        yield part.name, ServiceEvent(kind=ServiceKind.AT_HAND, name=part.name)
    for fastener in service.fasteners:
        for tick in ticks_wanted(fastener):
            event = ServiceEvent(kind=ServiceKind.TICKED, name=fastener.name, tick=tick)
            yield f"{fastener.name} {tick.value}", event
    if service.exercise is not None:
        worked = ServiceEvent(kind=ServiceKind.EXERCISED, text=line_words.NOT_PACED)
        yield "selector worked", worked
    if service.interval is not None:
        yield "severe use", ServiceEvent(kind=ServiceKind.SEVERE)


def _seen() -> Iterator[tuple[str, str]]:
    for seen in _TYPED_SEEN:
        yield "old-fluid", seen.value


def out(text: str, state: LineState) -> ServiceEvent | Refused:
    """Read `out PLACE AMOUNT`; a sheet with one place needs no name."""
    known = places(state.service)
    place, amount = found_name(text, known)
    if not place and len(known) == 1:
        place, amount = known[0], text
    if not place:
        return none_of(text, known, line_words.A_PLACE)
    return _poured(amount, ServiceKind.OUT, place, state, text)


def put_in(text: str, state: LineState) -> ServiceEvent | Refused:
    """Read `in AMOUNT`."""
    return _into(text, ServiceKind.IN, state)


def ran_off(text: str, state: LineState) -> ServiceEvent | Refused:
    """Read `ran-off AMOUNT`: what the level step let out again."""
    return _into(text, ServiceKind.RAN_OFF, state)


def _into(text: str, kind: ServiceKind, state: LineState) -> ServiceEvent | Refused:
    """Read an amount of a circuit, which must be named where there are several."""
    name, rest = _circuit(text, state)
    return name if isinstance(name, Refused) else _poured(rest, kind, name, state, text)


def _circuit(text: str, state: LineState) -> tuple[str | Refused, str]:
    known = [c.name for c in state.sheet.service.circuits]
    name, rest = found_name(text, known) if known else ("", text)
    unnamed = known and not name
    return none_of(text, known, line_words.A_CIRCUIT) if unnamed else name, rest


def _poured(
    text: str, kind: ServiceKind, place: str, state: LineState, line: str
) -> ServiceEvent | Refused:
    """Read the amount of a ``line``; the same line again is taken, place and all."""
    own = {c.name: c.sheet for c in circuits_of(state.sheet, ())}
    amount = read_pour(
        text,
        sheet=own.get(place, state.sheet),
        kind=kind,
        place=place,
        before=text if state.before.split() == line.split() else "",
    )
    if isinstance(amount, Refused):
        return amount
    weighed = "" if amount.kg is None else f"weighed: {amount.kg:g} kg"
    step = {ServiceKind.OUT: StepKind.DRAIN, ServiceKind.IN: StepKind.FILL}
    return ServiceEvent(
        kind=kind,
        name=place,
        ml=amount.ml,
        temp_c=amount.temp_c,
        kg=amount.kg,
        text=weighed,
        step=step.get(kind, StepKind.LEVEL),
    )


def tick(text: str, state: LineState) -> ServiceEvent | Refused:
    """Read `tick ITEM`."""
    event, there = _item(text, state)
    if isinstance(event, Refused):
        return event
    if there is not None:
        return Refused(words=line_words.TICKED_OFF.format(short(text)))
    return event


def untick(text: str, state: LineState) -> ServiceEvent | Refused:
    """Read `untick ITEM`."""
    event, there = _item(text, state)
    if isinstance(event, Refused):
        return event
    if there is None:
        return Refused(words=line_words.NOT_TICKED.format(short(text)))
    return ServiceEvent(kind=ServiceKind.TAKEN_BACK, back=there)


def _item(text: str, state: LineState) -> tuple[ServiceEvent | Refused, int | None]:
    known = dict(items(state.service))
    name, rest = found_name(text, known)
    event = known.get(name)
    if event is not None and rest:
        event = _turn(event, rest, state.service)
    if event is None:
        return none_of(text, known, line_words.AN_ITEM), None
    times = tick_times(state.service, state.log, event)
    return event, number_of(state.told, event, times)


def _turn(event: ServiceEvent, rest: str, service: Service) -> ServiceEvent | None:
    """Read `turn N` of a set of bolts with an order; None: it is none."""
    turn = re.fullmatch(r"turn ([1-9]\d{0,3})", rest)
    turns = max((f.turns for f in service.fasteners if f.name == event.name), default=0)
    if turn is None or event.tick is not Tick.TIGHTENED or int(turn[1]) > turns:
        return None
    return replace(event, count=int(turn[1]))


def done(text: str, state: LineState) -> PersonEvent | Refused:
    """Read `done STEP`."""
    step = _step(text, state)
    if isinstance(step, Refused):
        return step
    if is_done(state.log, step) and step not in reopened(state.sheet, state.log):
        return Refused(words=line_words.DONE_ALREADY.format(step.value))
    return as_fact(ServiceEvent(kind=ServiceKind.DONE, step=step))


def skip(text: str, state: LineState) -> ServiceEvent | Refused:
    """Read `skip STEP because TEXT`."""
    parts = _BECAUSE.split(text, maxsplit=1)
    step = _step(parts[0], state)
    if isinstance(step, Refused):
        return step
    if len(parts) < 2 or not says_something(parts[1]):
        return Refused(words=line_words.SAY_WHY.format(step.value))
    return ServiceEvent(kind=ServiceKind.SKIPPED, step=step, text=parts[1].strip())


def _step(text: str, state: LineState) -> StepKind | Refused:
    known = [step.value for step in state.service.order]
    name, rest = found_name(text, known)
    return StepKind(name) if name and not rest else none_of(text, known, "step")


def saw(text: str, state: LineState) -> ServiceEvent | Refused:
    """Read `saw KIND VALUE`."""
    known = [f"{kind} {value}" for kind, value in _seen()]
    name, rest = found_name(text, known)
    if not name or rest:
        return none_of(text, known, line_words.A_FINDING)
    seen = ServiceEvent(kind=ServiceKind.OLD_FLUID, name=name.split(" ", 1)[1])
    answered = answer_to(state.log, f"old-fluid-{seen.name}")  # seen again since
    if number_of(state.told, seen) is not None and answered is None:
        return Refused(words=f"{short(text)} was told already.")
    return seen


def variant(text: str, state: LineState) -> ServiceEvent | Refused:
    """Read `variant NAME`."""
    known = [v.name for v in state.sheet.service.variants]
    name, rest = found_name(text, known)
    if not name or rest:
        return none_of(text, known, line_words.A_GEARBOX)
    return ServiceEvent(kind=ServiceKind.VARIANT, name=name)


def torque(text: str, state: LineState) -> ServiceEvent | Refused:
    """Read `torque FASTENER 30 N*m`."""
    known = {f.name: f for f in state.service.fasteners if f.torque_nm is not None}
    name, figure = found_name(text, known)
    if not name:
        return none_of(text, known, line_words.A_TORQUE)
    try:
        told_nm = said_torque(figure)
    except QuantityError as problem:
        return Refused(words=f"{problem}.")
    wanted_nm = known[name].torque_nm or told_nm
    share = told_nm / wanted_nm
    again = state.before.split() == text.split()
    if not 1 / TORQUE_APART <= share <= TORQUE_APART and not again:
        return Refused(
            words=line_words.OTHER_TORQUE.format(told_nm, wanted_nm),
            again=True,
        )
    return ServiceEvent(kind=ServiceKind.TORQUE, name=name, torque_nm=told_nm)


def note(text: str, _state: LineState) -> ServiceEvent | Refused:
    """Read `note TEXT`."""
    words = " ".join(text.split())
    if not words:
        return Refused(words=line_words.NOTE_EMPTY)
    return ServiceEvent(kind=ServiceKind.NOTE, text=words[:LONGEST_NOTE])


LONGEST_NOTE = 500


def new_fluid(text: str, state: LineState) -> ServiceEvent | Refused:
    """Read `new-fluid 5 C`: how warm the fluid is that is poured in."""
    circuit, rest = _circuit(text, state)
    if isinstance(circuit, Refused):
        return circuit
    try:
        temp_c = said_temperature(rest)
    except QuantityError as problem:
        return Refused(words=f"{problem}.")
    kind = ServiceKind.NEW_FLUID
    return ServiceEvent(kind=kind, name=circuit, temp_c=temp_c, step=StepKind.FILL)


def answer(text: str, state: LineState) -> ServiceEvent | Refused:
    """Read `answer FINDING TEXT`: what was found and done about it."""
    open_now = against(state.sheet, state.log, state.codes)
    known = [a.id for a in open_now if a.answerable]
    name, words = found_name(text, known)
    if not name:
        return none_of(text, known, line_words.AN_ANSWER)
    if not says_something(words):
        return Refused(words=line_words.SAY_FOUND.format(name))
    return ServiceEvent(kind=ServiceKind.ANSWERED, name=name, text=words[:LONGEST_NOTE])


def close(text: str, state: LineState) -> ServiceEvent | Refused:
    """Read `close`: the service is closed, with what it lacks on record."""
    if text:
        return Refused(words=line_words.ALONE.format("close"))
    if is_closed(state.log):
        return Refused(words=line_words.CLOSED)
    lacks = missing(state.sheet.service, state.log)
    found = [a.text for a in against(state.sheet, state.log, state.codes)]
    return ServiceEvent(kind=ServiceKind.COMPLETE, text="\n".join((*found, *lacks)))


def undo(state: LineState) -> ServiceEvent | None:
    """Return what takes the newest thing told back; None: there is nothing."""
    return undoing(state.told)


def newest_s(told: Log) -> float | None:
    """Return when the newest thing that counts was told; None: nothing was."""
    left = standing(told)
    return left[-1][1].t_s if left else None


def _paper(paper: Paper) -> Callable[[str, LineState], ServiceEvent | Refused]:
    return lambda text, state: paper.read(text, state.sheet, state.before)


WORDS = {
    "out": out,
    "in": put_in,
    "ran-off": ran_off,
    "tick": tick,
    "untick": untick,
    "done": done,
    "skip": skip,
    "saw": saw,
    "variant": variant,
    "odometer": odometer,
    "codes": codes,
    "torque": torque,
    "next-due": next_due,
    "note": note,
    "answer": answer,
    "new-fluid": new_fluid,
    "close": close,
    **{word: _paper(one) for word, one in PAPER_WORDS.items()},
}
