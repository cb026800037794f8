"""What torque a metric thread usually takes: a plain engineering estimate.

T = K F d with K = 0.2 (dry steel) and F three quarters of the proof load of strength
class 8.8, the textbook rule for joints that are opened again; stress area by the
formula of ISO 898-1, pitches of ISO 261 and 262. Proof stresses from memory.
"""

from __future__ import annotations

from math import pi

from bridge.service.fastening import PITCHES_MM, metric
from bridge.values.frozen import frozen

_NUT_FACTOR = 0.2
_SHARE_OF_PROOF = 0.75


@frozen
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
    found = metric(text)
    if found is None:
        return None
    diameter, pitch = found
    if not 1.0 <= diameter <= 100.0 or not 0.2 <= pitch <= diameter / 4:
        return None
    return Thread(diameter_mm=diameter, pitch_mm=pitch)
