"""What was used and what came of it, held against the sheet: what speaks against it."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, NamedTuple

from bridge.service.log import last, of, standing
from bridge.service.papers.whose import numbers_apart
from bridge.values.service_events import (
    LeakFound,
    LevelFound,
    Particular,
    ServiceKind,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bridge.service.log import Log
    from bridge.values.service_events import ServiceEvent
    from bridge.values.service_sheet import Part, Service

_TOKEN = re.compile(r"[^\W_]+")
_LEAST_LEAF = 4
"""Letters and digits at least that tell a specification from a stray number."""

APART = "vehicle-number"


class PaperFinding(NamedTuple):
    """One thing that speaks against the service."""

    id: str
    text: str
    answerable: bool = False


def found_against(service: Service, log: Log) -> Iterator[PaperFinding]:
    """Yield what was told of fluid, parts and outcome that speaks against it."""
    for event in _newest(log, ServiceKind.FLUID_USED):
        yield from _fluid(service, log, event)
    for event in _newest(log, ServiceKind.PART_USED):
        yield from _part(service, event)
    for event in _newest(log, ServiceKind.LEAK_CHECK):
        if event.text != LeakFound.DRY:
            yield PaperFinding(
                f"leak:{event.name}",
                f"{event.name}: told as {event.text or 'not looked at'} after the "
                "work: find out why and look again.",
                event.text == LeakFound.DAMP,
            )
    for event in {
        (e.name, e.text): e for e in of(log, ServiceKind.INSTRUMENT)
    }.values():
        if doubt := calibration_doubt(event):
            yield PaperFinding(
                instrument_id(event),
                f"{event.name} {event.text}".strip() + f": {doubt}. Check it against "
                "another one, or set anew what was set with it.",
                answerable=True,
            )
    yield from _rechecked(log)
    if numbers_apart(log):
        yield PaperFinding(
            APART,
            "The vehicle number typed is not the one the car told: is this the car?",
            answerable=True,
        )


LONGEST_CALIBRATED_DAYS = 366
"""A year: what ISO 6789 (2003) gives a torque tool whose user has no procedure of his
own (from memory); for the others common practice, no source."""


def calibration_doubt(instrument: ServiceEvent, at_utc_s: float | None = None) -> str:
    """Return what is wrong with the date an instrument was calibrated on; '': nothing.

    ``at_utc_s``: when it was used, s since 1970; None: when it was told of.
    """
    used_s = at_utc_s or instrument.at_utc_s
    try:
        on = date.fromisoformat(instrument.on)
        age = (datetime.fromtimestamp(used_s, UTC).date() - on).days
    except (ValueError, OverflowError, OSError):
        return ""
    if not used_s:
        return ""
    if age < -1:  # a day may have begun where the person is
        return "its calibration is dated AFTER it was used"
    if age > LONGEST_CALIBRATED_DAYS:
        return "it was calibrated MORE THAN A YEAR before it was used"
    return ""


def instrument_id(event: ServiceEvent) -> str:
    """Return what an answer about an instrument names."""
    return "-".join(("calibration:" + event.name, *event.text.split()))


def _newest(log: Log, kind: ServiceKind) -> Iterator[ServiceEvent]:
    yield from {e.name: e for e in of(log, kind)}.values()


def raises(event: ServiceEvent, finding: str) -> bool:
    """Whether an event brings up anew what an answer before it was about."""
    kinds = {
        ServiceKind.FLUID_USED: ("fluid-forbidden", "fluid-not-named"),
        ServiceKind.PART_USED: ("part-number", "part-count"),
        ServiceKind.LEAK_CHECK: ("leak",),
    }
    if event.kind is ServiceKind.INSTRUMENT:
        return finding == instrument_id(event)
    if event.kind is ServiceKind.PARTICULAR:
        return (event.name, finding) == (Particular.VIN, APART)
    return finding in {f"{k}:{event.name}" for k in kinds.get(event.kind, ())}


def _rechecked(log: Log) -> Iterator[PaperFinding]:
    newest = last(log, ServiceKind.RECHECKED)
    if newest is not None and newest.name != LevelFound.RIGHT:
        yield PaperFinding(
            "level-rechecked",
            f"The level was found {newest.name} when it was looked at once more: set "
            "it again, and tell how it stands then.",
        )


def _fluid(service: Service, log: Log, event: ServiceEvent) -> Iterator[PaperFinding]:
    wrong = forbidden_by(service, event)
    if wrong:
        yield PaperFinding(
            f"fluid-forbidden:{event.name}",
            f"{event.name} was filled in, and the sheet forbids it ({wrong}): do not "
            "run the engine, drain it and fill in what the sheet asks for.",
            _drained_since(log, event),
        )
    elif wanted_fluids(service) and not meets(service, event):
        yield PaperFinding(
            f"fluid-not-named:{event.name}",
            f"{event.name}: what was told of it does not name the sheet's fluid "
            f"({' or '.join(wanted_fluids(service))}): compare the can.",
            answerable=True,
        )


def _drained_since(log: Log, event: ServiceEvent) -> bool:
    after = False
    for _, one in standing(log):
        if one is event:
            after = True
        elif after and one.kind is ServiceKind.OUT:
            return True
    return False


def forbidden_by(service: Service, event: ServiceEvent) -> str:
    """Return which of the sheet's forbidden fluids the one used names; '': none.

    What one of several circuits forbids may be the very fluid of another.
    """
    words = _names_in(event)
    wrong_in_one = [w for c in service.circuits for w in c.forbidden_fluids]
    if wrong_in_one and meets(service, event):
        wrong_in_one = []
    for wrong in (*service.forbidden_fluids, *wrong_in_one):
        if any(_holds(t, wrong) or _leaf(t, wrong) for t in words):
            return wrong
    return ""


def wanted_fluids(service: Service) -> list[str]:
    """Return what the fluid used must name one of: the sheet's, or a circuit's own."""
    pairs = [(service.fluid_name, service.fluid_number)]
    pairs += [(c.fluid_name, c.fluid_number) for c in service.circuits]
    return [word for pair in pairs for word in pair if word]


def meets(service: Service, event: ServiceEvent) -> bool:
    """Whether what was told of the fluid used names the sheet's fluid or number."""
    wanted = wanted_fluids(service)
    return any(_holds(t, w) or _leaf(t, w) for t in _names_in(event) for w in wanted)


