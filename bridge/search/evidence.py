"""What speaks for and against a series being a gearbox's fluid temperature. Pure.

Weights are logarithms of chances: how much likelier the sight is if this is the fluid
than if it is anything else.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bridge.search.scaling import Array, BytePlace
from bridge.search.watched import Watch
from bridge.values.frozen import frozen

START_SD_C = 2.5
ROUNDING = 0.3
FASTEST_C_PER_S = 0.2
"""Gearbox fluid of an idling car warms by 0.01 to 0.08 degC a second."""
USUAL_RISE_C_PER_MIN = 1.6
RISE_SPREAD = 0.8
TRACKS_C = 1.6
FOLLOWS_C = 0.8
LEAST_SHARE, MOST_SHARE = 0.75, 1.1
"""Engine oil settles at so much of the coolant's way."""
LAGS_S = (15.0, 30.0, 50.0, 80.0, 120.0, 170.0, 230.0, 300.0)
MOVED_C = 10.0
"""The coolant must have moved so far before following it means anything."""
LONG_S = 480.0
"""What levels off within so short a time is no sump full of fluid."""
WORST = -12.0


@dataclass(frozen=True, slots=True)
class Evidence:
    """One sight, how much it weighs, and what it was."""

    name: str
    weight: float
    words: str


@frozen
class Run:
    """One series of values, and the coolant at the same times."""

    t_s: Array
    value: Array
    smooth: Array
    step_c: float
    coolant: Array | None

    @classmethod
    def of(
        cls, t_s: Array, place: BytePlace, raw: NDArray[np.uint8], watch: Watch
    ) -> Run:
        """Read a place out of the answers."""
        value = place.values(raw)
        return cls(
            t_s=t_s,
            value=value,
            smooth=_median(value),
            step_c=place.scaling.factor,
            coolant=watch.coolant_at(t_s),
        )

    @property
    def span_s(self) -> float:
        """Seconds from the first answer to the last."""
        return float(self.t_s[-1] - self.t_s[0])

    @property
    def rise_c(self) -> float:
        """From the beginning to the end, single answers smoothed away."""
        return float(self.smooth[-1] - self.smooth[0])


def _median(value: Array) -> Array:
    """Running median of five: a spike leaves no trace."""
    if len(value) < 5:
        return value
    padded = np.concatenate((value[:1], value[:1], value, value[-1:], value[-1:]))
    windows = np.lib.stride_tricks.sliding_window_view(padded, 5)
    return np.median(windows, axis=1)


def weigh(run: Run, watch: Watch) -> tuple[Evidence, ...]:
    """Return all that is seen in a series."""
    return tuple(
        seen
        for seen in (
            _start(run, watch.soak_c),
            _rise(run),
            _upward(run),
            _jumps(run),
            _noise(run),
            _levels_off(run),
            _straight(run),
            _coolant(run),
            _thermometer(run, watch),
        )
        if seen is not None
    )


def _bounded(name: str, weight: float, words: str) -> Evidence:
    return Evidence(name, max(WORST, float(weight)), words)


def _start(run: Run, soak_c: float | None) -> Evidence | None:
    first = float(run.smooth[0])
    if soak_c is not None:
        off = first - soak_c
        weight = 3.5 - 0.5 * (off / START_SD_C) ** 2
        words = f"starts at {first:.1f} °C, all else had cooled to {soak_c:.1f} °C"
        return _bounded("start", weight, words)
    if run.coolant is None:
        return None
    inside = -25.0 <= first <= float(run.coolant[0]) + 30.0
    words = f"starts at {first:.1f} °C, the coolant at {run.coolant[0]:.1f} °C"
    return Evidence("start", 0.5 if inside else -4.0, words)


def _rise(run: Run) -> Evidence:
    per_minute = run.rise_c / max(run.span_s / 60.0, 1.0)
    words = f"rises {run.rise_c:+.1f} °C in {run.span_s / 60.0:.0f} min"
    if per_minute <= 0.05:
        return Evidence("rise", -8.0, words)
    off = np.log(per_minute / USUAL_RISE_C_PER_MIN) / RISE_SPREAD
    return _bounded("rise", 1.0 - 0.5 * off**2, words)


def _upward(run: Run) -> Evidence:
    way = float(np.abs(np.diff(run.smooth)).sum())
    share = run.rise_c / way if way > 0 else 0.0
    words = f"{100 * max(share, 0.0):.0f} % of its way goes up"
    return _bounded("upward", 1.0 - 10.0 * (1.0 - share), words)


def _jumps(run: Run) -> Evidence:
    step = np.abs(np.diff(run.value))
    allowed = FASTEST_C_PER_S * np.diff(run.t_s) + 1.5 * run.step_c + 0.5
    count = int((step > allowed).sum())
    return _bounded("jumps", 0.5 - 2.0 * count, f"{count} jumps faster than fluid can")


