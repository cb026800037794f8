"""From thermometer readings beside a candidate to what the sheet will say. Pure."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from bridge.level.found_signal import why_not_one
from bridge.search.ranking import Candidate
from bridge.search.scaling import BytePlace, Scaling, matrix
from bridge.search.watched import Address, Series, Typed, Watch
from bridge.values.found import Checkpoint
from bridge.values.sheet import (
    Role,
    Signal,
)

NEAR_S = 20.0
"""An answer must have come within so many seconds of the thermometer's reading."""
BESIDE_S = 10.0
"""And the coolant's within so many: an older one may not speak of this moment."""
COLDEST_C, HOTTEST_C = -40.0, 150.0
"""Limits a found signal is written with."""

When = Callable[[float], str]
"""Gives the date and time of an entry's seconds, in words."""


def signal_of(candidate: Candidate) -> Signal:
    """Return a candidate as a sheet's signal."""
    place, scaling = candidate.place, candidate.place.scaling
    ends = _reach(scaling)
    return Signal(
        role=Role.FLUID_TEMPERATURE,
        service=candidate.address.service,
        identifier=candidate.address.identifier,
        request_id=candidate.address.request_id,
        reply_id=candidate.address.reply_id,
        first_byte=place.first_byte,
        length=scaling.length,
        data_length=candidate.data_length,
        signed=scaling.signed,
        byte_order=place.byte_order,
        factor=scaling.factor,
        offset=scaling.offset,
        minimum=max(COLDEST_C, ends[0]),
        maximum=min(HOTTEST_C, ends[1]),
    )


def _reach(scaling: Scaling) -> tuple[float, float]:
    """Return the values a raw value can stand for, the last code left out.

    All bits set is the usual way to say 'no reading' (SAE J1939-71; common practice).
    """
    size = 256**scaling.length
    low, high = (-size // 2, size // 2 - 2) if scaling.signed else (0, size - 2)
    return low * scaling.factor + scaling.offset, high * scaling.factor + scaling.offset


def place_of(signal: Signal) -> tuple[Address, BytePlace]:
    """Return where a sheet's signal is, in the words of a search."""
    address = Address(
        signal.request_id or 0,
        signal.reply_id or 0,
        signal.service,
        signal.identifier,
    )
    scaling = Scaling(signal.length, signal.factor, signal.offset, signed=signal.signed)
    place = BytePlace(
        first_byte=signal.first_byte, byte_order=signal.byte_order, scaling=scaling
    )
    return address, place


def value_at(series: Series, place: BytePlace, t_s: float) -> float | None:
    """Return the signal's value at a time, None without an answer close by.

    Straight between the answers before and after; else the nearer one.
    """
    end = place.first_byte + place.scaling.length
    kept = [
        (t, d)
        for t, d in zip(series.t_s, series.data, strict=True)
        if abs(t - t_s) <= NEAR_S and len(d) >= end
    ]
    if not kept or len({len(d) for _, d in kept}) > 1:
        return None
    values = place.values(matrix([d for _, d in kept]))
    return float(np.interp(t_s, np.array([t for t, _ in kept]), values))


def checkpoint(
    watch: Watch, address: Address, place: BytePlace, typed: Typed, when: When
) -> Checkpoint | None:
    """Hold one thermometer reading against a signal; None: no answer close by."""
    series = watch.series.get(address)
    value = None if series is None else value_at(series, place, typed.t_s)
    if value is None:
        return None
    near = [c for t, c in watch.coolant if abs(t - typed.t_s) <= BESIDE_S]
    coolant = watch.coolant_at(np.array([typed.t_s])) if near else None
    return Checkpoint(
        when=when(typed.t_s),
        thermometer_c=typed.temp_c,
        signal_c=round(value, 2),
        accuracy_c=typed.accuracy_c,
        coolant_c=None if coolant is None else round(float(coolant[0]), 2),
    )


def checkpoints(
    watch: Watch, address: Address, place: BytePlace, when: When
) -> tuple[Checkpoint, ...]:
    """Return every comparison since the last one that spoke against the signal."""
    made = (checkpoint(watch, address, place, t, when) for t in watch.typed)
    return since_doubt(tuple(c for c in made if c is not None))


def since_doubt(checks: tuple[Checkpoint, ...]) -> tuple[Checkpoint, ...]:
    """Drop everything up to the last contradiction: it takes all that was before."""
    for place in range(len(checks), 0, -1):
        if why_not_one(checks[place - 1]):
            return checks[place:]
    return checks
