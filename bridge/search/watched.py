"""What was watched while a gearbox warmed up: the input of the ranking. Pure values."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from bridge.protocol.request import Request
from bridge.search.scaling import Array

SOAKED_C = 4.0
"""Coolant and air this close together at the start: a cold soak."""


@dataclass(frozen=True, slots=True, order=True)
class Address:
    """One identifier of one control unit."""

    request_id: int
    reply_id: int
    service: int
    identifier: int

    @property
    def request(self) -> Request:
        """The question for it."""
        return Request(
            service=self.service,
            identifier=self.identifier,
            request_id=self.request_id,
            reply_id=self.reply_id,
        )

    def __str__(self) -> str:
        width = 2 if self.service == 0x21 else 4
        return f"{self.request_id:X} {self.service:02X} {self.identifier:0{width}X}"


@dataclass(slots=True)
class Series:
    """The answers of one identifier, in the order they came."""

    t_s: list[float] = field(default_factory=list)
    data: list[bytes] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Typed:
    """A thermometer's reading, typed by the person."""

    t_s: float
    temp_c: float
    accuracy_c: float
    """Good to plus or minus so much."""


@dataclass(slots=True)
class Watch:
    """Everything seen since the engine was started."""

    series: dict[Address, Series] = field(default_factory=dict)
    coolant: list[tuple[float, float]] = field(default_factory=list)
    """Time in s and degC."""
    ambient: list[tuple[float, float]] = field(default_factory=list)
    engine: list[tuple[float, float]] = field(default_factory=list)
    """Time in s and rpm."""
    typed: list[Typed] = field(default_factory=list)

    @property
    def span_s(self) -> float:
        """Seconds from the first to the last answer."""
        ends = [(s.t_s[0], s.t_s[-1]) for s in self.series.values() if s.t_s]
        if not ends:
            return 0.0
        return max(e for _, e in ends) - min(b for b, _ in ends)

    def coolant_at(self, t_s: Array) -> Array | None:
        """Return the coolant at these times; None: it is not known."""
        if not self.coolant:
            return None
        times, temps = np.array(self.coolant).T
        return np.asarray(np.interp(t_s, times, temps), dtype=np.float64)

    @property
    def soak_c(self) -> float | None:
        """What everything in the car had cooled to at the start; None: it had not."""
        if not self.coolant or not self.ambient:
            return None
        coolant_c, ambient_c = self.coolant[0][1], self.ambient[0][1]
        if abs(coolant_c - ambient_c) > SOAKED_C:
            return None
        return 0.5 * (coolant_c + ambient_c)
