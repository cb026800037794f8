"""An amount of fluid read off a jug, brought to one temperature, with its doubt.

The expansion is that of API MPMS 11.1, table 54D (see ``volume``). Uncertainties are
combined as JCGM 100:2008 (GUM) has it: bounds without more knowledge are rectangular
(4.3.7: half-width over the root of three), independent effects add by their squares
(5.1.2), an effect shared by several readings adds up plainly (5.2.2, note 1), and the
stated uncertainty is two standard deviations (6.2.1, k = 2).

How far off a kitchen jug, a thermometer and a careful person are is common practice,
no source; docs/service-figures.md gives the reasons.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import field

from bridge.level.budget import COVERAGE, RECTANGULAR
from bridge.level.volume import DENSITY_KG_M3, TEMP_LIMITS_C, volume_at
from bridge.values.frozen import frozen
from bridge.values.service_events import ServiceKind
from bridge.values.sheet import Sheet

MOST_ML = 60_000.0
"""More in one measure than any gearbox holds is a mistake in typing."""


@frozen
class Jug:
    """What amounts are read off; the figures are those of a kitchen jug.

    Common practice, no source, all three and ``left_most_ml``.
    """

    graduation_ml: float = 50.0
    """Between two marks; a level is read to the nearer one."""
    holds_ml: float = 2000.0
    """A larger amount is read off in several jugs full."""
    scale_half: float = 0.02
    """Share by which all its marks may be wrong, either way."""
    left_most_ml: float = 20.0
    """What clings to pan and jug or goes beside, for each amount: up to so much."""


@frozen
class TempSpan:
    """The range assumed for a temperature that was not measured."""

    low_c: float
    high_c: float
    name: str


@frozen
class Scale:
    """What amounts are weighed on, in the same jugs; a kitchen scale's figures.

    Common practice, no source, both.
    """

    graduation_g: float = 10.0
    scale_half: float = 0.005
    """Share by which all it shows may be wrong, either way."""


# Common practice, no source: see docs/service-figures.md.
DRAINED = TempSpan(low_c=15.0, high_c=70.0, name="drained, from cold to just driven")
POURED = TempSpan(
    low_c=5.0, high_c=35.0, name="new fluid, from a cold shed to a hot one"
)
RAN_OFF = TempSpan(low_c=20.0, high_c=60.0, name="let out at the level opening")


@frozen
class Terms:
    """To what, and how surely, amounts are corrected."""

    reference_c: float = 20.0
    density_kg_m3: float = DENSITY_KG_M3
    """Of the fluid at 15 degC."""
    density_half_kg_m3: float = 15.0
    """By how much it may be another, either way (common practice, no source)."""
    thermometer_half_c: float = 3.0
    """By how much a measured temperature may be off (common practice, no source)."""
    jug: Jug = field(default_factory=Jug)
    scale: Scale = field(default_factory=Scale)


USUAL = Terms()


@frozen
class MeasuredAmount:
    """One amount as the person read it off."""

    ml: float
    temp_c: float | None = None
    """None: not measured; a range is assumed and the uncertainty is wider."""
    place: str = ""
    """Where it came out, or went in."""
    weighed: bool = False
    """Made of a mass by the terms' density: then ``temp_c`` is that of the density."""


@frozen
class Amount:
    """A volume at the reference temperature and what it may be off by.

    The parts are standard deviations in mL, 0 or more.
    """

    ml: float
    reading_sd_ml: float = 0.0
    """Of the marks: independent from one reading to the next."""
    lost_ml: float = 0.0
    """What is to expect left behind or spilt of it, not in ``ml``: half of what it may
    be, since a bound on one side alone shifts the figure (JCGM 100, 4.3.8)."""
    left_sd_ml: float = 0.0
    """Of that: always a loss, so it never cancels."""
    scale_sd_ml: float = 0.0
    """The jug's scale, or the weighing scale's: shared by what was read off it."""
    temp_sd_ml: float = 0.0
    density_sd_ml: float = 0.0

    @property
    def sd_ml(self) -> float:
        """The combined standard uncertainty in mL (JCGM 100, 5.1.2)."""
        return math.hypot(
            self.reading_sd_ml,
            self.left_sd_ml,
            self.scale_sd_ml,
            self.temp_sd_ml,
            self.density_sd_ml,
        )

    @property
    def expanded_ml(self) -> float:
        """The stated uncertainty in mL, either way: two standard deviations."""
        return COVERAGE * self.sd_ml