def _noise(run: Run) -> Evidence:
    """How far single answers lie from a smooth curve, beyond mere rounding."""
    x = (run.t_s - run.t_s[0]) / max(run.span_s, 1.0)
    degree = min(5, len(x) - 2)
    rest = run.value - np.polyval(np.polyfit(x, run.value, degree), x)
    rms, fair = float(np.sqrt((rest**2).mean())), ROUNDING * run.step_c + 0.25
    weight = 0.5 - 2.5 * max(0.0, rms / fair - 1.2)
    return _bounded("noise", weight, f"rough by {rms:.2f} °C")


def _levels_off(run: Run) -> Evidence | None:
    if run.span_s < LONG_S or run.rise_c <= 0:
        return None
    third = run.span_s / 3.0
    late = run.t_s >= run.t_s[-1] - third
    slope = (
        float(np.polyfit(run.t_s[late], run.value[late], 1)[0]) if late.sum() > 2 else 0
    )
    ratio = slope * run.span_s / run.rise_c
    words = f"rises at the end with {100 * ratio:.0f} % of its mean slope"
    if ratio < 0.45:
        return Evidence("levels-off", -1.0 - 12.0 * (0.45 - ratio), words)
    return Evidence("levels-off", 0.5 if ratio < 1.6 else -1.0, words)


def _straight(run: Run) -> Evidence | None:
    """A clock or counter runs straight as a die; fluid bends as it warms.

    Coarse steps may hide the bend, so they weigh little.
    """
    codes = run.rise_c / run.step_c
    if codes < 15 or run.span_s < LONG_S:
        return None
    line = np.polyval(np.polyfit(run.t_s, run.value, 1), run.t_s)
    if float(np.abs(run.value - line).max()) > 0.8 * run.step_c:
        return None
    weight = -4.0 if codes > 60 else -1.0
    return Evidence("straight", weight, "runs as straight as a counter")


def _coolant(run: Run) -> Evidence | None:
    if run.coolant is None:
        return None
    moved = float(run.coolant.max() - run.coolant.min())
    if moved < MOVED_C:
        return None
    apart = float(np.sqrt(((run.smooth - run.coolant) ** 2).mean()))
    if apart < TRACKS_C + 0.03 * moved:
        words = f"follows the coolant, {apart:.1f} °C apart"
        return Evidence("coolant", WORST, words)
    behind = _behind(run)
    if behind is not None:
        words = f"follows the coolant {behind:.0f} s late, as engine oil does"
        return Evidence("coolant", -5.0, words)
    lags = run.rise_c < 0.95 * float(run.coolant[-1] - run.coolant[0])
    words = "warms more slowly than the coolant" if lags else "outruns the coolant"
    return Evidence("coolant", 0.5 if lags else -3.0, words)


def _behind(run: Run) -> float | None:
    """Return the seconds of first-order lag behind the coolant that explain it all.

    None: no lag of a few minutes does; a sump full of fluid lags by half an hour.
    """
    if run.coolant is None:
        return None
    fair = FOLLOWS_C + ROUNDING * run.step_c
    best: tuple[float, float] | None = None
    for lag_s in LAGS_S:
        way = _lagging(run.t_s, run.coolant - run.coolant[0], lag_s)
        own = run.value - run.smooth[0]
        share = float(way @ own) / max(float(way @ way), 1e-9)
        rms = float(np.sqrt(((own - share * way) ** 2).mean()))
        like = LEAST_SHARE <= share <= MOST_SHARE and rms <= fair
        if like and (best is None or rms < best[0]):
            best = rms, lag_s
    return None if best is None else best[1]


def _lagging(t_s: Array, drive: Array, lag_s: float) -> Array:
    """Return what follows ``drive`` with a first-order lag, from zero on."""
    out = np.zeros_like(drive)
    now = 0.0
    shares = -np.expm1(-np.diff(t_s) / lag_s)
    middles = 0.5 * (drive[1:] + drive[:-1])
    for place, (share, middle) in enumerate(zip(shares, middles, strict=True), 1):
        now += share * (middle - now)
        out[place] = now
    return out


def _thermometer(run: Run, watch: Watch) -> Evidence | None:
    typed = [t for t in watch.typed if run.t_s[0] - 30 <= t.t_s <= run.t_s[-1] + 30]
    if not typed:
        return None
    weight, worst = 0.0, 0.0
    for one in typed:
        off = float(np.interp(one.t_s, run.t_s, run.smooth)) - one.temp_c
        sd = 0.5 * one.accuracy_c + 0.5
        weight += max(-6.0, 1.5 - 0.5 * (off / sd) ** 2)
        worst = max(worst, abs(off))
    words = f"within {worst:.1f} °C of {len(typed)} thermometer readings"
    return Evidence("thermometer", weight, words)
