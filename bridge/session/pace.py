"""The one figure counted down to, moved smoothly between two readings. Pure.

A forecast knows most when a code changes and drifts in between, so its median comes
in strokes of seconds. What is shown, called out and printed is one and the same paced
figure: it runs after the forecast instead of jumping, unless the forecast's own
bounds leave it behind.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from bridge.values.outlook import HORIZON_S, Crossing

CATCH_UP_S = 20.0
"""How soon most of a difference to the forecast is taken up while it counts down,"""
SOON_S = 6.0
"""and while the bounds are wide or the early end alone is told."""
LONGEST_S = 10.0
"""After a longer silence the figure starts afresh."""


@dataclass(frozen=True, slots=True, kw_only=True)
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
    """The median's figure: news only where it leaves the forecast's bounds."""
    wanted = crossing.p50_s
    if wanted is None or last_s is None:
        return wanted
    late_s = HORIZON_S if crossing.p95_s is None else crossing.p95_s
    due_s = min(max(last_s - gone_s, crossing.p05_s or 0.0), late_s)
    within_s = CATCH_UP_S if crossing.narrow else SOON_S
    return due_s + _share(gone_s, within_s) * (wanted - due_s)


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
