"""What was found that speaks against calling a service complete.

What is ticked says what was done; this says what came of it. A service is complete
only when nothing is missing and nothing speaks against it. Some of it the person may
answer, with what was found and done about it; the answer stays in the record beside
it. What only setting the level again, filling or draining can cure takes no answer.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from bridge.level.step.step_values import Outcome
from bridge.protocol.trouble_codes import fluid_sensor_codes
from bridge.service import sums
from bridge.service.balance import BalanceVerdict
from bridge.service.before_after import ODDITY_TEXT, Oddity, fluid_sensor_code
from bridge.service.log import (
    applying,
    beside,
    circuits_of,
    is_closed,
    is_done,
    last,
    log_in,
    of,
    said_of,
    standing,
)
from bridge.service.missing import OTHER_GEARBOX, gearbox_lacks, missing
from bridge.service.old_fluid import SEEN_TEXT, FluidFinding, Severity, meanings
from bridge.service.papers.against_sheet import found_against, raises
from bridge.service.rounds import is_empty_of_fluid, rounds_of
from bridge.values.frozen import frozen
from bridge.values.service_events import ServiceKind
from bridge.values.service_sheet import StepKind
from bridge.values.sheet import LevelMethod

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from bridge.service.log import Log, OneCircuit
    from bridge.values.readings import TroubleCodes
    from bridge.values.service_events import ServiceEvent
    from bridge.values.service_sheet import Fastener
    from bridge.values.sheet import Sheet


@frozen
class Against:
    """One thing that speaks against the job."""

    id: str
    """What an answer names; it does not change with the wording."""
    text: str
    answerable: bool = False
    """Whether it can be put right by looking into it; else only by doing it again."""


def against(
    sheet: Sheet, log: Log, codes: TroubleCodes | None = None
) -> tuple[Against, ...]:
    """Return what speaks against it and was not answered, the gravest first.

    ``codes``: the trouble codes the car told last, beside those kept in the log.
    """
    circuits = circuits_of(sheet, log)
    found = [
        *_gearbox(sheet, log),
        *_in_each(circuits, lambda _, own: _drained(own)),
        *_run_dry(log),
        *_old_fluid(sheet, log),
        *(_level(log) if sheet.has_level_step else _refill(sheet, log)),
        *_moved(sheet, log),
        *_drains(sheet, log),
        *_in_each(circuits, _amounts),
        *_in_each(circuits, _rounds),
        *_torques(sheet, log),
        *_papers(sheet, log),
        *_car(log, codes),
    ]
    return tuple(a for a in found if not (a.answerable and answer_to(log, a.id)))


def _in_each(
    circuits: Sequence[OneCircuit],
    look: Callable[[Sheet, Log], Iterator[Against]],
) -> Iterator[Against]:
    """Yield what is found of each circuit by itself, under its name."""
    for one in circuits:
        for found in look(one.sheet, one.log):
            yield replace(
                found,
                id=beside(found.id, one.name),
                text=said_of(found.text, one.name),
            )


def answer_to(log: Log, finding: str) -> ServiceEvent | None:
    """Return the newest answer to one thing, if it was given after that thing.

    What was found again afterwards stands unanswered again.
    """
    given: ServiceEvent | None = None
    for _, event in standing(log):
        if event.kind is ServiceKind.ANSWERED and event.name == finding:
            given = event if says_something(event.text) else given
        elif _raises(event, finding):
            given = None
    return given


def says_something(text: str) -> bool:
    """Return whether an answer or a reason has a word in it: a dot is none."""
    return re.search(r"[^\W\d_]{2}", text) is not None


def _raises(event: ServiceEvent, finding: str) -> bool:
    """Whether an event brings up anew what an answer before it was about."""
    if event.kind in (ServiceKind.OUT, ServiceKind.IN, ServiceKind.RAN_OFF):
        return finding == MOVED or finding.startswith(f"{MOVED}:")
    if event.kind is ServiceKind.TORQUE:
        return finding == f"torque:{event.name}"
    if event.kind is ServiceKind.OLD_FLUID:
        return event.name in finding.removeprefix("old-fluid-").split("+")
    if raises(event, finding):
        return True
    car_after = event.kind is ServiceKind.CAR and event.step is StepKind.AFTER
    return car_after and finding in tuple(Oddity)


def is_complete(sheet: Sheet, log: Log) -> bool:
    """Return whether the service was closed with nothing missing or against it."""
    return (
        is_closed(log) and not missing(sheet.service, log) and not against(sheet, log)
    )


def _gearbox(sheet: Sheet, log: Log) -> Iterator[Against]:
    for lack in gearbox_lacks(sheet.service, log):
        if lack.id == OTHER_GEARBOX:
            yield Against(id=lack.id, text=lack.text)


def _drained(log: Log) -> Iterator[Against]:
    if is_empty_of_fluid(log):
        yield Against(
            id="drained",
            text="Fluid came out and none is told to have gone in: do not run the "
            "engine, do not drive.",
        )


def _run_dry(log: Log) -> Iterator[Against]:
    if of(log, ServiceKind.RAN_DRY):
        yield Against(
            id="ran-dry",
            text="The engine turned while the gearbox was drained and not filled: its "
            "pump may have run dry. Have it looked at before the car is driven.",
            answerable=True,
        )


def _old_fluid(sheet: Sheet, log: Log) -> Iterator[Against]:
    seen = sums.old_fluid_of(sheet, applying(sheet.service, log), log)
    for meaning in meanings(seen):
        if meaning.severity < Severity.INSPECT or len(meaning.seen) > 1:
            continue
        yield Against(
            id=f"old-fluid-{meaning.seen[0].value}",
            text=f"{SEEN_TEXT[meaning.seen[0]]}: {meaning.do}",
            answerable=True,
        )
    yield from _together(seen)


def _together(seen: tuple[FluidFinding, ...]) -> Iterator[Against]:
    for meaning in meanings(seen):
        if meaning.severity is Severity.STOP and len(meaning.seen) > 1:
            name = "+".join(s.value for s in meaning.seen)
            yield Against(
                id=f"old-fluid-{name}",
                text=f"{meaning.means} {meaning.do}",
                answerable=True,
            )


def _level(log: Log) -> Iterator[Against]:
    judged = last(log, ServiceKind.LEVEL)
    if judged is None or judged.name in (Outcome.GOOD.value, ""):
        return
    level = judged.name.replace("-", " ")
    yield Against(
        id=f"level-{judged.name}",
        text=f"The level was not proven right ({level}): set it again.",
    )


MOVED = "level-fluid-moved"


def _moved(sheet: Sheet, log: Log) -> Iterator[Against]:
    """What went in or came out after a level was judged good; it may be told late.

    What a level opening lets run off is told after it is closed, and is no such thing.
    """
    kinds = {ServiceKind.OUT, ServiceKind.IN}
    if sheet.method is LevelMethod.STICK:
        kinds.add(ServiceKind.RAN_OFF)
    until = "after its level was set: set it again, unless it was only told late."
    for circuit, judged in _levels_set(sheet, log):
        own = log_in(sheet.service, log, circuit) if circuit else log
        since = judged.count or 0
        if any(n >= since and e.kind in kinds for n, e in standing(own)):
            yield Against(
                id=beside(MOVED, circuit),
                text=said_of(f"Fluid went in or came out {until}", circuit),
                answerable=True,
            )
        if judged.ml:  # its own name for each amount: more of it is another finding
            yield Against(
                id=beside(f"level-added-{judged.ml:.0f}-ml", circuit),
                text=said_of(f"Fluid was added {until}", circuit),
                answerable=True,
            )


def _levels_set(sheet: Sheet, log: Log) -> Iterator[tuple[str, ServiceEvent]]:
    """Yield each circuit's newest good level ('': the only one), with its event."""
    before = {e.name: e for e in of(log, ServiceKind.LEVEL_BEFORE)}
    judged = last(log, ServiceKind.LEVEL)
    circuit = sheet.legs[-1].circuit if sheet.legs else ""
    if judged is not None and judged.name == Outcome.GOOD.value:
        before[circuit] = judged
    yield from ((c, e) for c, e in before.items() if e.count is not None)


