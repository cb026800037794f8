"""The cautions of the trade, each with its steps (common practice, no source).

Nobody reads a long list twice: at the start stand the six that can kill, at a step what
bears on it. A sheet's own line is filed under the caution it speaks of and shown in its
place; one that speaks of none of them is told at the start.
"""

from __future__ import annotations

import re
from textwrap import wrap
from typing import TYPE_CHECKING

from bridge.values.frozen import frozen
from bridge.values.service_sheet import StepKind
from bridge.values.sheet import Drive

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from bridge.values.sheet import Sheet

MOST_LINES, NARROWEST = 5, 48
"""At a step, on the page of a terminal of 80 columns."""


@frozen
class Caution:
    """One sentence, how it shows in a sheet's own words, and where it matters."""

    text: str
    short: str = ""
    """The same in a few words, for the step's own page."""
    words: str
    """A pattern: a sheet's line that has it says the same, and takes its place."""
    about: str = ""
    """A pattern: a sheet's line that has it stands beside it; '': as ``words``."""
    steps: tuple[StepKind, ...] = ()
    kills: bool = False
    """Whether it stands on the first page."""


_S = StepKind
FIRST = (
    "The maker's procedure and the local rules come first. GO only says that the "
    "conditions on this sheet are met."
)
FIRST_AID = (
    "A burn: cool it with running water at once. Eyes: rinse them for minutes and see "
    "a doctor."
)
USUAL: tuple[Caution, ...] = (
    Caution(
        short="on stands or a lift, never a jack alone",
        text="Never go under a car that only a jack holds: use a lift, or stands on "
        "hard level ground, wheels chocked, parking brake on.",
        words=r"\bjack\b|chock",
        steps=(_S.FILL_PLUG, _S.DRAIN, _S.CLOSING, _S.RECHECK),
        kills=True,
    ),
    Caution(
        short="carbon monoxide, exhaust outside",
        text="A running engine makes carbon monoxide, which kills unnoticed: lead the "
        "exhaust outside or work in the open.",
        words=r"carbon monoxide",
        steps=(_S.EXERCISE, _S.LEVEL),
        kills=True,
    ),
    Caution(
        short="belts, fans and shafts turn",
        text="Belts, fans and shafts turn, and a fan may start by itself: keep hands, "
        "hair, sleeves and this computer's cable away.",
        words=r"\b(belts?|fans?|shafts?|turning parts)\b",
        steps=(_S.LEVEL, _S.CLOSING),
        kills=True,
    ),
    Caution(
        short="nobody under the car while the lever moves, never in gear with driven "
        "wheels off the ground",
        text="While the lever moves: foot on the brake, nobody under, before or behind "
        "the car. Driven wheels off the ground turn: in gear only by the maker's word.",
        words=r"(nobody|no one)\b.*\b(lever|selector)",
        about=r"(lever|selector)\b.*\bmove|creep|off the ground",
        steps=(_S.EXERCISE,),
        kills=True,
    ),
    Caution(
        short="fluid on a hot exhaust burns",
        text="Fluid on a hot exhaust can burn: wipe it off, do not smoke, keep an "
        "extinguisher at hand.",
        words=r"extinguisher|catch fire",
        steps=(_S.DRAIN, _S.FILL, _S.LEVEL),
        kills=True,
    ),
    Caution(
        short="the engine may start by itself, key away",
        text="Stop-start, hybrid and electric cars start by themselves: ready mode "
        "off, key away from the car. Orange cables are for trained people only.",
        words=r"ready mode|orange cable",
        steps=(_S.DRAIN, _S.CLOSING),
        kills=True,
    ),
    Caution(
        short="hot fluid, gloves and eyes",
        text="Hot fluid burns: gloves, eye protection, long sleeves, no face under an "
        "open plug.",
        words=r"hot fluid|scald|\bburn\b",
        steps=(_S.DRAIN, _S.FILTER, _S.LEVEL, _S.RECHECK),
    ),
    Caution(
        short="cooler lines are under pressure",
        text="Cooler lines and pressure stores are under pressure: leave their unions "
        "shut while the engine runs.",
        words=r"under pressure",
        steps=(_S.FILTER, _S.LEVEL, _S.RECHECK),
    ),
    Caution(
        short="never run it with the gearbox empty",
        text="Never run the engine with the gearbox drained: its pump runs dry in "
        "seconds.",
        words=r"gearbox (is )?(empty|drained)|runs? dry",
        steps=(_S.DRAIN, _S.FILTER, _S.REFIT, _S.FILL),
    ),
    Caution(
        short="spilled fluid is slippery",
        text="Catch the fluid and wipe spills at once, the floor gets slippery; take "
        "used fluid to a waste-oil collection point.",
        words=r"slippery",
        about=r"slippery|waste",
        steps=(_S.DRAIN, _S.FILTER, _S.OLD_FLUID),
    ),
)
_MAKER = re.compile(r"maker's (figures|procedure).*(before|first)", re.IGNORECASE)


