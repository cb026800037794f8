"""How a temperature may sit in an answer: position, length, order, scaling. Pure.

Scalings: raw - 40 is SAE J1979's (PID 05), 0.1 from -40 and signed 0.1 are its unit
and scaling ids 16h and 96h, 1/32 from -273 is SAE J1939's (SPN 177); the others are
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bridge.values.frozen import frozen

Array = NDArray[np.float64]
LONGEST_DATA = 64
"""Bytes of an answer that are tried; longer answers are lists and texts."""


@dataclass(frozen=True, slots=True)
class Scaling:
    """value = raw * factor + offset, in degC."""

    length: int
    factor: float
    offset: float
    fondness: float = 0.0
    """How usual it is, as the logarithm of a chance; 0: the most usual."""
    signed: bool = False

    @property
    def words(self) -> str:
        """The scaling as a person reads it."""
        sign = " signed" if self.signed else ""
        by = "" if self.factor == 1.0 else f" × {self.factor:.6g}"
        off = "" if self.offset == 0.0 else f" {self.offset:+g}".replace("-", "− ")
        return f"{self.length} byte{'s' * (self.length > 1)}{sign}{by}{off}"


SCALINGS: tuple[Scaling, ...] = (
    Scaling(1, 1.0, -40.0, 0.0),
    Scaling(1, 0.5, -40.0, -0.7),
    Scaling(1, 1.0, 0.0, -0.7, signed=True),
    Scaling(1, 1.0, -50.0, -1.2),
    Scaling(1, 0.75, -48.0, -1.2),
    Scaling(2, 0.0625, 0.0, -0.5, signed=True),
    Scaling(2, 0.1, 0.0, -0.5, signed=True),
    Scaling(2, 0.1, -40.0, -0.5),
    Scaling(2, 0.03125, -273.0, -0.5),
    Scaling(2, 1 / 256, 0.0, -1.0, signed=True),
    Scaling(2, 0.01, 0.0, -1.0, signed=True),
    Scaling(2, 0.01, -40.0, -1.2),
    Scaling(2, 0.1, -273.1, -1.2),
    Scaling(2, 0.5, -40.0, -1.5),
)


@frozen
class BytePlace:
    """Where in an answer a value would be, and how it would be read."""

    first_byte: int
    byte_order: str
    scaling: Scaling

    def values(self, raw: NDArray[np.uint8]) -> Array:
        """Return the values in degC from answers, one a row."""
        end = self.first_byte + self.scaling.length
        part = raw[:, self.first_byte : end].astype(np.int64)
        if self.byte_order == "little":
            part = part[:, ::-1]
        number = part[:, 0]
        for column in range(1, part.shape[1]):
            number = number * 256 + part[:, column]
        size = 256**self.scaling.length
        if self.scaling.signed:
            number = np.where(number >= size // 2, number - size, number)
        value = number * self.scaling.factor + self.scaling.offset
        return np.asarray(value, dtype=np.float64)


def places(width: int) -> Iterator[BytePlace]:
    """Yield every place a temperature could have in an answer of so many bytes."""
    for scaling in SCALINGS:
        orders = ("big",) if scaling.length == 1 else ("big", "little")
        for first in range(min(width, LONGEST_DATA) - scaling.length + 1):
            for order in orders:
                yield BytePlace(first_byte=first, byte_order=order, scaling=scaling)


def matrix(answers: list[bytes]) -> Any:
    """Return answers of one length as rows of bytes."""
    return np.frombuffer(b"".join(answers), dtype=np.uint8).reshape(len(answers), -1)