def corrected(measured: MeasuredAmount, terms: Terms, assumed: TempSpan) -> Amount:
    """Return one amount at the reference temperature.

    ``assumed`` is used where the temperature was not measured: its middle, with all
    of it as the bounds. Raises ValueError for an amount below 0 or above 60 L, and
    for temperatures and densities beyond the published table.
    """
    ml, jug = _believable(measured), terms.jug
    low_c, high_c = _ends(measured.temp_c, terms, assumed)
    middle_c = 0.5 * (low_c + high_c) if measured.temp_c is None else measured.temp_c
    at_reference = _at(ml, middle_c, terms)
    lost_ml = _at(0.5 * jug.left_most_ml, middle_c, terms) if ml else 0.0
    if measured.weighed:
        return _weighed(ml, at_reference, lost_ml, terms)
    apart_ml = abs(_at(ml, low_c, terms) - _at(ml, high_c, terms))
    return Amount(
        ml=at_reference,
        reading_sd_ml=_reading_sd(ml, jug, jug.graduation_ml),
        lost_ml=lost_ml,
        left_sd_ml=lost_ml * RECTANGULAR,
        scale_sd_ml=at_reference * jug.scale_half * RECTANGULAR,
        temp_sd_ml=0.5 * apart_ml * RECTANGULAR,
        density_sd_ml=_density_sd(ml, middle_c, terms),
    )


def _weighed(ml: float, at_reference: float, lost_ml: float, terms: Terms) -> Amount:
    """A mass has no temperature, but all of the density's doubt is in its volume."""
    scale, density = terms.scale, terms.density_kg_m3
    graduation_ml = 1000.0 * scale.graduation_g / density
    return Amount(
        ml=at_reference,
        reading_sd_ml=_reading_sd(ml, terms.jug, graduation_ml),
        lost_ml=lost_ml,
        left_sd_ml=lost_ml * RECTANGULAR,
        scale_sd_ml=at_reference * scale.scale_half * RECTANGULAR,
        density_sd_ml=at_reference * terms.density_half_kg_m3 / density * RECTANGULAR,
    )


def _believable(measured: MeasuredAmount) -> float:
    if 0.0 <= measured.ml <= MOST_ML:
        return measured.ml
    where = f" ({measured.place})" if measured.place else ""
    raise ValueError(
        f"{measured.ml / 1000.0:g} L{where} cannot be: type the amount that was "
        f"measured, from 0 to {MOST_ML / 1000.0:g} L."
    )


def _ends(temp_c: float | None, terms: Terms, assumed: TempSpan) -> tuple[float, float]:
    """Return the bounds of the temperature; the table's own ends bound them too."""
    if temp_c is None:
        return assumed.low_c, assumed.high_c
    low, high = TEMP_LIMITS_C
    half = terms.thermometer_half_c
    return max(low, temp_c - half), min(high, temp_c + half)


def _at(
    ml: float, temp_c: float, terms: Terms, density_kg_m3: float | None = None
) -> float:
    density = terms.density_kg_m3 if density_kg_m3 is None else density_kg_m3
    return volume_at(ml, from_c=temp_c, to_c=terms.reference_c, density_kg_m3=density)


def _reading_sd(ml: float, jug: Jug, graduation_ml: float) -> float:
    """Return the standard deviation of as many readings as the amount takes."""
    if ml == 0.0:
        return 0.0  # nothing came: there was nothing to read
    readings = max(1, math.ceil(ml / jug.holds_ml))
    return 0.5 * graduation_ml * RECTANGULAR * math.sqrt(readings)