_OF_DRIVE = {
    Drive.HYBRID: "A hybrid: its engine may start by itself, and the car may move off. "
    "Ready mode off, the key away from the car; where the engine must idle, only held "
    "running by the maker's service mode. Orange cables: trained people alone.",
    Drive.ELECTRIC: "An electric car is silent and may move off. Ready mode off, the "
    "key away from the car. Orange cables: trained people alone.",
}
_IN_GEAR = (
    "The level is set out of park: one sits with the foot on the brake and hands off "
    "the lever, another lies under. Nobody is under the car while the lever moves, and "
    "nobody stands before or behind it."
)


def own_of(sheet: Sheet) -> tuple[str, ...]:
    """Return a sheet's own cautions, with what its drive and its selector ask for."""
    at = [sheet.at(leg) for leg in range(len(sheet.legs))] or [sheet]
    drive = _OF_DRIVE.get(sheet.drive)
    return (
        *([drive] if drive else []),
        *([_IN_GEAR] if any(one.in_gear for one in at) else []),
        *sheet.cautions,
    )


def about(line: str) -> Caution | None:
    """Return the caution a sheet's line speaks of; None: none of them."""
    return next(
        (c for c in USUAL if _has(line, c.words) or (c.about and _has(line, c.about))),
        None,
    )


def at_start(own: Iterable[str]) -> list[str]:
    """Return what is read first: what can kill, and what bears on the level.

    A sheet's line that speaks of none of the cautions stands at the end; those that
    speak of another step's wait for it.
    """
    texts = {text: about(text) for text in own if text and not _MAKER.search(text)}
    level = [c for c in USUAL if not c.kills and _S.LEVEL in c.steps]
    deadly = [c for c in USUAL if c.kills]
    lines = [FIRST]
    for caution in (*deadly, *level):
        mine = [text for text, filed in texts.items() if filed is caution]
        lines += mine if _said_by(mine, caution) else [*mine, caution.text]
    return [*lines, FIRST_AID, *(text for text, filed in texts.items() if not filed)]


def every(own: Iterable[str]) -> list[str]:
    """Return all of them, the sheet's lines first and none of them left out."""
    texts = [text for text in own if text]
    return [
        *texts,
        *([] if any(map(_MAKER.search, texts)) else [FIRST]),
        *(c.text for c in USUAL if not _said_by(texts, c)),
        FIRST_AID,
    ]


def at_step(step: StepKind, own: Sequence[str] = ()) -> tuple[str, ...]:
    """Return what bears on a step: five lines at most, the sheet's own in full first.

    A sheet's line that finds no room is told by its caution's few words.
    """
    bearing = [c for c in USUAL if step in c.steps]
    lines = _lines((), bearing)
    full: tuple[str, ...] = ()
    for caution in list(bearing):
        mine = _filed([text for text in own if text], caution)
        left = [c for c in bearing if c is not caution or not _said_by(mine, c)]
        longer = _lines((*full, *mine), left)
        if mine and sum(len(wrap(line, NARROWEST)) for line in longer) <= MOST_LINES:
            full, bearing, lines = (*full, *mine), left, longer
    return lines


def _lines(full: tuple[str, ...], briefly: Sequence[Caution]) -> tuple[str, ...]:
    brief = "; ".join(c.short for c in briefly)
    return (*full, *((f"Caution: {brief}.",) if brief else ()))


def _has(line: str, pattern: str) -> bool:
    return re.search(pattern, line, re.IGNORECASE) is not None


def _said_by(own: list[str], caution: Caution) -> bool:
    return any(_has(text, caution.words) for text in own)


def _filed(own: Iterable[str], caution: Caution) -> list[str]:
    return [text for text in own if about(text) is caution]
