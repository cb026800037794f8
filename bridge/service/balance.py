"""What came out against what went in: the balance, the first fill, low or high.

All volumes are brought to the temperature the sheet's service fill is given at. An
answer is LOW, HIGH or WITHIN only if the whole uncertainty lies on one side (the rule
of ISO 14253-1 for proving that a figure fits or does not; from memory): in doubt
CANNOT_TELL. None of it sets the level; only the level step does.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

from bridge.level.volume import BASE_C, volume_at
from bridge.service.amounts import (
    DRAINED,
    POURED,
    RAN_OFF,
    USUAL,
    Amount,
    MeasuredAmount,
    Terms,
    less,
    measured_together,
    together,
)
from bridge.values.frozen import frozen
from bridge.values.service_sheet import Service
from bridge.values.sheet import Sheet


def terms_of(sheet: Sheet) -> Terms:
    """Return the terms of a sheet: its service fill's temperature, its density.

    A density of the sheet's own is taken to be right within 5 kg/m3 (common
    practice, no source); without one the usual is, within 15.
    """
    reference_c = sheet.service.service_fill_temp_c
    if sheet.density_kg_m3 is None:
        return Terms(reference_c=reference_c)
    return Terms(
        reference_c=reference_c,
        density_kg_m3=sheet.density_kg_m3,
        density_half_kg_m3=5.0,
    )


@frozen
class Balance:
    """All that was measured, at the reference temperature."""

    out: Amount
    """Came out of all the drain places."""
    put_in: Amount
    """Went in, all pours."""
    ran_off: Amount
    """Let out again at the level opening."""
    kept: Amount
    """What went in and stayed in: put in less run off."""
    net: Amount
    """In less out less run off; above 0: more in the gearbox than before."""
    assumed: tuple[str, ...] = ()
    """Places whose temperature was not measured; the uncertainty has it in."""
    pours: int = 0
    """How often something was put in; 0: there is nothing to judge yet."""


def balance(
    out: Sequence[MeasuredAmount],
    put_in: Sequence[MeasuredAmount],
    ran_off: Sequence[MeasuredAmount] = (),
    terms: Terms = USUAL,
) -> Balance:
    """Return the balance of one service.

    Raises ValueError for an amount or a temperature that cannot be (see
    ``amounts.corrected``).
    """
    drained = measured_together(out, terms, DRAINED)
    filled = measured_together(put_in, terms, POURED)
    over = measured_together(ran_off, terms, RAN_OFF)
    # what came out both ways is read off the same jug: its scale adds up
    return Balance(
        out=drained,
        put_in=filled,
        ran_off=over,
        kept=less(filled, over),
        net=less(filled, together([drained, over])),
        assumed=tuple(m.place for m in (*out, *put_in, *ran_off) if m.temp_c is None),
        pours=len(put_in),
    )


LOST_TEXT = (
    "A little of each amount stays in pan and jug: half of the most that can be is "
    "counted as lost."
)


class BalanceVerdict(StrEnum):
    """How an amount stands against the sheet's."""

    LOW = "low"
    HIGH = "high"
    WITHIN = "within"
    CANNOT_TELL = "cannot-tell"
    """The uncertainty reaches over the limit."""


VERDICT_TEXT: dict[BalanceVerdict, str] = {
    BalanceVerdict.LOW: "Less went in and stayed in than the sheet's service fill.",
    BalanceVerdict.HIGH: "More went in and stayed in than the sheet's service fill.",
    BalanceVerdict.WITHIN: (
        "What went in and stayed in agrees with the sheet's service fill."
    ),
    BalanceVerdict.CANNOT_TELL: "The measuring is too coarse to say low or high.",
}


@frozen
class Judged:
    """An amount against the sheet's service fill."""

    verdict: BalanceVerdict
    by_ml: float
    """Over the service fill; below 0: under it."""
    expanded_ml: float
    """The uncertainty of ``by_ml``, either way (k = 2)."""
    tolerance_ml: float | None
    """The sheet's; None: it gives none, so WITHIN cannot be proved."""
    over_total_ml: float | None
    """How far it is surely over all the gearbox holds; None: not, or not known."""


def judge(
    done: Balance,
    service: Service,
    total_ml: float | None = None,
    *,
    drained_again: Amount | None = None,
) -> Judged | None:
    """Return how what stayed in stands against the sheet; None if that says nothing.

    ``total_ml``: all that the gearbox holds, None where the sheet does not say.
    ``drained_again``: what rounds after the first let out of what was put in.
    The service fill must be one at the balance's reference temperature.
    """
    if service.service_fill_ml is None or done.pours == 0:
        return None
    kept = less(done.kept, drained_again) if drained_again else done.kept
    by_ml, doubt = kept.ml - service.service_fill_ml, kept.expanded_ml
    tolerance = service.service_fill_tolerance_ml
    return Judged(
        verdict=verdict_of(by_ml, doubt, tolerance),
        by_ml=by_ml,
        expanded_ml=doubt,
        tolerance_ml=tolerance,
        over_total_ml=_over_total(kept, total_ml),
    )


