"""The one figure counted down to, moved smoothly between two readings. Pure.

A forecast knows most when a code changes and drifts in between, so its median comes
in strokes of seconds. What is shown, called out and printed is one and the same paced
figure: it runs after the forecast instead of jumping, unless the forecast's own
bounds leave it far behind.
"""

from __future__ import annotations

import math

from bridge.values.frozen import frozen, replace
from bridge.values.outlook import HORIZON_S, Crossing

CATCH_UP_S = 10.0
"""How soon most of a difference to the forecast is taken up while it counts down,"""
CATCH_UP_SHARE = 0.1
"""or in this share of the time left, if longer: far off nobody acts on a second."""
MOST_AGAINST = 4.0
"""Seconds a second that the figure may move against the clock."""
NEWS = 1.25
"""A figure so many times beyond the forecast's bounds starts afresh: real news."""
SOON_S = 6.0
"""How soon most of a later early end is taken up."""
LONGEST_S = 10.0
"""After a longer silence the figure starts afresh."""


@frozen
class Pace:
    """Where the two figures of one crossing stood; a frozen value."""

    t_s: float = -math.inf
    middle_s: float | None = None
    early_s: float | None = None


NOT_YET = Pace()


def paced(
    last: Pace, crossing: Crossing | None, *, now_s: float, cautious: bool
) -> Pace:
    """Return where the figures stand at ``now_s``; nothing, where none is forecast.

    ``cautious``: never later than the forecast, as befits the window's shutting.
    """
    if crossing is None or crossing.p95_s == 0.0:
        return Pace(t_s=now_s)
    gone_s = now_s - last.t_s
    known = 0.0 <= gone_s <= LONGEST_S
    early = last.early_s if known else None
    middle = last.middle_s if known else None
    middle = _middle(middle, crossing, gone_s)
    if cautious and middle is not None and crossing.p50_s is not None:
        middle = min(middle, crossing.p50_s)
    return Pace(
        t_s=now_s,
        middle_s=middle,
        early_s=_early(early, crossing, gone_s),
    )


def _middle(last_s: float | None, crossing: Crossing, gone_s: float) -> float | None:
    """The median's figure: the forecast's own where the bounds are wide or news came.

    Wide bounds are told as bounds; their middle is no countdown to keep steady.
    """
    wanted = crossing.p50_s
    if wanted is None or last_s is None or not crossing.narrow:
        return wanted
    late_s = HORIZON_S if crossing.p95_s is None else crossing.p95_s
    early_s, due_s = crossing.p05_s or 0.0, last_s - gone_s
    if due_s > NEWS * late_s or NEWS * due_s < early_s:
        return wanted
    beyond = not early_s <= due_s <= late_s
    within_s = CATCH_UP_S if beyond else max(CATCH_UP_S, CATCH_UP_SHARE * wanted)
    most_s = MOST_AGAINST * gone_s
    move_s = _share(gone_s, within_s) * (wanted - due_s)
    return due_s + min(max(move_s, -most_s), most_s)


def _early(last_s: float | None, crossing: Crossing, gone_s: float) -> float | None:
    """The early end's figure: later only by and by, and never later than forecast."""
    wanted = crossing.p05_s
    if wanted is None or last_s is None:
        return wanted
    due_s = last_s - gone_s
    return min(due_s + _share(gone_s, SOON_S) * (wanted - due_s), wanted)


def _share(gone_s: float, within_s: float) -> float:
    return -math.expm1(-gone_s / within_s)


def shown(pace: Pace, crossing: Crossing | None) -> Crossing | None:
    """Return the crossing with the paced figures, in order."""
    if crossing is None or pace.middle_s is None or pace.early_s is None:
        return crossing
    early_s = min(max(pace.early_s, 0.0), pace.middle_s)
    late_s = crossing.p95_s
    return replace(
        crossing,
        p05_s=early_s,
        p50_s=pace.middle_s,
        p95_s=None if late_s is None else max(late_s, pace.middle_s),
    )
