"""Whether the window can be long enough at all, told before it opens.

The gate itself asks for the chance of staying inside from now on; this asks, while
the fluid is still on its way, whether the whole passage will outlast the settling,
and names what helps if not.
"""

from __future__ import annotations

import math
from enum import StrEnum
from typing import TYPE_CHECKING

from bridge.values.outlook import Trend
from bridge.values.sheet import EngineRule

if TYPE_CHECKING:
    from bridge.level.settling.settle_time import SettleTime
    from bridge.values.outlook import Crossing

LEAST_SPREAD = 0.15
"""A passage is never known better than this (log-normal)."""


class Help(StrEnum):
    """What makes a passage through the window last longer."""

    OPEN_AT_THE_EDGE = "open-at-the-edge"
    """Be ready and open as soon as GO is called."""
    COOL_FIRST = "cool-first"
    """Let the whole gearbox cool, so that its case takes up heat."""
    COLDER_PLACE = "colder-place"
    """A colder place or day, a fan on the gearbox, heater and loads off."""
    WARMER_PLACE = "warmer-place"
    """Cooling too fast: out of the wind, a warmer place."""


HELP_TEXT: dict[Help, str] = {
    Help.OPEN_AT_THE_EDGE: "Be ready and open as soon as GO is called.",
    Help.COOL_FIRST: "Let the whole gearbox cool down and start again from cold.",
    Help.COLDER_PLACE: "Work in a colder place or put a fan on the gearbox.",
    Help.WARMER_PLACE: "Keep the wind off or work in a warmer place.",
}


def helps(trend: Trend, engine: EngineRule) -> tuple[Help, ...]:
    """Return what helps against a window that is too short, best first."""
    if trend is Trend.COOLING or engine is EngineRule.OFF:
        return (Help.OPEN_AT_THE_EDGE, Help.WARMER_PLACE)
    return (Help.OPEN_AT_THE_EDGE, Help.COOL_FIRST, Help.COLDER_PLACE)


def _phi(z: float) -> float:
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def _outlasts(
    inside_s: float, spread: float, settle: SettleTime, delay_s: float
) -> float:
    if inside_s <= 0.0:
        return 0.0
    logs = (math.log(inside_s / (p + delay_s + 1e-9)) for p in settle.points_s)
    return sum(_phi(x / spread) for x in logs) / len(settle.points_s)


def outlasts(
    opens: Crossing | None,
    shuts: Crossing | None,
    settle: SettleTime,
    *,
    delay_s: float = 0.0,
) -> float | None:
    """Return the chance, 0..1, that the time inside is at least the settle time.

    ``opens`` and ``shuts`` are seen from outside the window; ``delay_s`` is what the
    person needs. None: the forecast does not tell.
    """
    if opens is None or shuts is None or opens.p50_s is None:
        return None
    if shuts.p50_s is None:
        return 1.0 - shuts.chance if shuts.chance < 0.5 else None
    inside_s = shuts.p50_s - opens.p50_s
    widths = [_width_s(opens), _width_s(shuts)]
    known = [w for w in widths if w is not None]
    if len(known) < 2 or inside_s <= 0.0:
        return None
    spread = max(LEAST_SPREAD, abs(known[1] - known[0]) / inside_s)
    return _outlasts(inside_s, spread, settle, delay_s)


def _width_s(crossing: Crossing) -> float | None:
    """One standard deviation of a crossing, from its 90 % interval."""
    if crossing.p05_s is None or crossing.p95_s is None:
        return None
    return (crossing.p95_s - crossing.p05_s) / 3.29
