"""Which bytes behave like a gearbox's fluid temperature, and how sure that is. Pure.

Every place and scaling of every answer is judged by a few plain rules (`Evidence`);
the sum of their weights, as logarithms of chances, is set against all rivals and
against 'none of these'. Widths and weights: common practice, no source; they were
set on simulated units other than those of `make show-find`.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from bridge.search import evidence as evidence
from bridge.search.evidence import Evidence, Run
from bridge.search.scaling import BytePlace, matrix, places
from bridge.search.watched import Address, Series, Watch
from bridge.values.frozen import frozen

LEAST_ANSWERS = 8
MOST = 10
NONE_OF_THESE = 3.0
"""Weight of the fluid's temperature not being among what was seen."""
EARLY, EARLY_S = 4.0, 420.0
"""How much heavier at the very beginning, and when that is over."""
SAME_C = 0.75
"""Two readings of one answer this close together are one candidate."""
COLDEST_C, HOTTEST_C = -45.0, 160.0


@frozen
class Candidate:
    """One place that may hold the fluid's temperature."""

    address: Address
    place: BytePlace
    data_length: int
    score: float
    chance: float = 0.0
    """How sure it is, 0..1, among all that was seen and 'none of these'."""
    first_c: float = 0.0
    last_c: float = 0.0
    why: tuple[Evidence, ...] = ()


def rank(watch: Watch) -> tuple[Candidate, ...]:
    """Return the likeliest candidates, the best one first, ten at most."""
    found = [
        c
        for address, series in watch.series.items()
        for c in _of(watch, address, series)
    ]
    found.sort(key=lambda c: -c.score)
    return _with_chances(found, _doubt(watch.span_s))[:MOST]


def _doubt(span_s: float) -> float:
    """Return the weight of 'none of these': heavier while little has been seen."""
    return NONE_OF_THESE + EARLY * max(0.0, 1.0 - span_s / EARLY_S)


def _with_chances(found: list[Candidate], doubt: float) -> tuple[Candidate, ...]:
    top = max([doubt, *(c.score for c in found)])
    total = math.exp(doubt - top) + sum(math.exp(c.score - top) for c in found)
    return tuple(replace(c, chance=math.exp(c.score - top) / total) for c in found)


def _of(watch: Watch, address: Address, series: Series) -> list[Candidate]:
    """Return the candidates of one identifier, one for each distinct reading."""
    usable = _usual_length(series)
    if len(usable.t_s) < LEAST_ANSWERS:
        return []
    raw = matrix(usable.data)
    t_s = np.array(usable.t_s)
    width = raw.shape[1]
    alive = np.any(raw != raw[0], axis=0)
    runs: list[tuple[Candidate, Run]] = []
    for place in places(width):
        end = place.first_byte + place.scaling.length
        if not alive[place.first_byte : end].any():
            continue
        candidate = _judge(watch, address, place, width, Run.of(t_s, place, raw, watch))
        if candidate is not None:
            runs.append(candidate)
    return _distinct(runs)


def _usual_length(series: Series) -> Series:
    """Return the answers of the length most of them have."""
    lengths = [len(d) for d in series.data]
    if not lengths:
        return Series()
    usual = max(set(lengths), key=lengths.count)
    kept = [
        (t, d) for t, d in zip(series.t_s, series.data, strict=True) if len(d) == usual
    ]
    return Series([t for t, _ in kept], [d for _, d in kept])


def _judge(
    watch: Watch, address: Address, place: BytePlace, width: int, run: Run
) -> tuple[Candidate, Run] | None:
    if not (run.value.min() >= COLDEST_C and run.value.max() <= HOTTEST_C):
        return None
    why = evidence.weigh(run, watch)
    score = place.scaling.fondness + sum(e.weight for e in why)
    candidate = Candidate(
        address=address,
        place=place,
        data_length=width,
        score=score,
        first_c=float(run.value[0]),
        last_c=float(run.value[-1]),
        why=why,
    )
    return candidate, run


def _distinct(runs: list[tuple[Candidate, Run]]) -> list[Candidate]:
    """Drop what reads the same bytes to the same values in a less likely way."""
    runs = sorted(runs, key=lambda pair: -pair[0].score)
    kept: list[tuple[Candidate, Run]] = []
    for candidate, run in runs:
        twin = any(
            _overlap(candidate.place, other.place)
            and float(np.max(np.abs(run.value - known.value))) <= SAME_C
            for other, known in kept
        )
        if not twin:
            kept.append((candidate, run))
    return [c for c, _ in kept]


def _overlap(one: BytePlace, other: BytePlace) -> bool:
    first, second = sorted((one, other), key=lambda p: p.first_byte)
    return second.first_byte < first.first_byte + first.scaling.length
