"""A recorded curve that takes the plant's place as the fluid of the simulated car."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from bridge.plain_file import LARGE_BYTES, read_plain
from bridge.values.errors import TraceError
from bridge.values.trace_text import parse_trace

if TYPE_CHECKING:
    from bridge.values.trace_text import Sample

Column = Literal["temp_c", "engine_rpm", "speed_kmh", "coolant_c", "ambient_c"]


@dataclass(frozen=True, slots=True)
class Curve:
    """Rows of a recording, asked by seconds since its first row."""

    samples: tuple[Sample, ...]
    """At least one row, times increasing."""

    @property
    def length_s(self) -> float:
        """Seconds from the first row to the last."""
        return self.samples[-1].time_s - self.samples[0].time_s

    def value(self, column: Column, elapsed_s: float) -> float | None:
        """Return what a column holds; None in a dropout, after the end or without it.

        Straight lines between rows; where the next row is a dropout the last
        value stands until that row, for nothing between the two is known.
        """
        at_s = self.samples[0].time_s + elapsed_s
        index = bisect_right(self.samples, at_s, key=lambda sample: sample.time_s) - 1
        if index < 0 or at_s > self.samples[-1].time_s:
            return None
        here = self.samples[index]
        value: float | None = getattr(here, column)
        if value is None or index + 1 == len(self.samples):
            return value
        there = self.samples[index + 1]
        goal: float | None = getattr(there, column)
        if goal is None:
            return value
        share = (at_s - here.time_s) / (there.time_s - here.time_s)
        return value + share * (goal - value)


def read_trace(path: str | Path) -> Curve:
    """Read a trace file; raises TraceError with one sentence on anything wrong."""
    file = Path(path)
    what = "a CSV file with the header time_s,temp_c"
    text = read_plain(file, what, most_bytes=LARGE_BYTES, error=TraceError)
    return Curve(parse_trace(text, str(file)))
