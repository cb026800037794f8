"""How well the bank's own recent forecasts held, and how much wider to be for it.

Every quarter of a minute the bank claims where the fluid will be a minute later; when
that minute is over the claim is compared with what the bank then knows. A bank whose
claims keep missing is less sure than it thinks, and its later forecasts are spread by
what it missed by. Nothing but readings up to now is used, so a forecast stays causal
and two runs give the same digits.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np

from bridge.thermal import filter_bank
from bridge.thermal.bank_horizon import HORIZONS_S, ahead, merge
from bridge.thermal.bank_models import Array
from bridge.thermal.filter_bank import Bank

# All set by trial on seeds 100..103 and 80 further curves: docs/forecast.md.
CLAIM_EVERY_S = 15.0
"""How often the bank claims where the fluid will be,"""
CLAIM_AHEAD_S = 60.0
"""and how far ahead."""
LATE_S = 10.0
"""A claim that could not be checked within this time after it was due is dropped."""
MEMORY_S = 600.0
"""Time constant with which checked claims are forgotten."""
ALARM_S = 60.0
"""The same for the alarm: misses of the last minute or two, which tell of a change."""
BELIEF = 8.0
"""The bank's own uncertainty counts as much as this many claims that just held..."""
ALARM_BELIEF = 2.0
"""...and for the alarm as this many."""
LEAST, MOST = 0.8, 2.5
"""Bounds of the factor by which forecasts are widened."""
_WORST = 3.7
"""A miss counts as this many standard deviations at most (about one in 5000 is worse):
one wild reading must not widen everything.
"""
_COLUMN = int(np.searchsorted(HORIZONS_S, CLAIM_AHEAD_S))
_BELL = NormalDist()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PastForecast:
    """Where the bank expected the fluid at ``due_s``: a mixture of bell curves."""

    due_s: float
    weight: Array
    mean: Array
    calm_sd: Array
    stirred_sd: Array
    calm_chance: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hindsight:
    """Claims that are not due yet, and how the past ones did."""

    claims: tuple[PastForecast, ...] = ()
    at_s: float = -math.inf
    """When the newest claim was made."""
    judged_s: float = 0.0
    count: float = 0.0
    """How many claims were judged; older ones count less and less."""
    squares: float = 0.0
    """Sum of their squared misses, in standard deviations."""
    late_count: float = 0.0
    """The same with a shorter memory."""
    late_squares: float = 0.0

    def spread(self) -> float:
        """Return by how much forecasts should be wider, 0.8..2.5; 1: as they are."""
        square = (BELIEF + self.squares) / (BELIEF + self.count)
        worst = max(math.sqrt(square), self.alarm())
        return min(max(worst, LEAST), MOST)

    def alarm(self) -> float:
        """Return the same by the last minute or two alone; 0: nothing was judged."""
        if self.late_count == 0.0:
            return 0.0
        square = (ALARM_BELIEF + self.late_squares) / (ALARM_BELIEF + self.late_count)
        return math.sqrt(square)


FRESH = Hindsight()


def forget_claims(past: Hindsight) -> Hindsight:
    """Drop the open claims: what they were made under is over."""
    return replace(past, claims=())


def look_back(past: Hindsight, bank: Bank, t_s: float) -> Hindsight:
    """Judge the claims due at ``t_s`` by the bank as it is then, and claim anew."""
    due = tuple(c for c in past.claims if c.due_s <= t_s)
    for claim in due:
        if t_s - claim.due_s <= LATE_S:
            past = _judged(past, _miss(claim, bank, t_s), t_s)
    claims = past.claims[len(due) :]
    at_s = past.at_s
    if t_s - at_s >= CLAIM_EVERY_S:
        claims, at_s = (*claims, _claim(bank, t_s)), t_s
    if claims == past.claims:
        return past
    return replace(past, claims=claims, at_s=at_s)


def _claim(bank: Bank, t_s: float) -> PastForecast:
    future = ahead(bank.grid, merge(bank), _COLUMN)
    return PastForecast(
        due_s=t_s + CLAIM_AHEAD_S,
        weight=future.weight,
        mean=future.mean[:, 0],
        calm_sd=future.calm_sd[:, 0],
        stirred_sd=future.stirred_sd[:, 0],
        calm_chance=future.calm_chance[:, 0],
    )


def _miss(claim: PastForecast, bank: Bank, t_s: float) -> float:
    """How many standard deviations of a bell curve the claim was off."""
    now = filter_bank.centre_of(bank)
    was_c = float(now[0]) - (t_s - claim.due_s) * float(now[1] + now[2])
    calm = _below(was_c, claim.mean, claim.calm_sd)
    stirred = _below(was_c, claim.mean, claim.stirred_sd)
    chance = claim.weight @ (
        claim.calm_chance * calm + (1.0 - claim.calm_chance) * stirred
    )
    safe = min(max(float(chance), 1e-9), 1.0 - 1e-9)
    return min(max(_BELL.inv_cdf(safe), -_WORST), _WORST)


def _below(value: float, mean: Array, sd: Array) -> Array:
    z = ((value - mean) / sd / math.sqrt(2.0)).tolist()
    return np.array([0.5 * math.erfc(-x) for x in z])


def _judged(past: Hindsight, miss: float, t_s: float) -> Hindsight:
    gap_s = max(t_s - past.judged_s, 0.0)
    keep, alarm = math.exp(-gap_s / MEMORY_S), math.exp(-gap_s / ALARM_S)
    return replace(
        past,
        judged_s=t_s,
        count=keep * past.count + 1.0,
        squares=keep * past.squares + miss * miss,
        late_count=alarm * past.late_count + 1.0,
        late_squares=alarm * past.late_squares + miss * miss,
    )