def _names_in(event: ServiceEvent) -> list[str]:
    """Return product, specification, and each of several specifications."""
    parts = re.split(r"[,;]\s*", event.text)
    return [t for t in (event.name, event.text, *parts) if t]


def _holds(big: str, small: str) -> bool:
    """Whether one names the other word for word; 'D-II' and 'DII' are the same."""
    words, wanted = _words(big), "".join(_words(small))
    if not wanted:
        return False
    return any(
        "".join(words[i:j]) == wanted
        for i in range(len(words))
        for j in range(i + 1, min(len(words), i + 40) + 1)
    )


def _leaf(text: str, words: str) -> bool:
    """Whether what was told is a specification that stands within the sheet's words."""
    bare = "".join(_words(text))
    long = len(bare) >= _LEAST_LEAF and any(c.isdigit() for c in bare)
    return long and _holds(words, text)


def _words(text: str) -> list[str]:
    return _TOKEN.findall(text.casefold())


def sheet_part(service: Service, event: ServiceEvent) -> Part | None:
    """Return the sheet's part that a part used is; None: the sheet has none such."""
    name = _words(event.name)
    return next((p for p in service.parts if _words(p.name) == name), None)


def _part(service: Service, event: ServiceEvent) -> Iterator[PaperFinding]:
    wanted = sheet_part(service, event)
    if wanted is None:
        return
    other = _words(wanted.number) != _words(event.number)
    if wanted.number and event.number and other:
        yield PaperFinding(
            f"part-number:{event.name}",
            f"{event.name}: number {event.number} was fitted, the sheet says "
            f"{wanted.number}.",
            answerable=True,
        )
    if event.count is not None and event.count < wanted.count:
        yield PaperFinding(
            f"part-count:{event.name}",
            f"{event.name}: {event.count} fitted, the sheet says {wanted.count}.",
            answerable=True,
        )
