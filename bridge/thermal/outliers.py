"""Which readings can be believed: spikes, gaps, and how finely a sensor counts."""

from __future__ import annotations

import math

from bridge.values.frozen import frozen

REMEMBERED = 5
"""Readings the spike rule looks back on."""
AGREEING = 4
"""So many readings in a row that contradict the past are believed after all."""
COLDEST_C, HOTTEST_C = -90.0, 400.0
"""Colder than any place on Earth; hotter than any oil that has not caught fire."""
BY_HAND_SDS = 4.0
"""Readings by hand may differ by this many of the thermometer's standard deviations,
and by what the fluid can do meanwhile. Chosen by hand.
"""
LATEST_S = 1e12
"""A time beyond this is a broken clock: 30,000 years."""
AT_ONCE_C, JUMP_C_PER_S, JUMP_UP_TO_S = 4.0, 0.3, 60.0
"""What a believed reading may be off the recent middle: at once, and more for each
second of a gap up to a minute. Chosen by hand: no recorded warm-up in tests/data rises
faster than 0.2 degC/s over 20 s.
"""
_DIGITS = (1.0, 0.5, 0.25, 0.125, 0.1, 0.0625, 0.05, 0.01)
_FINEST_C = 0.002
"""Steps finer than this make no difference to a forecast."""


def usable(temp_c: float | None) -> bool:
    """Return whether this can be a temperature of oil: a number in -90..400 degC."""
    return temp_c is not None and COLDEST_C <= temp_c <= HOTTEST_C


def datable(t_s: float) -> bool:
    """Return whether this can be a time of ours: within 30,000 years of zero."""
    return abs(t_s) <= LATEST_S


def allowed_jump_c(gap_s: float) -> float:
    """How far fluid may be from the recent middle after ``gap_s`` seconds, degC."""
    return AT_ONCE_C + JUMP_C_PER_S * min(max(gap_s, 0.0), JUMP_UP_TO_S)


def middle(recent: tuple[float, ...]) -> float:
    """Return the median of a few readings, which must not be none."""
    ordered = sorted(recent)
    half = len(ordered) // 2
    return 0.5 * (ordered[half] + ordered[-1 - half])


def is_spike(
    recent: tuple[float, ...], temp_c: float, gap_s: float, sd_c: float = 0.0
) -> bool:
    """Return whether a reading jumps faster than fluid can.

    ``recent`` are the last believed readings in degC (none: nothing to contradict),
    ``gap_s`` the seconds since the last of them. ``sd_c``: the noise of a hand
    thermometer, whose readings are minutes apart: the middle of the last five would
    be old news, so the last one alone is compared.
    """
    if not recent:
        return False
    if sd_c > 0.0:
        allowed_c = BY_HAND_SDS * sd_c + allowed_jump_c(gap_s)
        return abs(temp_c - recent[-1]) > allowed_c
    return abs(temp_c - middle(recent)) > allowed_jump_c(gap_s)


def agree(odd: tuple[float, ...], sd_c: float = 0.0) -> bool:
    """Return whether enough odd readings in a row tell the same story.

    Of a hand thermometer (``sd_c`` above 0) two are enough, a minute or so apart.
    """
    if sd_c > 0.0:
        allowed_c = BY_HAND_SDS * sd_c + allowed_jump_c(60.0)
        return len(odd) >= 2 and abs(odd[-1] - odd[-2]) <= allowed_c
    if len(odd) < AGREEING:
        return False
    last = odd[-AGREEING:]
    return max(last) - min(last) <= allowed_jump_c(0.0)


@frozen
class Steps:
    """What the readings so far tell about the sensor's resolution."""

    first_c: float | None = None
    last_c: float | None = None
    common_c: float = 0.0
    """Greatest common step of all differences seen; 0: no difference yet."""
    changes: int = 0

    def resolution_c(self) -> float:
        """Return the step between neighbouring readings, degC, never below 0.002.

        Until four changes were seen, a coarse common step may be an accident
        and the digits of the first reading count as well.
        """
        guess = digits_c(self.first_c if self.first_c is not None else 0.0)
        if self.common_c == 0.0:
            return guess
        if self.changes < 4:
            return max(min(guess, self.common_c), _FINEST_C)
        return max(self.common_c, _FINEST_C)


def learn_steps(steps: Steps, temp_c: float) -> Steps:
    """Take one more reading into account."""
    if steps.first_c is None or steps.last_c is None:
        return Steps(first_c=temp_c, last_c=temp_c)
    if temp_c == steps.last_c:
        return steps
    return Steps(
        first_c=steps.first_c,
        last_c=temp_c,
        common_c=common_step_c(steps.common_c, abs(temp_c - steps.last_c)),
        changes=min(steps.changes + 1, 1000),
    )


def common_step_c(first: float, second: float) -> float:
    """Greatest common divisor of two differences, with room for rounded digits.

    >>> common_step_c(1.5, 1.0)
    0.5
    """
    big, small = max(first, second), min(first, second)
    while small > _FINEST_C:
        rest = math.fmod(big, small)
        slack = max(_FINEST_C, 0.02 * small)
        if rest <= slack or small - rest <= slack:
            rest = 0.0
        big, small = small, rest
    return max(big, _FINEST_C)


def digits_c(temp_c: float) -> float:
    """Guess a resolution from one reading: the coarsest usual step it fits."""
    for step in _DIGITS:
        if abs(temp_c / step - round(temp_c / step)) * step < 1e-6:
            return step
    return _FINEST_C
