"""Whether the value stands still where fluid would have moved on.

Fluid bends, it does not stop: the bank knew its rate and how quickly a rate can
die. From the moment the readings entered the two neighbouring codes they are in now,
the bank of that moment says how likely fluid would still be there. All its models take
part, driven cars too, but each keeps its mood: a change of heating nobody announced is
what this is to notice. What is announced (engine, idle speed, selector, plug) begins
the watch anew.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bridge.thermal.bank_horizon import HORIZONS_S, Ahead, ahead, merge
from bridge.thermal.filter_bank import Bank
from bridge.thermal.normal_curve import phi
from bridge.values.frozen import replace

STOPPED_CHANCE = 3e-5
"""Less likely than this to be still there: it stopped. Chosen on the recorded warm-ups
at 1, 0.5 and 0.1 degC and on simulated gearboxes (docs/sensor-check.md).
"""
DOUBTED_CHANCE = 0.1
"""Less likely than this: nothing is decided until it moves on, but no word is said."""
LEAST_STAY_S = 6.0
"""Shorter stays are not looked at: a unit may renew its value that seldom."""
LOOK_EVERY_S = 2.0
"""How often a value that stays is judged again. Chosen by hand, to save time."""
SLACK = 0.3
"""So much of a code the sensor's noise may keep a value from changing."""
_LAST = len(HORIZONS_S) - 1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Standstill:
    """Where the readings are, since when, and what the bank then expected."""

    low_c: float = 0.0
    high_c: float = 0.0
    since_s: float = 0.0
    """When the readings came between ``low_c`` and ``high_c``, a code apart at most."""
    bank: Bank | None = None
    """What was known at ``since_s``; None: nothing is watched yet."""
    value_c: float = 0.0
    value_since_s: float = 0.0
    value_bank: Bank | None = None
    """The same of the newest value alone."""
    moved: bool = False
    """Whether the value was seen to move before: without that there is no trend."""
    future: Ahead | None = None
    """What ``bank`` expects, once it was asked."""
    looked_s: float = 0.0
    chance: float = 1.0
    """How likely fluid would still be between the two, as last reckoned."""

    @property
    def stopped(self) -> bool:
        """Whether fluid would have moved on."""
        return self.chance < STOPPED_CHANCE

    @property
    def doubted(self) -> bool:
        """Whether fluid would rather have moved on."""
        return self.chance < DOUBTED_CHANCE

    @property
    def same(self) -> bool:
        """Whether it is one and the same value, without a flicker."""
        return self.low_c == self.high_c


FRESH = Standstill()


def watch(
    still: Standstill, bank: Bank, t_s: float, temp_c: float, code_c: float
) -> Standstill:
    """Take in a believed reading; ``bank`` has learned of it, codes are ``code_c``."""
    if still.bank is None:
        return _begun(bank, t_s, temp_c)
    if temp_c != still.value_c:
        return _changed(still, bank, t_s, temp_c, code_c)
    long_enough = t_s - still.since_s >= LEAST_STAY_S
    if not (still.moved and long_enough) or t_s - still.looked_s < LOOK_EVERY_S:
        return still
    return _looked(still, t_s, code_c)


def _begun(bank: Bank, t_s: float, temp_c: float) -> Standstill:
    return Standstill(
        low_c=temp_c,
        high_c=temp_c,
        since_s=t_s,
        bank=bank,
        value_c=temp_c,
        value_since_s=t_s,
        value_bank=bank,
    )


def _changed(
    still: Standstill, bank: Bank, t_s: float, temp_c: float, code_c: float
) -> Standstill:
    """A new value: within a code of all the last ones, or the stay is over."""
    newest = replace(still, value_c=temp_c, value_since_s=t_s, value_bank=bank)
    low, high = min(still.low_c, temp_c), max(still.high_c, temp_c)
    if high - low <= 1.01 * code_c:
        return replace(newest, low_c=low, high_c=high)
    if abs(temp_c - still.value_c) > 1.01 * code_c:
        return replace(_begun(bank, t_s, temp_c), moved=True)
    return replace(
        newest,
        low_c=min(temp_c, still.value_c),
        high_c=max(temp_c, still.value_c),
        since_s=still.value_since_s,
        bank=still.value_bank,
        moved=True,
        future=None,
        chance=1.0,
    )


def _looked(still: Standstill, t_s: float, code_c: float) -> Standstill:
    future = still.future
    if future is None:
        if still.bank is None:
            return still
        future = ahead(still.bank.grid, merge(still.bank))
    at = min(int(np.searchsorted(HORIZONS_S, t_s - still.since_s)), _LAST)
    room_c = (0.5 + SLACK) * code_c
    mean, sd = future.mean[:, at], future.calm_sd[:, at]
    below = phi((still.high_c + room_c - mean) / sd)
    short = phi((still.low_c - room_c - mean) / sd)
    chance = float(future.weight @ (below - short))
    return replace(still, future=future, looked_s=t_s, chance=chance)
