"""A forecast seen through a sensor or thermometer, the same amount off every time.

Noise averages away over several readings, a wrong calibration does not. The gate's
chances are therefore taken over three windows, shifted by what the thermometer may be
off (Gauss-Hermite quadrature of three points; Abramowitz and Stegun, 25.4.46).
"""

from __future__ import annotations

import math
from dataclasses import replace

from bridge.thermal.estimator import Track
from bridge.thermal.forecast import Forecast, forecast
from bridge.values.sheet import Window

_SIDE, _MIDDLE = 1.0 / 6.0, 2.0 / 3.0


def biased_forecast(
    track: Track, window: Window, *, now_s: float, bias_sd_c: float
) -> Forecast:
    """Return the forecast, its chances widened by a bias of this standard deviation.

    The times stay those of the thermometer's own degrees.
    """
    middle = forecast(track, window, now_s=now_s)
    if bias_sd_c <= 0.0:
        return middle
    shift_c = math.sqrt(3.0) * bias_sd_c
    sides = [
        forecast(track, _shifted(window, c), now_s=now_s) for c in (-shift_c, shift_c)
    ]
    inside = _MIDDLE * middle.inside_chance + _SIDE * sum(
        s.inside_chance for s in sides
    )
    if not all(f.stays for f in (middle, *sides)):
        return replace(middle, inside_chance=inside, stays=())
    stays = tuple(
        _MIDDLE * m + _SIDE * (low + high)
        for m, low, high in zip(
            middle.stays, sides[0].stays, sides[1].stays, strict=True
        )
    )
    return replace(middle, inside_chance=inside, stays=stays)


def _shifted(window: Window, by_c: float) -> Window:
    return Window(low_c=window.low_c + by_c, high_c=window.high_c + by_c)
