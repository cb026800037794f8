"""The cautions of the trade, each with its steps (common practice, no source).

The maker's procedure and the sheet's own lines come first. Nobody reads a long list
twice: what the sheet says itself is not said again, and at a step only what bears on it
is shown.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bridge.values.service_sheet import StepKind

if TYPE_CHECKING:
    from collections.abc import Iterable


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One sentence, how it shows in a sheet's own words, and where it matters."""

    text: str
    short: str = ""
    """The same in a few words, for the step's own page."""
    words: str
    """A pattern: a sheet's line that has it says the same."""
    steps: tuple[StepKind, ...] = ()


_S = StepKind
USUAL: tuple[Caution, ...] = (
    Caution(
        text="The maker's procedure and figures come first, and so do local rules. GO "
        "only says that the conditions on this sheet are met.",
        words=r"(?!)",  # never left out
    ),
    Caution(
        short="hot fluid, gloves and eyes",
        text="Hot fluid burns skin: gloves, eye protection, long sleeves, no face "
        "under an open plug. A burn: cool it with running water at once; eyes: rinse "
        "them for minutes and see a doctor.",
        words=r"cool it with|rinse",
        steps=(_S.DRAIN, _S.FILTER, _S.LEVEL, _S.RECHECK),
    ),
    Caution(
        short="on stands or a lift, never a jack alone",
        text="Car level, on stands or a lift made for its weight, wheels chocked, "
        "parking brake on. Never go under a car that only a jack holds.",
        words=r"only a jack|\bjack\b.*\bstands|\bstands\b.*\bjack\b",
        steps=(_S.FILL_PLUG, _S.DRAIN, _S.CLOSING, _S.RECHECK),
    ),
    Caution(
        short="carbon monoxide, exhaust outside",
        text="A running engine makes carbon monoxide, which kills unnoticed: lead the "
        "exhaust outside or work in the open.",
        words=r"carbon monoxide",
        steps=(_S.EXERCISE, _S.LEVEL),
    ),
    Caution(
        short="belts, fans and shafts turn",
        text="Belts, fans and shafts turn while you work: keep hands, hair, sleeves "
        "and this computer's cable away. A cooling fan may start by itself.",
        words=r"(belt|fan|shaft)s?\b.*\bturn|\bturn\w*\b.*(belt|fan|shaft)",
        steps=(_S.LEVEL, _S.CLOSING),
    ),
    Caution(
        short="nobody under the car while the lever moves",
        text="Nobody is under the car while the lever moves: one sits at the brake "
        "and calls; nobody stands before or behind the car.",
        words=r"under the car while|nobody under",
        steps=(_S.EXERCISE, _S.LEVEL),
    ),
    Caution(
        short="wheels off the ground turn in gear",
        text="Driven wheels off the ground turn: never in gear on a two-post lift "
        "without the maker's word.",
        words=r"wheels off the ground|two-post",
        steps=(_S.EXERCISE,),
    ),
    Caution(
        short="fluid on a hot exhaust burns",
        text="Fluid on a hot exhaust can burn: wipe it off, do not smoke, keep an "
        "extinguisher at hand.",
        words=r"extinguisher|catch fire",
        steps=(_S.DRAIN, _S.FILL, _S.LEVEL),
    ),
    Caution(
        short="cooler lines are under pressure",
        text="Cooler lines and pressure stores are under pressure: leave their unions "
        "shut while the engine runs.",
        words=r"under pressure",
        steps=(_S.FILTER, _S.LEVEL, _S.RECHECK),
    ),
    Caution(
        short="the engine may start by itself, key away",
        text="A car with stop-start, a hybrid or an electric car may start by itself: "
        "ready mode off, the key away from the car while you reach in. Orange cables "
        "are for trained people only.",
        words=r"ready mode|start by itself",
        steps=(_S.DRAIN, _S.CLOSING),
    ),
    Caution(
        short="never run it with the gearbox empty",
        text="Never run the engine with the gearbox drained: its pump runs dry in "
        "seconds.",
        words=r"gearbox (is )?(empty|drained)|run dry|runs dry",
        steps=(_S.DRAIN, _S.FILTER, _S.REFIT, _S.FILL),
    ),
    Caution(
        short="spilled fluid is slippery",
        text="Catch the fluid and wipe spills at once, the floor gets slippery; take "
        "used fluid to a waste-oil collection point.",
        words=r"slippery",
        steps=(_S.DRAIN, _S.FILTER, _S.OLD_FLUID),
    ),
)


def merged(own: Iterable[str]) -> list[str]:
    """Return a sheet's own cautions, and the usual ones it does not say itself."""
    told = [text for text in own if text]
    return told + [c.text for c in USUAL if not _says(told, c)]


def _says(own: list[str], caution: Caution) -> bool:
    return any(re.search(caution.words, text, re.IGNORECASE) for text in own)


def at_step(step: StepKind) -> str:
    """Return what bears on a step, in a few words each; '' if nothing does."""
    found = "; ".join(c.short for c in USUAL if step in c.steps)
    return f"Caution: {found}." if found else ""