def _refill(sheet: Sheet, log: Log) -> Iterator[Against]:
    """Where the level is set by measuring alone, only a proven balance proves it."""
    found = sums.refill_of(sheet, log)
    if found is None:
        if is_done(log, StepKind.FILL):
            yield Against(
                id="refill-unknown",
                text="What came out and what went in were not both measured: the level "
                "is not proven.",
            )
    elif found.verdict is not BalanceVerdict.WITHIN:
        word = found.verdict.value
        yield Against(id=f"refill-{word}", text=REFILL_TEXT[found.verdict])


REFILL_TEXT: dict[BalanceVerdict, str] = {
    BalanceVerdict.WITHIN: "What went in is what came out, with the filter's share.",
    BalanceVerdict.LOW: "Less went in than came out, with the filter's share: fill up.",
    BalanceVerdict.HIGH: (
        "More went in than came out, with the filter's share: draw it off."
    ),
    BalanceVerdict.CANNOT_TELL: (
        "It is not proven that what came out went in: the measuring is too coarse, or "
        "the sheet gives no tolerance."
    ),
}


def _drains(sheet: Sheet, log: Log) -> Iterator[Against]:
    """Every drain is measured in the first round; later ones may use fewer."""
    places = rounds_of(log)[0].places
    if not places and not is_done(log, StepKind.DRAIN):
        return
    for drain in applying(sheet.service, log).drains:
        if drain.name not in places:
            yield Against(
                id=f"drain-not-measured:{drain.name}",
                text=f"{drain.name}: what came out there was not measured.",
            )


