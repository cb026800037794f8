"""What earlier jobs taught about a car, by car and by sheet; pure values.

A car is known by a hash of its identification number, so that what is kept tells
nobody whose car it was.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import field, replace
from types import MappingProxyType

from bridge.thermal import filter_bank
from bridge.thermal.bank_models import Array
from bridge.thermal.estimator import Track
from bridge.thermal.prior import Prior, weights_of
from bridge.values.frozen import frozen

LEAST_READINGS, LEAST_S = 60, 120.0
"""A job with fewer readings, or shorter, teaches nothing: a glance at the car must not
replace what a whole job taught.
"""


@frozen
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
