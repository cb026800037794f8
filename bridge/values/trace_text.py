"""A recorded temperature trace as text: strict about what it says, lax about how.

The format is comma-separated values (RFC 4180) with a header line that names at
least ``time_s`` and ``temp_c``. An empty ``temp_c`` is a dropout. Columns that are
not known are passed over, so a wider log can be replayed as it stands.
"""

from __future__ import annotations

import csv
import io
import math
from typing import TYPE_CHECKING

from bridge.values.errors import TraceError
from bridge.values.frozen import frozen

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

TEMP_LOW_C = -60.0
"""Below this a temperature is a mistake in the file, not a cold gearbox."""
TEMP_HIGH_C = 250.0
"""Above this no gearbox fluid is still a fluid worth measuring."""
MOST_ROWS = 500_000
"""More than a day at five readings a second."""

_REQUIRED = ("time_s", "temp_c")
_LIMITS: dict[str, tuple[float, float]] = {
    "time_s": (-1e9, 1e9),
    "temp_c": (TEMP_LOW_C, TEMP_HIGH_C),
    "engine_rpm": (0.0, 20000.0),
    "speed_kmh": (0.0, 500.0),
    "coolant_c": (TEMP_LOW_C, TEMP_HIGH_C),
    "ambient_c": (-90.0, 90.0),
}


@frozen
class Sample:
    """One row of a trace; None: that column is missing or empty in this row."""

    time_s: float
    temp_c: float | None
    """The fluid; None: a dropout of the sensor or the link."""
    engine_rpm: float | None = None
    speed_kmh: float | None = None
    coolant_c: float | None = None
    ambient_c: float | None = None


def parse_trace(text: str, name: str) -> tuple[Sample, ...]:
    """Read the rows of a trace; ``name`` is what errors call the file.

    Tolerates a byte order mark, any line ending, blank lines, extra columns and
    blanks around values. Raises TraceError, naming file, line and remedy, on a
    missing column, a missing or impossible number, times that do not increase,
    and a trace without a single temperature.
    """
    rows = _rows(text.removeprefix("\ufeff"), name)
    columns = _columns(next(rows, None), name)
    samples: list[Sample] = []
    for line, cells in rows:
        if len(samples) >= MOST_ROWS:
            raise TraceError(
                f"{name} has more than {MOST_ROWS} rows: cut it to the job itself."
            )
        sample = _sample(cells, columns, f"{name}, line {line}")
        _check_order(samples, sample, f"{name}, line {line}")
        samples.append(sample)
    if not any(sample.temp_c is not None for sample in samples):
        raise TraceError(
            f"{name} holds no temperature at all: "
            "give it at least one row with a number under temp_c."
        )
    return tuple(samples)


def _rows(text: str, name: str) -> Iterator[tuple[int, list[str]]]:
    """Yield (line number, cells) of every line that is not blank."""
    if "\x00" in text:
        raise TraceError(f"{name} is not a text file: export the trace as UTF-8 CSV.")
    reader = csv.reader(io.StringIO(text, newline=None))
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield reader.line_num, [cell.strip() for cell in cells]
    except csv.Error as error:
        raise TraceError(
            f"{name}, line {reader.line_num} cannot be read as CSV ({error}): "
            "write plain numbers separated by commas."
        ) from error


def _columns(header: tuple[int, list[str]] | None, name: str) -> dict[str, int]:
    if header is None:
        raise TraceError(
            f"{name} is empty: it needs the header time_s,temp_c and rows below it."
        )
    names = [cell.lower() for cell in header[1]]
    for wanted in _REQUIRED:
        if wanted not in names:
            raise TraceError(
                f"{name}, line {header[0]} names no column {wanted}: "
                "the first line must be the header time_s,temp_c."
            )
    _refuse_doubles(names, f"{name}, line {header[0]}")
    return {column: names.index(column) for column in _LIMITS if column in names}


def _refuse_doubles(names: Sequence[str], where: str) -> None:
    for column in _LIMITS:
        if names.count(column) > 1:
            raise TraceError(f"{where} names {column} twice: keep one of the columns.")


def _sample(cells: list[str], columns: dict[str, int], where: str) -> Sample:
    if len(cells) <= columns["time_s"]:
        raise TraceError(f"{where} is too short: it has no time_s.")
    values = {
        column: _number(cells[index] if index < len(cells) else "", column, where)
        for column, index in columns.items()
    }
    time_s = values.pop("time_s")
    if time_s is None:
        raise TraceError(f"{where} has an empty time_s: give the seconds or drop it.")
    return Sample(time_s=time_s, temp_c=values.pop("temp_c"), **values)


def _number(cell: str, column: str, where: str) -> float | None:
    if not cell:
        return None
    try:
        # Python also reads 1_000 and digits of other scripts; a log never means them.
        value = float(cell) if cell.isascii() and "_" not in cell else math.nan
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise TraceError(
            f"{where} has {cell[:40]!r} under {column}: "
            "write a plain number such as 38.5, or leave it empty for a dropout."
        )
    return _within(value, column, where)


def _within(value: float, column: str, where: str) -> float:
    low, high = _LIMITS[column]
    if not low <= value <= high:
        raise TraceError(
            f"{where} has {value:g} under {column}, outside {low:g} to {high:g}: "
            "correct the row or check the unit."
        )
    return value


def _check_order(samples: Sequence[Sample], sample: Sample, where: str) -> None:
    if samples and sample.time_s <= samples[-1].time_s:
        raise TraceError(
            f"{where} has time_s {sample.time_s:g}, not later than the row before "
            f"({samples[-1].time_s:g}): times must increase from row to row."
        )
