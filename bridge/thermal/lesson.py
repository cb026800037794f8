"""What earlier jobs taught about a car, by car and by sheet; pure values.

A car is known by a hash of its identification number, so that what is kept tells
nobody whose car it was.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any

from bridge.thermal import filter_bank
from bridge.thermal.bank_models import Array
from bridge.thermal.estimator import Track
from bridge.thermal.prior import Prior, weights_of

LEAST_READINGS, LEAST_S = 60, 120.0
"""A job with fewer readings, or shorter, teaches nothing: a glance at the car must not
replace what a whole job taught.
"""
MOST_MODELS = 1000
"""No bank has more time constants, noises or modes than this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lessons:
    """What is known before a job begins."""

    sheet: Prior | None = None
    """From the last job with this sheet, whatever the car."""
    cars: Mapping[str, Prior] = field(default_factory=lambda: MappingProxyType({}))
    """From the last job on each car with this sheet, by ``car_key``."""


NO_LESSONS = Lessons()


def car_key(vin: str) -> str:
    """Return the name a car's lesson is kept under: 16 digits of a SHA-256."""
    return hashlib.sha256(vin.strip().upper().encode()).hexdigest()[:16]


def lesson(track: Track) -> Prior | None:
    """Return what this job taught for the next one on the same car.

    None while it taught nothing: fewer than 60 readings, or within two minutes.
    """
    watched_s = track.bank_t_s - track.begun_s
    if track.bank is None or track.readings < LEAST_READINGS or watched_s < LEAST_S:
        return None
    weight = track.bank.weight
    modes = len(track.grid.settings.stay_s)
    moods = weight.sum(axis=0).reshape(-1, modes)
    return Prior(
        paths=_tempered(weight.sum(axis=1)),
        noises=_tempered(moods.sum(axis=1)),
        modes=_tempered(moods.sum(axis=0)),
        jobs=1 if track.prior is None else track.prior.jobs + 1,
    )


def _tempered(chances: Array) -> tuple[float, ...]:
    """Half what was learned, half 'anything': the next job may differ."""
    total = float(chances.sum())
    return tuple(float(c) / total / 2 + 0.5 / len(chances) for c in chances)


def recall(track: Track, lessons: Lessons, vin: str) -> Track:
    """Return the track with what this very car taught, now that it is known which.

    Up to now the bank went by another prior: its weights change by as much as the
    two differ. The car says its number in the first seconds, before much of the
    prior has been forgotten.
    """
    prior = lessons.cars.get(car_key(vin))
    if prior is None or prior == track.prior:
        return track
    if track.bank is None:
        return replace(track, prior=prior)
    ratio = weights_of(track.grid, prior) / weights_of(track.grid, track.prior)
    return replace(track, prior=prior, bank=filter_bank.reweigh(track.bank, ratio))


def prior_to_plain(prior: Prior) -> dict[str, Any]:
    """Return a prior as what JSON can hold."""
    return {
        "paths": list(prior.paths),
        "noises": list(prior.noises),
        "modes": list(prior.modes),
        "jobs": prior.jobs,
    }


def prior_from_plain(told: Any) -> Prior:
    """Return the prior of ``prior_to_plain``.

    Raises:
        ValueError, KeyError, TypeError: it is not one: chances that are negative,
            not finite or do not sum to 1, or a count of jobs below 1.
    """
    jobs = told["jobs"]
    if not isinstance(jobs, int) or isinstance(jobs, bool) or jobs < 1:
        raise ValueError(f"{jobs!r} is no count of jobs")
    return Prior(
        paths=_chances(told["paths"]),
        noises=_chances(told["noises"]),
        modes=_chances(told["modes"]),
        jobs=jobs,
    )


def _chances(told: Any) -> tuple[float, ...]:
    if not isinstance(told, list) or not 0 < len(told) <= MOST_MODELS:
        raise ValueError("chances must be a list")
    found = tuple(float(chance) for chance in told)
    # a chance of nothing could never be unlearned
    if not all(0.0 < chance <= 1.0 for chance in found):
        raise ValueError("a chance must be above 0 and at most 1")
    if not math.isclose(sum(found), 1.0, abs_tol=1e-6):
        raise ValueError("chances must sum to 1")
    return found


def to_plain(lessons: Lessons) -> dict[str, Any]:
    """Return lessons as what JSON can hold."""
    return {
        "sheet": prior_to_plain(lessons.sheet) if lessons.sheet else None,
        "cars": {key: prior_to_plain(p) for key, p in sorted(lessons.cars.items())},
    }


def from_plain(told: Any) -> Lessons:
    """Return the lessons of ``to_plain``; None gives none.

    Raises:
        ValueError, KeyError, TypeError, AttributeError: it is something else.
    """
    if told is None:
        return NO_LESSONS
    sheet = told["sheet"]
    cars = {str(key): prior_from_plain(p) for key, p in told["cars"].items()}
    return Lessons(
        sheet=None if sheet is None else prior_from_plain(sheet),
        cars=MappingProxyType(cars),
    )
