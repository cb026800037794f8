"""Spurts that come every half minute or so are the pump's, not surplus.

On some gearboxes a small wave passes the opening every 30 s (common practice, no
source). Marks that recur in such a beat, well above what steady dripping explains,
are found here so that the drip model can leave them out.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bridge.values.frozen import frozen

Array = NDArray[np.float64]
Spans = tuple[tuple[float, float], ...]
Table = tuple[Array, Array]
"""Times, and the marks expected up to each."""

PERIODS_S = np.arange(20.0, 45.01, 0.5)
WIDTH_S = 3.0
"""How long one spurt lasts at most."""
_STEP_S = 0.5
EVIDENCE = 11.0
"""Log-likelihood ratio a beat needs; some 3,000 beats are tried, ln of it is 8."""
LEAST_SPURTS = 2


@frozen
class Pulse:
    """A beat that was found."""

    period_s: float
    slots_s: Spans
    """When its spurts came and will come next, in s since opening."""


def overlaps(at: Array, spans: Spans) -> NDArray[np.bool_]:
    """Return which times lie within any of the spans."""
    hit = np.zeros(len(at), dtype=np.bool_)
    for low, high in spans:
        hit |= (at >= low) & (at < high)
    return hit


def touched(starts: Array, ends: Array, spans: Spans) -> NDArray[np.bool_]:
    """Return which of the stretches from start to end meet any of the spans."""
    hit = np.zeros(len(starts), dtype=np.bool_)
    for low, high in spans:
        hit |= (starts < high) & (ends > low)
    return hit


def pulse_slots(
    seen: Array,
    now_s: float,
    expected: Table,
    *,
    period_s: float | None = None,
) -> Pulse | None:
    """Return the beat in the marks, if there is one beyond doubt.

    ``expected`` counts the marks steady dripping would bring up to a time (up to a
    constant). ``period_s``: the sheet's own figure; None: 20 to 45 s are tried.
    """
    periods = PERIODS_S if period_s is None else period_s * np.linspace(0.95, 1.05, 5)
    best: tuple[float, float, float] | None = None
    for period in periods:
        found = _best_phase(seen, now_s, float(period), expected)
        if found and (best is None or found[0] > best[0]):
            best = (found[0], float(period), found[1])
    if best is None or best[0] < EVIDENCE:
        return None
    _, period, first = best
    starts = np.arange(first, now_s + 2 * period, period)
    return Pulse(
        period_s=period, slots_s=tuple((float(s), float(s) + WIDTH_S) for s in starts)
    )


def _best_phase(
    seen: Array, now_s: float, period: float, expected: Table
) -> tuple[float, float] | None:
    """The phase of one period that explains most: (evidence, first start)."""
    spurts = int((now_s - WIDTH_S - seen[0]) // period) + 1
    if spurts < LEAST_SPURTS:
        return None
    # count back from now: early on the dripping itself hides any spurt
    offsets = np.arange(0.0, period, _STEP_S)
    starts = now_s - WIDTH_S - offsets[:, None] - period * np.arange(spurts)
    starts = np.where(starts >= seen[0], starts, np.nan)
    best: tuple[float, float] | None = None
    for many in range(LEAST_SPURTS, spurts + 1):
        evidence, first = _evidence(seen, starts[:, :many], expected)
        if best is None or evidence > best[0]:
            best = (evidence, first)
    return best


def _evidence(seen: Array, starts: Array, expected: Table) -> tuple[float, float]:
    """Poisson log-likelihood ratio of spurts against steady dripping."""
    whole = ~np.isnan(starts).any(axis=1)
    if not whole.any():
        return -np.inf, 0.0
    starts = starts[whole]
    counts = np.searchsorted(seen, starts + WIDTH_S) - np.searchsorted(seen, starts)
    ends = np.interp(starts + WIDTH_S, *expected)
    steady = np.maximum(ends - np.interp(starts, *expected), 0.05)
    # every spurt must stand out on its own
    each = counts > steady + 1.0
    n, m = counts.sum(axis=1), steady.sum(axis=1)
    ratio = np.where(n > m, n * np.log(np.maximum(n, 1) / m) - (n - m), 0.0)
    ratio = np.where(each.all(axis=1), ratio, 0.0)
    top = int(ratio.argmax())
    return float(ratio[top]), float(starts[top].min())
