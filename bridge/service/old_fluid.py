"""What the old fluid shows, what that usually means, and what to do about it.

All of it is common practice, no source; it is no diagnosis, and where it says to see
a professional it means it. The most severe comes first.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from enum import IntEnum, StrEnum

from bridge.service.amounts import Amount
from bridge.service.balance import BalanceVerdict, verdict_of
from bridge.values.frozen import frozen
from bridge.values.service_sheet import Service

COMMON_PRACTICE = (
    "Common practice, no source: what such fluid usually means. Fluids differ in "
    "color when new; only an inspection can tell what is wrong."
)
VERY_SHORT_SHARE = 0.25
"""Of the service fill missing: it may have run without enough fluid (common practice,
no source)."""


USUAL_TOLERANCE_SHARE = 0.1
"""Of what should come out may stay in, by how warm it was and how long it ran (common
practice, no source)."""


class FluidFinding(StrEnum):
    """What a person may see, smell or measure; several may be true at once."""

    LIKE_NEW = "like-new"
    DARK = "dark"
    BLACK = "black"
    BURNT_SMELL = "burnt-smell"
    MILKY = "milky"
    FOAM = "foam"
    GREY_PASTE = "grey-paste"
    GLITTER = "glitter"
    CHIPS = "chips"
    LINING_BITS = "lining-bits"
    SHORT = "short"
    VERY_SHORT = "very-short"


class Severity(IntEnum):
    """How much it matters; larger is worse."""

    USUAL = 0
    WATCH = 1
    """Go on; look again after the drive, and at the next service."""
    INSPECT = 2
    """Find the cause before the car is driven far."""
    STOP = 3
    """Do not refill and drive: a professional should look at it first."""


@frozen
class Meaning:
    """What was seen, what it usually means, what to do."""

    seen: tuple[FluidFinding, ...]
    """One, or those that mean more together."""
    severity: Severity
    means: str
    do: str


SEEN_TEXT: dict[FluidFinding, str] = {
    FluidFinding.LIKE_NEW: "Clear, colored like new fluid",
    FluidFinding.DARK: "Dark or brown, still clear",
    FluidFinding.BLACK: "Black, not to be seen through",
    FluidFinding.BURNT_SMELL: "Smells burnt",
    FluidFinding.MILKY: "Milky or pink like cream",
    FluidFinding.FOAM: "Full of foam or fine bubbles",
    FluidFinding.GREY_PASTE: "Fine gray paste on the magnet",
    FluidFinding.GLITTER: "Metal glitter in the fluid",
    FluidFinding.CHIPS: "Metal chips, flakes or splinters",
    FluidFinding.LINING_BITS: "Dark fibrous bits, as from friction linings",
    FluidFinding.SHORT: "Less came out than the sheet says",
    FluidFinding.VERY_SHORT: "Much less came out than the sheet says",
}

_PROFESSIONAL = "Do not refill and drive: have a professional look at the gearbox."


def _one(seen: FluidFinding, severity: Severity, means: str, do: str) -> Meaning:
    return Meaning(seen=(seen,), severity=severity, means=means, do=do)


MEANINGS: tuple[Meaning, ...] = (
    _one(
        FluidFinding.LIKE_NEW,
        Severity.USUAL,
        "Little aged.",
        "Go on.",
    ),
    _one(
        FluidFinding.DARK,
        Severity.USUAL,
        "Aged by heat and use; some fluids darken early and are still good.",
        "Go on; keep to the interval.",
    ),
    _one(
        FluidFinding.BLACK,
        Severity.INSPECT,
        "Much aged, or full of wear from linings.",
        "Look into pan and filter for bits and chips before you refill.",
    ),
    _one(
        FluidFinding.BURNT_SMELL,
        Severity.INSPECT,
        "It was overheated: towing, slipping clutches, or too little fluid.",
        "Look for bits of lining, and for why it ran hot, before you refill.",
    ),
    _one(
        FluidFinding.MILKY,
        Severity.STOP,
        "Water or coolant is in it, often from a leaking cooler; linings and "
        "bearings suffer.",
        "Do not refill and drive: have a professional find the leak first. New "
        "fluid alone does not cure it.",
    ),
    _one(
        FluidFinding.FOAM,
        Severity.INSPECT,
        "Air is beaten in: overfilled, or so low that the pump draws air, or not "
        "the right fluid.",
        "Find out which before you refill; compare the amount with the sheet's.",
    ),
    _one(
        FluidFinding.GREY_PASTE,
        Severity.USUAL,
        "Fine wear, as every gearbox makes it.",
        "Wipe the magnet clean and put it back.",
    ),
    _one(
        FluidFinding.GLITTER,
        Severity.INSPECT,
        "More wear than usual of bearings, gears or bushes.",
        "Inspect pan and filter; if in doubt have a professional look before you "
        "refill.",
    ),
    _one(
        FluidFinding.CHIPS,
        Severity.STOP,
        "A part is breaking up.",
        f"{_PROFESSIONAL} Keep the chips: they tell which part.",
    ),
    _one(
        FluidFinding.LINING_BITS,
        Severity.STOP,
        "Clutch or band linings are coming off; new fluid does not bring them back.",
        f"{_PROFESSIONAL} Keep a sample.",
    ),
    _one(
        FluidFinding.SHORT,
        Severity.INSPECT,
        "It was low: it leaks somewhere, or was not filled right, or not all of it "
        "has run out.",
        "Let it run out, look for leaks, and mend them before you refill.",
    ),
    _one(
        FluidFinding.VERY_SHORT,
        Severity.STOP,
        "It may have run without enough fluid, which wears it out quickly; or most "
        "has not run out.",
        f"First make sure that all has run out. Has it? {_PROFESSIONAL}",
    ),
)

TOGETHER: tuple[Meaning, ...] = (
    Meaning(
        seen=(FluidFinding.BLACK, FluidFinding.BURNT_SMELL),
        severity=Severity.STOP,
        means="Black and burnt together usually mean burnt linings.",
        do=f"{_PROFESSIONAL} New fluid may make worn linings slip.",
    ),
    Meaning(
        seen=(FluidFinding.GLITTER, FluidFinding.BURNT_SMELL),
        severity=Severity.STOP,
        means="Metal and heat together usually mean a part that runs dry or seizes.",
        do=_PROFESSIONAL,
    ),
    Meaning(
        seen=(FluidFinding.FOAM, FluidFinding.SHORT),
        severity=Severity.INSPECT,
        means="Foam and too little together: the pump has drawn air.",
        do="Look for the leak; listen for whining and slipping after the refill.",
    ),
)


def meanings(seen: Collection[FluidFinding]) -> tuple[Meaning, ...]:
    """Return what was seen usually means, the most severe first.

    What means more together comes before its parts where it is more severe. 'Like
    new' beside anything else is left out: it contradicts or says nothing.
    """
    signs = set(seen)
    if len(signs) > 1:
        signs.discard(FluidFinding.LIKE_NEW)
    found = [m for m in (*TOGETHER, *MEANINGS) if signs.issuperset(m.seen)]
    return tuple(sorted(found, key=lambda m: -m.severity))


def worst(seen: Collection[FluidFinding]) -> Severity | None:
    """Return the most severe of what was seen; None if nothing was told."""
    found = meanings(seen)
    return found[0].severity if found else None


def expected_out_ml(service: Service) -> float | None:
    """Return what should come out at the drains; None: the sheet does not tell.

    The sum of what the sheet expects at each; else the service fill without what the
    filter holds, which comes down with the filter and not at the drain.
    """
    places = [d.expected_ml for d in service.drains]
    amounts = [ml for ml in places if ml is not None]
    if amounts and len(amounts) == len(places):
        return math.fsum(amounts)
    if service.service_fill_ml is None:
        return None
    return service.service_fill_ml - (service.filter_holds_ml or 0.0)


def shortage(out: Amount, service: Service) -> FluidFinding | None:
    """Return whether surely less came out than the sheet lets expect, and how much.

    ``out``: all that was drained, at the sheet's own temperature. None: not short,
    not measured, not told by the sheet, or not to be told from measuring this coarse.
    Within the sheet's tolerance nothing is short; where it gives none, a tenth.
    """
    usual = expected_out_ml(service)
    if usual is None or out.ml <= 0.0:
        return None
    by_ml, doubt = out.ml - usual, out.expanded_ml
    if verdict_of(by_ml, doubt, VERY_SHORT_SHARE * usual) is BalanceVerdict.LOW:
        return FluidFinding.VERY_SHORT
    allowed = service.service_fill_tolerance_ml or USUAL_TOLERANCE_SHARE * usual
    return (
        FluidFinding.SHORT
        if verdict_of(by_ml, doubt, allowed) is BalanceVerdict.LOW
        else None
    )