def verdict_of(
    by_ml: float, doubt_ml: float, tolerance_ml: float | None
) -> BalanceVerdict:
    """Return the verdict on a difference, its uncertainty and what is allowed."""
    allowed = tolerance_ml or 0.0
    if by_ml - doubt_ml > allowed:
        return BalanceVerdict.HIGH
    if by_ml + doubt_ml < -allowed:
        return BalanceVerdict.LOW
    if tolerance_ml is not None and abs(by_ml) + doubt_ml <= allowed:
        return BalanceVerdict.WITHIN
    return BalanceVerdict.CANNOT_TELL


def _over_total(kept: Amount, total_ml: float | None) -> float | None:
    if total_ml is None or kept.ml - kept.expanded_ml <= total_ml:
        return None
    return kept.ml - total_ml


class FillNote(StrEnum):
    """What must be said beside a first fill."""

    FILTER_ADDED = "filter-added"
    FILTER_UNKNOWN = "filter-unknown"
    CAPPED_BY_SHEET = "capped-by-sheet"
    CAPPED_BY_TOTAL = "capped-by-total"
    LESS_THAN_USUAL = "less-than-usual"


FILL_NOTE_TEXT: dict[FillNote, str] = {
    FillNote.FILTER_ADDED: "What a new filter takes up is added.",
    FillNote.FILTER_UNKNOWN: (
        "The filter was changed, and the sheet does not say what a new one takes up: "
        "the level step will show it."
    ),
    FillNote.CAPPED_BY_SHEET: (
        "More came out than the sheet's service fill: only that much goes in first. "
        "It may have been overfilled, or the measuring is wrong."
    ),
    FillNote.CAPPED_BY_TOTAL: (
        "More came out than the gearbox holds: measure again before filling."
    ),
    FillNote.LESS_THAN_USUAL: (
        "Less came out than the sheet lets expect: it was low, or not all ran out. "
        "Look for a leak."
    ),
}


@frozen
class FirstFill:
    """How much to put in before the level is set; a suggestion."""

    ml: float
    """At the reference temperature."""
    wanted_ml: float
    """What came out, and the filter's share; above ``ml`` if that was capped."""
    expanded_ml: float
    notes: tuple[FillNote, ...] = ()


@frozen
class Pour:
    """A first fill as it is poured: at the new fluid's own temperature, and weighed."""

    temp_c: float
    ml: float
    kg: float
    """By the sheet's density, or the usual one."""


def pour_of(first: FirstFill, temp_c: float, terms: Terms) -> Pour:
    """Return how much to pour of fluid at ``temp_c`` (API MPMS 11.1, table 54D).

    Raises ValueError for a temperature beyond the table.
    """
    density = terms.density_kg_m3
    ml, at_15_ml = (
        volume_at(first.ml, from_c=terms.reference_c, to_c=to_c, density_kg_m3=density)
        for to_c in (temp_c, BASE_C)
    )
    return Pour(temp_c=temp_c, ml=ml, kg=at_15_ml * density * 1e-6)


def first_fill(
    drained: Amount,
    service: Service,
    *,
    filter_changed: bool,
    total_ml: float | None = None,
    short: bool = False,
) -> FirstFill | None:
    """Suggest a first fill: what came out, and what a new filter takes up.

    Never more than the sheet's service fill and its tolerance, nor than the gearbox
    holds; where that cuts it, a note says so. ``short``: less came out than the sheet
    lets expect (``old_fluid.shortage``). None: nothing was measured coming out.
    """
    if drained.ml <= 0.0:
        return None
    extra = (service.filter_holds_ml or 0.0) if filter_changed else 0.0
    wanted = drained.ml + extra
    caps = _caps(service, total_ml)
    cut = [note for note, cap in caps if wanted > cap]
    return FirstFill(
        ml=min([wanted, *(cap for _, cap in caps)]),
        wanted_ml=wanted,
        expanded_ml=drained.expanded_ml,
        notes=(
            *_filter_notes(service, filter_changed=filter_changed),
            *cut,
            *((FillNote.LESS_THAN_USUAL,) if short else ()),
        ),
    )


def _caps(service: Service, total_ml: float | None) -> list[tuple[FillNote, float]]:
    caps = []
    if service.service_fill_ml is not None:
        most = service.service_fill_ml + (service.service_fill_tolerance_ml or 0.0)
        caps.append((FillNote.CAPPED_BY_SHEET, most))
    if total_ml is not None:
        caps.append((FillNote.CAPPED_BY_TOTAL, total_ml))
    return caps


def _filter_notes(service: Service, *, filter_changed: bool) -> tuple[FillNote, ...]:
    if not filter_changed:
        return ()
    if service.filter_holds_ml is None:
        return (FillNote.FILTER_UNKNOWN,)
    return (FillNote.FILTER_ADDED,)