def _amounts(sheet: Sheet, log: Log) -> Iterator[Against]:
    done = sums.balance_of(sheet, log)
    if isinstance(done, str):
        yield Against(id="amounts", text=done)
        return
    judged = sums.judged_of(sheet, applying(sheet.service, log), log)
    if judged is None or not of(log, ServiceKind.IN):
        return
    if judged.over_total_ml is not None:
        yield Against(
            id="balance-over-total",
            text="More went in and stayed in than the gearbox holds: it is overfilled, "
            "or it was measured wrong.",
        )
    if judged.verdict in (BalanceVerdict.LOW, BalanceVerdict.HIGH):
        much = "Less" if judged.verdict is BalanceVerdict.LOW else "More"
        yield Against(
            id=f"balance-{judged.verdict.value}",
            text=f"{much} went in and stayed in than the sheet's service fill: find "
            "out why.",
            answerable=True,
        )


def _rounds(sheet: Sheet, log: Log) -> Iterator[Against]:
    """A round that was not filled with what it let out ran low or high meanwhile.

    What a later round makes good does not undo that. The last one is the level's.
    """
    for number, verdict in enumerate(sums.earlier_rounds_of(sheet, log), 1):
        if verdict in (BalanceVerdict.LOW, BalanceVerdict.HIGH):
            much = "less" if verdict is BalanceVerdict.LOW else "more"
            yield Against(
                id=f"round-{number}-{verdict.value}",
                text=f"Round {number}: {much} went in than came out, and the gearbox "
                "ran so until it was drained again: find out why.",
                answerable=True,
            )


def _torques(sheet: Sheet, log: Log) -> Iterator[Against]:
    """What was told to have been tightened to another torque than the sheet's."""
    for fastener in applying(sheet.service, log).fasteners:
        typed = [e for e in of(log, ServiceKind.TORQUE) if e.name == fastener.name]
        if typed and _off(fastener, typed[-1].torque_nm):
            yield Against(
                id=f"torque:{fastener.name}",
                text=f"{fastener.name}: another torque was told than the sheet's.",
                answerable=fastener.torque_tolerance_nm is None,
            )


UNTOLD_GIVE = 0.06
"""Of the torque, where the sheet gives no tolerance: what a wrench itself may be off
(ISO 6789-1:2017, up to 10 N·m; from memory). It can be answered."""


def _off(fastener: Fastener, torque_nm: float | None) -> bool:
    if fastener.torque_nm is None or torque_nm is None:
        return False
    give = fastener.torque_tolerance_nm
    give = UNTOLD_GIVE * fastener.torque_nm if give is None else give
    return abs(torque_nm - fastener.torque_nm) > give + 1e-9


def _papers(sheet: Sheet, log: Log) -> Iterator[Against]:
    for one in found_against(applying(sheet.service, log), log):
        yield Against(id=one.id, text=one.text, answerable=one.answerable)


_GRAVE = (
    Oddity.ANOTHER_CAR,
    Oddity.ODOMETER_BACKWARDS,
    Oddity.FLUID_SENSOR_CODE,
    Oddity.NEW_CODES,
    Oddity.LAMP_CAME_ON,
)


def _car(log: Log, codes: TroubleCodes | None) -> Iterator[Against]:
    """What the car says of itself afterwards, or of its fluid's sensor at any time."""
    found = sums.differences_of(log)
    odd = {o for o in (found.oddities if found else ()) if o in _GRAVE}
    newest = last(log, ServiceKind.CAR)
    kept = newest is not None and newest.car and fluid_sensor_code(newest.car)
    if kept or fluid_sensor_codes(codes):
        odd.add(Oddity.FLUID_SENSOR_CODE)
    for oddity in _GRAVE:
        if oddity in odd:
            again = oddity in (Oddity.FLUID_SENSOR_CODE, Oddity.ANOTHER_CAR)
            yield Against(
                id=oddity.value, text=ODDITY_TEXT[oddity], answerable=not again
            )
