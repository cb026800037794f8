"""How long a surplus takes to run down where no manual says: flow over the opening.

Torricelli's velocity at each depth, summed over the wetted opening and narrowed by the
contraction of a sharp edge: for a thin head that is the weir formula of handbooks, two
thirds of C b sqrt(2 g) h^1.5 over an edge of length b (as in ISO 1438, from memory; the
rim of a tube is such an edge bent round), for a deep one the orifice. Friction and the
wetting of the rim are left out; both make it slower, never faster.

Settled is one thing everywhere: the flow is below the sheet's rate of drops. The last
tenths of a millimeter take most of the time, so how much was too much hardly matters.
"""

from __future__ import annotations

import math
from enum import StrEnum
from functools import lru_cache

from bridge.level.settling.settle_time import STATED_SPREAD
from bridge.level.settling.settle_values import USUAL_RULE, DripRule
from bridge.values.frozen import frozen
from bridge.values.sheet import LevelMethod, Sheet

CONTRACTION = 0.6
"""Of a sharp-edged opening (handbooks have 0.60 to 0.62)."""
_G_M_S2 = 9.80665
USUAL_AREA_CM2 = 500.0
USUAL_BORE_MM = {LevelMethod.OVERFLOW_TUBE: 6.0, LevelMethod.LEVEL_PLUG: 14.0}
"""Where the sheet gives none: the narrow end of what there is, since a narrow one takes
longer (common practice, no source)."""
USUAL_HEAD_MM = 5.0
"""How much too high it stands at opening: 250 mL over 500 cm2 (common practice, no
source). Less than half of it takes a sixth less time."""
HANDLING_S = 60.0
"""Where nothing is waited for but hands: to read a stick twice, to open and to close at
a temperature (common practice, no source)."""
RECKONED_SPREAD = 0.35
"""As STATED_SPREAD: nine in ten between 0.56 and 1.8 times as long."""
_STEPS = 200
_SLICES = 40


class Basis(StrEnum):
    """What a settle time rests on."""

    STATED = "stated"
    RECKONED = "reckoned"
    """From the sheet's own bore and area."""
    USUAL = "usual"
    """From a usual bore or a usual area, or both."""


@frozen
class SheetSettle:
    """The settle time a sheet comes to."""

    time_s: float
    spread: float
    """Log-normal."""
    basis: Basis


def settle_of(sheet: Sheet) -> SheetSettle:
    """Return the sheet's settle time: what it states, else what is reckoned."""
    if sheet.settle_time_s is not None:
        return SheetSettle(
            time_s=sheet.settle_time_s, spread=STATED_SPREAD, basis=Basis.STATED
        )
    reckoned_s = reckoned_settle_s(sheet)
    if reckoned_s is None:
        return SheetSettle(time_s=HANDLING_S, spread=STATED_SPREAD, basis=Basis.USUAL)
    own = sheet.sump_area_cm2 is not None and sheet.bore_mm is not None
    return SheetSettle(
        time_s=reckoned_s,
        spread=RECKONED_SPREAD,
        basis=Basis.RECKONED if own else Basis.USUAL,
    )


def reckoned_settle_s(sheet: Sheet) -> float | None:
    """Return the settle time reckoned for a sheet, in s.

    None: nothing runs out, or it is closed at a temperature whatever still runs.
    """
    usual_mm = USUAL_BORE_MM.get(sheet.method)
    if usual_mm is None or sheet.close_at_c is not None:
        return None
    return runs_down_s(
        sheet.method,
        bore_mm=sheet.bore_mm or usual_mm,
        area_cm2=sheet.sump_area_cm2 or USUAL_AREA_CM2,
        to_ml_per_s=sheet.drop_rate_per_s * USUAL_RULE.drop_ml,
    )


def drip_rule(sheet: Sheet) -> DripRule:
    """Return what counts as settled by the sheet."""
    return DripRule(settled_rate_per_s=sheet.drop_rate_per_s)


def drops(count: float) -> str:
    """Write a number of drops."""
    return f"{count:g} drop{'' if count == 1.0 else 's'}"


def flow_ml_per_s(method: LevelMethod, head_mm: float, bore_mm: float) -> float:
    """Return what runs out under a head over the opening's lowest edge, in mL/s."""
    velocity = CONTRACTION * math.sqrt(2.0 * _G_M_S2)
    head, bore = head_mm / 1000.0, bore_mm / 1000.0
    if method is LevelMethod.OVERFLOW_TUBE:
        weir = 2.0 / 3.0 * math.pi * bore * head * math.sqrt(head)
        return 1e6 * velocity * min(weir, 0.25 * math.pi * bore**2 * math.sqrt(head))
    top = min(head, bore)
    total = 0.0
    for i in range(_SLICES):  # y = top sin2(u): the ends of the slices fall together
        u = 0.5 * math.pi * (i + 0.5) / _SLICES
        y = top * math.sin(u) ** 2
        wide = 2.0 * math.sqrt(y * max(bore - y, 0.0))
        thick = top * math.sin(2.0 * u) * 0.5 * math.pi / _SLICES
        total += wide * math.sqrt(max(head - y, 0.0)) * thick
    return 1e6 * velocity * total


@lru_cache(maxsize=64)
def runs_down_s(
    method: LevelMethod,
    *,
    bore_mm: float,
    area_cm2: float,
    to_ml_per_s: float,
    head_mm: float = USUAL_HEAD_MM,
) -> float:
    """Return how long it runs until the flow is below ``to_ml_per_s``, in s.

    ``head_mm``: where it begins, over the opening. 0 if it is below from the start. All
    figures above 0.
    """
    start = math.log(head_mm)
    end = _head_log(method, bore_mm, to_ml_per_s, start)
    step = (start - end) / _STEPS
    heads = (math.exp(end + (i + 0.5) * step) for i in range(_STEPS))
    waits = (head / flow_ml_per_s(method, head, bore_mm) for head in heads)
    return 0.1 * area_cm2 * step * math.fsum(waits)


def _head_log(method: LevelMethod, bore_mm: float, flow: float, most: float) -> float:
    """Return the logarithm of the head in mm under which so much flows."""
    low, high = math.log(1e-6), most
    for _ in range(60):
        middle = 0.5 * (low + high)
        less = flow_ml_per_s(method, math.exp(middle), bore_mm) < flow
        low, high = (middle, high) if less else (low, middle)
    return high
