"""The health of an adapter: what a check has found, and whether it will do."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from enum import StrEnum

from bridge.values.causes import Cause
from bridge.values.readings import STALE_S, TroubleCodes
from bridge.values.sheet import Role

COPY_VERSIONS = re.compile(r"v1\.(?:5|4a)\b", re.IGNORECASE)
"""Version texts the chip's maker never released (public code that cites the data
sheet's history): a copy, which may still do."""
WIDEST_GAP_S = 0.75 * STALE_S
"""Longest wait for a reading that keeps the stale limit with a margin."""
MOST_USELESS = 0.05
"""Share of questions that may bring nothing: each is noticed and costs a reading."""
MOST_SILENCES_PER_S = 0.1
"""How often it may miss a prompt or restart: the link gets over each one."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """A cause, and what was heard."""

    cause: Cause
    heard: str = ""


class Fitness(StrEnum):
    """Whether an adapter will do for a level check."""

    FIT = "fit"
    UNFIT = "unfit"
    UNKNOWN = "unknown"


@dataclass(slots=True, kw_only=True)
class Traffic:
    """What a stretch of level-check traffic brought."""

    seconds: float = 0.0
    readings: int = 0
    """Rounds whose first answer, the fluid's stand-in, was right."""
    asked: int = 0
    answered: int = 0
    useless: int = 0
    """Questions that brought no answer, or one that was cut, foreign, stale or
    garbled: refused all of them."""
    complaint: Trouble | None = None
    """What was wrong with the last of those."""
    changed: int = 0
    """Answers that passed every check and yet differ from what cannot change."""
    silent: int = 0
    """Missed prompts and restarts."""
    round_trips_s: list[float] = field(default_factory=list)
    longest_gap_s: float = 0.0

    @property
    def per_second(self) -> float:
        """Readings of the fluid's stand-in each second."""
        return self.readings / self.seconds if self.seconds > 0 else 0.0

    def round_trip_s(self, share: float) -> float | None:
        """Return the round trip that a share (0..1] of all stay within."""
        ranked = sorted(self.round_trips_s)
        return ranked[max(0, math.ceil(share * len(ranked)) - 1)] if ranked else None


@dataclass(slots=True, kw_only=True)
class Health:
    """Everything a check has found out. None and '' stand for 'not told'."""

    speed: int | None = None
    chip: str = ""
    """The version text."""
    device: str = ""
    adapter_v: float | None = None
    module_v: float | None = None
    protocol: str = ""
    engine: int | None = None
    """Reply id of the engine unit; None: none of those that answered is it."""
    main: int = 0
    """Reply id of the engine unit, or of the one that is measured in its place."""
    units: dict[int, frozenset[int]] = field(default_factory=dict)
    """The PIDs each unit says it supports, by reply id."""
    no_units: Trouble | None = None
    """Why no unit answered."""
    untold: tuple[Role, ...] = ()
    """What the gate needs and no unit tells: the person's word stands in for it."""
    fluid: Trouble | None = None
    """Why the sheet's fluid temperature does not come; None: it does, or no sheet."""
    lacking: tuple[str, ...] = ()
    count_digit: bool | None = None
    strays: bool | None = None
    """Whether a question to a unit that is not there was answered all the same."""
    traffic: Traffic | None = None
    codes: TroubleCodes | None = None
    trouble: Trouble | None = None
    """What ended the check early."""


_ADAPTERS_FAULT = (
    Cause.REQUESTS_REFUSED,
    Cause.CHARACTERS_LOST,
    Cause.ALWAYS_STOPPED,
    Cause.CUT_SHORT,
    Cause.ADAPTER_ERROR,
)
"""Why no unit was found, where that says something about the adapter."""


def judge(health: Health) -> tuple[Fitness, str | Trouble]:
    """Return whether a GO could come through this adapter, and why not ('' if so)."""
    if health.trouble is not None:
        return Fitness.UNFIT, health.trouble
    if not health.units:
        why = health.no_units or Trouble(Cause.NO_UNITS)
        unfit = why.cause in _ADAPTERS_FAULT
        return Fitness.UNFIT if unfit else Fitness.UNKNOWN, why
    if health.fluid is not None:
        return Fitness.UNFIT, health.fluid
    if health.strays:
        return (
            Fitness.UNFIT,
            "it puts questions to another control unit than it is told to",
        )
    traffic = health.traffic
    if traffic is None or not traffic.readings:
        return Fitness.UNFIT, "no reading came through"
    false = _false_answers(traffic) or _too_slow(traffic)
    return (Fitness.UNFIT, false) if false else (Fitness.FIT, "")


def _false_answers(traffic: Traffic) -> str | Trouble:
    if traffic.changed:
        return f"{traffic.changed} of {traffic.asked} answers were false"
    if traffic.useless > MOST_USELESS * traffic.asked:
        counted = f"{traffic.useless} of {traffic.asked} questions brought nothing"
        complaint = traffic.complaint or Trouble(Cause.CUT_SHORT)
        return Trouble(complaint.cause, f"{counted}; {complaint.heard}")
    return ""


def _too_slow(traffic: Traffic) -> str:
    if traffic.silent > max(1.0, traffic.seconds * MOST_SILENCES_PER_S):
        return (
            f"it fell silent or restarted {traffic.silent} times "
            f"in {traffic.seconds:.0f} s"
        )
    if traffic.longest_gap_s > WIDEST_GAP_S:
        return (
            f"once it took {traffic.longest_gap_s:.1f} s to bring a reading, "
            f"and after {STALE_S:.0f} s a reading is too old"
        )
    return ""
