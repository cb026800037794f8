"""A job as CSV with its description beside it, or as JSON: for other programs.

CSV: RFC 4180. The description: W3C "Metadata Vocabulary for Tabular Data" (CSV on the
Web), 2015. Units are those of the file, named as in UCUM.
"""

from __future__ import annotations

import csv
import datetime as dt
import json
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any, TextIO

from bridge.jobfile.file.chain import Row, from_body
from bridge.jobfile.file.check import Finding, check
from bridge.jobfile.file.format import RowKind
from bridge.jobfile.report.field_words import number
from bridge.units import printable
from bridge.values.sheet import Role

_LONGEST_WORD = 400
_CONTEXT = ["http://www.w3.org/ns/csvw", {"@language": "en"}]
COLUMNS: dict[Role, tuple[str, str, str]] = {
    Role.FLUID_TEMPERATURE: ("fluid_c", "fluid temperature", "Cel"),
    Role.COOLANT_TEMPERATURE: ("coolant_c", "coolant temperature", "Cel"),
    Role.AMBIENT_TEMPERATURE: ("ambient_c", "temperature of the air", "Cel"),
    Role.ENGINE_SPEED: ("engine_rpm", "engine speed", "/min"),
    Role.VEHICLE_SPEED: ("speed_kmh", "road speed", "km/h"),
    Role.ENGINE_RUN_TIME: ("run_time_s", "time since the engine started", "s"),
    Role.MODULE_VOLTAGE: ("voltage_v", "supply of the control unit", "V"),
    Role.SELECTOR: ("selector", "position of the selector, raw value", "1"),
}
_VALUES = tuple(COLUMNS.values())
_READINGS_HEAD = (
    ("event", "integer", "number of the event in the job file", ""),
    ("watch", "integer", "number of the watch, from 1", ""),
    ("time_s", "number", "since that watch began, monotonic clock", "s"),
    ("utc", "dateTimeStamp", "wall clock, when the program took it", ""),
    ("link", "string", "state of the link then", ""),
    ("verdict", "string", "the verdict then", ""),
)
_READINGS_TAIL = (
    ("label", "string", "position of the selector as the sheet names it", ""),
    ("raw", "hexBinary", "the payload it was read from, echo included", ""),
)
_EVENTS = (
    ("event", "integer", "number of the event in the job file", ""),
    ("watch", "integer", "number of the watch, from 1; 0: before the first", ""),
    ("time_s", "number", "since that watch began, monotonic clock", "s"),
    ("utc", "dateTimeStamp", "wall clock, when the program took it", ""),
    ("kind", "string", "what it is; docs/job-file.md", ""),
    ("role", "string", "the signal it concerns", ""),
    ("content", "json", "everything else", ""),
    ("hash", "hexBinary", "SHA-256 of the event and the one before", ""),
)


def utc_text(utc_s: float) -> str:
    """Return a moment as ISO 8601 with milliseconds; '' where it cannot be."""
    try:
        moment = dt.datetime.fromtimestamp(utc_s, dt.UTC)
    except (OverflowError, OSError, ValueError):
        return ""
    return moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")


class _State:
    """What stands while going through the events: the watch, link and verdict."""

    def __init__(self) -> None:
        self.watch, self.link, self.verdict = 0, "", ""
        self._t0_s = 0.0

    def take(self, row: Row, content: dict[str, Any]) -> None:
        if row.kind == RowKind.WATCH:
            self.watch += 1
            self._t0_s = number(content.get("t0_s")) or 0.0
            self.link = self.verdict = ""
        elif row.kind == RowKind.LINK:
            self.link = str(content.get("state", ""))
        elif row.kind == RowKind.VERDICT:
            self.verdict = str(content.get("verdict", ""))

    def time_s(self, row: Row) -> float | None:
        return None if row.t_s is None else row.t_s - self._t0_s


def to_csv(path: Path, readings: TextIO, events: TextIO) -> Finding:
    """Write the readings and the other events of a job; return what its check found.

    Both streams must not translate line ends. Nothing after a changed event is
    written. Raises JobError, OSError.
    """
    state = _State()
    to_readings, to_events = csv.writer(readings), csv.writer(events)
    to_readings.writerow([name for name, *_ in readings_columns()])
    to_events.writerow([name for name, *_ in _EVENTS])

    def visit(row: Row) -> None:
        content = from_body(row.body)
        state.take(row, content)
        if row.kind == RowKind.READING:
            to_readings.writerow(_reading_cells(row, content, state))
        elif row.kind != RowKind.LOOKS:
            to_events.writerow(_event_cells(row, state))

    return check(path, visit)


