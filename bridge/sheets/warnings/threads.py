"""What torque a metric thread usually takes: a plain engineering estimate.

T = K F d with K = 0.2 (dry steel) and F three quarters of the proof load of strength
class 8.8, the textbook rule for joints that are opened again; stress area by the
formula of ISO 898-1, pitches of ISO 261 and 262. Proof stresses from memory.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import pi

PITCHES_MM: dict[float, tuple[float, ...]] = {
    5.0: (0.8, 0.5),
    6.0: (1.0, 0.75),
    8.0: (1.25, 1.0),
    10.0: (1.5, 1.25, 1.0),
    12.0: (1.75, 1.5, 1.25),
    14.0: (2.0, 1.5, 1.25),
    16.0: (2.0, 1.5),
    18.0: (2.5, 2.0, 1.5),
    20.0: (2.5, 2.0, 1.5),
    22.0: (2.5, 2.0, 1.5),
    24.0: (3.0, 2.0, 1.5),
    27.0: (3.0, 2.0, 1.5),
    30.0: (3.5, 2.0, 1.5),
}
"""Diameter -> pitches, the coarse one first (ISO 261, ISO 262)."""

_NUT_FACTOR = 0.2
_SHARE_OF_PROOF = 0.75
_METRIC = re.compile(r"M\s?([0-9]+(?:\.[0-9]+)?)(?:\s?[x×*]\s?([0-9]+(?:\.[0-9]+)?))?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Thread:
    """A metric thread."""

    diameter_mm: float
    pitch_mm: float

    @property
    def stress_area_mm2(self) -> float:
        """Tensile stress area (ISO 898-1): pi/4 ((d2 + d3)/2)^2."""
        return pi / 4 * (self.diameter_mm - 0.9382 * self.pitch_mm) ** 2

    @property
    def usual_torque_nm(self) -> float:
        """Torque of a steel bolt of class 8.8 in this thread."""
        proof_mpa = 580.0 if self.diameter_mm <= 16.0 else 600.0
        force_n = _SHARE_OF_PROOF * proof_mpa * self.stress_area_mm2
        return _NUT_FACTOR * force_n * self.diameter_mm / 1000.0

    @property
    def standard(self) -> bool:
        """Whether ISO 261 has this pitch, as far as the table here goes."""
        pitches = PITCHES_MM.get(self.diameter_mm)
        return pitches is None or self.pitch_mm in pitches


def thread_of(text: str) -> Thread | None:
    """Return the thread a text like 'M14x1.5' or 'M8' names; None if it is none."""
    found = _METRIC.fullmatch(text.strip())
    if found is None:
        return None
    diameter = float(found[1])
    coarse = PITCHES_MM.get(diameter, (0.0,))[0]
    pitch = float(found[2]) if found[2] else coarse
    if not 1.0 <= diameter <= 100.0 or not 0.2 <= pitch <= diameter / 4:
        return None
    return Thread(diameter_mm=diameter, pitch_mm=pitch)