def _density_sd(ml: float, temp_c: float, terms: Terms) -> float:
    # a step of 1 kg/m3 stands for the slope (JCGM 100, 5.1.3); inwards, so that a
    # density at the end of the table still has one
    step = -1.0 if terms.density_kg_m3 > DENSITY_KG_M3 else 1.0
    changed = _at(ml, temp_c, terms, terms.density_kg_m3 + step)
    slope = (changed - _at(ml, temp_c, terms)) / step
    return abs(slope) * terms.density_half_kg_m3 * RECTANGULAR


def together(amounts: Sequence[Amount]) -> Amount:
    """Return the sum of amounts read off the same jug with the same thermometer."""
    return Amount(
        ml=math.fsum(a.ml for a in amounts),
        reading_sd_ml=math.hypot(*(a.reading_sd_ml for a in amounts)),
        lost_ml=math.fsum(a.lost_ml for a in amounts),
        left_sd_ml=math.fsum(a.left_sd_ml for a in amounts),
        scale_sd_ml=math.fsum(a.scale_sd_ml for a in amounts),
        temp_sd_ml=math.fsum(a.temp_sd_ml for a in amounts),
        density_sd_ml=math.fsum(a.density_sd_ml for a in amounts),
    )


def less(first: Amount, second: Amount) -> Amount:
    """Return the first less the second.

    Jug, thermometer and fluid are taken as different ones: with the same the effects
    would partly cancel, so this is the larger uncertainty, never the smaller. What is
    lost adds up: less went in than was read off, and more came out. It is taken off
    here, once.
    """
    return Amount(
        ml=first.ml - second.ml - first.lost_ml - second.lost_ml,
        reading_sd_ml=math.hypot(first.reading_sd_ml, second.reading_sd_ml),
        left_sd_ml=first.left_sd_ml + second.left_sd_ml,
        scale_sd_ml=math.hypot(first.scale_sd_ml, second.scale_sd_ml),
        temp_sd_ml=math.hypot(first.temp_sd_ml, second.temp_sd_ml),
        density_sd_ml=math.hypot(first.density_sd_ml, second.density_sd_ml),
    )


def measured_together(
    measured: Sequence[MeasuredAmount], terms: Terms, assumed: TempSpan
) -> Amount:
    """Return the sum of measured amounts at the reference; 0 of none.

    Raises ValueError as ``corrected`` does.
    """
    return together([corrected(m, terms, assumed) for m in measured])


# Whether an amount is out of proportion. A slip of the finger makes 39 L of 3.9 L: it
# is asked back, and taken when it is said again; it is never changed.

# Common practice, no source, all four.
MOST_OF_USUAL = 2.0
"""So many times the usual is more than forgotten rests explain."""
LEAST_OF_USUAL = 0.01
"""Less is a spoonful where jugs are usual: milliliters taken for liters."""
LEAST_ML = 5.0
MOST_UNTOLD_ML = 15_000.0
"""Where the sheet gives no figure."""

_PARTS = frozenset({ServiceKind.ADDED, ServiceKind.RAN_OFF})
"""Amounts that only correct the fill: all of it again would be too much."""


def usual_ml(sheet: Sheet, kind: ServiceKind, place: str = "") -> float | None:
    """Return what such an amount usually is at most; None: the sheet does not say.

    ``place``: of a drain, for what comes out.
    """
    service = sheet.service
    if kind is ServiceKind.OUT:
        for drain in service.drains:
            if drain.name == place and drain.expected_ml is not None:
                return drain.expected_ml
    return service.service_fill_ml or sheet.fill_ml


def out_of_proportion(
    sheet: Sheet, kind: ServiceKind, ml: float, place: str = ""
) -> bool:
    """Return whether the amount must be said twice; ``place`` as in ``usual_ml``."""
    usual = usual_ml(sheet, kind, place)
    if usual is None:
        return not LEAST_ML <= ml <= MOST_UNTOLD_ML
    share = 1.0 if kind in _PARTS else MOST_OF_USUAL
    least = LEAST_ML if kind in _PARTS else max(LEAST_ML, LEAST_OF_USUAL * usual)
    return not least <= ml <= share * usual