def readings_columns() -> tuple[tuple[str, str, str, str], ...]:
    """Return name, datatype, description and unit of the readings' columns."""
    values = tuple((name, "number", what, unit) for name, what, unit in _VALUES)
    return (*_READINGS_HEAD, *values, *_READINGS_TAIL)


def _number(value: float | None) -> str:
    return "" if value is None else repr(value)


_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
"""What makes a spreadsheet take a cell for a formula (OWASP, "CSV Injection")."""


def word(cell: str) -> str:
    """Return a text of the file as a cell no program takes for a formula."""
    shown = printable(cell, _LONGEST_WORD)
    return f"'{shown}" if shown.startswith(_FORMULA) else shown


def _reading_cells(row: Row, content: dict[str, Any], state: _State) -> list[str]:
    values = [_number(row.value) if row.role == r else "" for r in COLUMNS]
    at = [str(row.seq), str(state.watch), _number(state.time_s(row))]
    label = str(content.get("label", ""))
    return [
        *at,
        utc_text(row.utc_s),
        word(state.link),
        word(state.verdict),
        *values,
        word(label),
        row.raw.hex().upper(),
    ]


def _event_cells(row: Row, state: _State) -> list[str]:
    return [
        str(row.seq),
        str(state.watch),
        _number(state.time_s(row)),
        utc_text(row.utc_s),
        word(row.kind),
        word(row.role),
        row.body,
        row.hash.hex(),
    ]


def describe(name: str, readings: str, events: str, finding: Finding) -> dict[str, Any]:
    """Return the description of both tables: what each column is, in which unit."""
    return {
        "@context": _CONTEXT,
        "dc:title": f"Job {name}",
        "dc:source": f"{name}, a job file of sumpgate",
        "dc:description": f"The record was {finding.sentence}. Every figure is in "
        "units of the SI or accepted beside it, whatever the screen showed.",
        "tables": [
            _table(readings, "Every reading of the car", readings_columns()),
            _table(events, "Every other event of the job", _EVENTS),
        ],
    }


def _table(
    url: str, title: str, columns: tuple[tuple[str, str, str, str], ...]
) -> dict[str, Any]:
    return {
        "url": url,
        "dc:title": title,
        "dialect": {"header": True, "lineTerminators": ["\r\n"], "encoding": "utf-8"},
        "tableSchema": {
            "columns": [_column(*column) for column in columns],
            "primaryKey": "event",
        },
    }


def _column(name: str, datatype: str, what: str, unit: str) -> dict[str, Any]:
    column: dict[str, Any] = {
        "name": name,
        "titles": name,
        "datatype": datatype,
        "dc:description": what,
    }
    if unit:
        column["schema:unitCode"] = unit
    return column


def to_json(path: Path, out: TextIO) -> Finding:
    """Write the whole job as one JSON object; return what its check found."""
    out.write('{"job":' + json.dumps(path.name) + ',"events":[')
    first = True
    state = _State()

    def visit(row: Row) -> None:
        nonlocal first
        content = from_body(row.body)
        state.take(row, content)
        out.write("\n" if first else ",\n")
        first = False
        out.write(json.dumps(dict(_fields(row, content, state)), allow_nan=False))

    finding = check(path, visit)
    found = {"state": finding.state.value, "says": finding.sentence}
    out.write('\n],"record":' + json.dumps(found) + "}\n")
    return finding


def _fields(
    row: Row, content: dict[str, Any], state: _State
) -> Iterator[tuple[str, Any]]:
    yield "event", row.seq
    yield "watch", state.watch
    yield "time_s", state.time_s(row)
    yield "utc", utc_text(row.utc_s)
    yield "kind", row.kind
    if row.role:
        yield "role", row.role
    if row.kind == RowKind.READING:
        finite = row.value is not None and math.isfinite(row.value)
        yield "value", row.value if finite else None
        yield "raw", row.raw.hex().upper()
    if content:
        yield "content", content
    yield "hash", row.hash.hex()
