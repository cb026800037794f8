"""A search in words: how far it is, what leads, what speaks for it. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from bridge.search.ranking import Candidate
    from bridge.search.scan.sweep import Progress
    from bridge.search.watched import Watch

ADVICE = (
    "Engine off, ignition on, parking brake on, everything cooled down overnight:",
    "after a cold soak the fluid is easiest to tell from all else.",
    "Only reading requests are sent. A charger on the battery does no harm.",
)
WARM_UP = (
    "Now start the engine and let it idle, outside or with the exhaust led outside,",
    "brake on, selector in P or N.",
    "Type what a thermometer in or on the sump reads in °C (or with F): twice,",
    "at least 10 °C apart, confirms what is found. 'done' or Ctrl-C ends it.",
)
SHOWN = 5


def minutes(seconds: float | None) -> str:
    """Write a time left."""
    if seconds is None:
        return "time left not known yet"
    if seconds < 90:
        return f"about {seconds:.0f} s left"
    return f"about {seconds / 60:.0f} min left"


def progress_line(progress: Progress) -> str:
    """Return where the search is, in one line of 79 characters at most."""
    whole = progress.done + progress.left
    share = 100 * progress.done / whole if whole else 100
    line = (
        f"{progress.doing}: {share:.0f} %, {progress.answered} answer, "
        f"{minutes(progress.left_s)}"
    )
    return line[:79]


def sureness(chance: float) -> str:
    """Say how sure a candidate is."""
    if chance >= 0.9:
        return "very likely"
    if chance >= 0.6:
        return "likely"
    return "possible" if chance >= 0.2 else "hardly"


def candidate_lines(found: tuple[Candidate, ...], watch: Watch) -> Iterator[str]:
    """Yield the table of what leads, with what speaks for the first."""
    coolant = f"{watch.coolant[-1][1]:.0f} °C" if watch.coolant else "not told"
    yield (
        f"watched {watch.span_s / 60:.1f} min, {len(watch.series)} identifiers, "
        f"coolant {coolant}, {len(watch.typed)} thermometer readings"
    )
    if not found:
        yield "  nothing has moved like a temperature yet"
        return
    for place, one in enumerate(found[:SHOWN], 1):
        yield (
            f"{place:2}. {100 * one.chance:3.0f} % {sureness(one.chance):11} "
            f"{one.last_c:6.1f} °C  {one.address!s:16} byte {one.place.first_byte} "
            f"{_order(one)}{one.place.scaling.words}"
        )
    for seen in sorted(found[0].why, key=lambda e: e.weight)[:3]:
        yield f"      {'against' if seen.weight < 0 else 'for'}: {seen.words}"


def _order(one: Candidate) -> str:
    return "low byte first, " if one.place.byte_order == "little" else ""


def candidate_dict(one: Candidate) -> dict[str, Any]:
    """Return a candidate under documented keys."""
    place, scaling = one.place, one.place.scaling
    return {
        "chance": round(one.chance, 4),
        "request_id": f"{one.address.request_id:X}",
        "reply_id": f"{one.address.reply_id:X}",
        "service": one.address.service,
        "identifier": one.address.identifier,
        "first_byte": place.first_byte,
        "length": scaling.length,
        "byte_order": place.byte_order,
        "signed": scaling.signed,
        "factor": scaling.factor,
        "offset": scaling.offset,
        "now_c": round(one.last_c, 2),
        "why": [
            {"name": e.name, "weight": round(e.weight, 2), "words": e.words}
            for e in one.why
        ],
    }


STOPPED = "stopped; what agreed so far is in {}"
TYPE_READINGS = "Type what it reads in °C, or with F; 'done' ends."
NO_ANSWER = "the car gave no answer just now: type it once more"
CONTRADICTION = "Contradiction: {}. All earlier readings are dropped."
CONFIRMED_IN = "Confirmed, and written to {}."
SEARCH_FILE = "a search file with --state, or say --fresh"
GOING_ON = "going on from {}: {} identifiers have answered"
ENDING = "ending after this round"
TYPED_BY_HAND = "typed in by hand; name the manual here"
NOTHING_FOUND = (
    "Nothing behaves like a gearbox's fluid: watch a longer warm-up from a cold "
    "soak, or search wider --ranges."
)
WRITTEN = "written to {}: sumpgate sheet check {}"
CONFIRMED = "Confirmed against the thermometer."
NOT_CONFIRMED = "Not confirmed, so the gate stays at NO-GO: {}."
HOW_FOUND = "search of unit {:X}, ranked {} with a chance of {:.2f}"
