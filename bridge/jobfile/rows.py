"""Events of the session to rows of the file, and back without loss. Pure."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

from bridge.jobfile import format_1
from bridge.jobfile.file.chain import Row, RowDraft, from_body, number, to_body
from bridge.jobfile.file.format import RowKind
from bridge.level.step.step_values import Judgement
from bridge.service.level_facts import added_in, set_in
from bridge.snapshot import Snapshot
from bridge.values.codec import from_plain, to_plain
from bridge.values.events import (
    ClockJump,
    Dropout,
    Event,
    LinkChange,
    Marked,
    Measured,
    Tilted,
)
from bridge.values.readings import Fault, Reading, TroubleCodes, VehicleNumber
from bridge.values.service_events import ServiceEvent
from bridge.values.sheet import Role

KINDS: dict[type[Event], RowKind] = {
    Reading: RowKind.READING,
    Fault: RowKind.FAULT,
    LinkChange: RowKind.LINK,
    Dropout: RowKind.DROPOUT,
    ClockJump: RowKind.CLOCK_JUMP,
    TroubleCodes: RowKind.CODES,
    VehicleNumber: RowKind.VIN,
    Marked: RowKind.MARK,
    Tilted: RowKind.TILT,
    Measured: RowKind.THERMOMETER,
    ServiceEvent: RowKind.SERVICE,
}
"""The kind of row each kind of event is kept as."""
_MADE = {kind.value: event for event, kind in KINDS.items()}
_COLUMNS = ("t_s", "role", "value", "raw")
"""Fields of events that have a column of their own."""


def draft_of(event: Event, utc_s: float) -> RowDraft:
    """Return an event of the session as the file keeps it.

    Raises ValueError for a number that cannot be written down.
    """
    kind = KINDS[type(event)]
    if isinstance(event, Reading):
        label = to_body({"label": event.label}) if event.label else ""
        return RowDraft(
            kind,
            number(event.t_s),
            utc_s,
            event.role.value,
            number(event.value),
            event.raw,
            label,
        )
    plain = to_plain(event)
    role = plain.get("role") or ""
    content = {k: v for k, v in plain.items() if k not in _COLUMNS}
    body = to_body(content) if content else ""
    return RowDraft(kind, number(event.t_s), utc_s, role, body=body)


def event_of(row: Row) -> Event | None:
    """Return the session's event a row holds; None: it is a row of another kind.

    Raises:
        ValueError: the row cannot have been written by this tool.
    """
    made = _MADE.get(row.kind)
    if made is None:
        return None
    t_s = math.nan if row.t_s is None else row.t_s
    body = format_1.brought_up(row.kind, from_body(row.body))
    if made is Reading:
        return _reading(row, t_s, body)
    if made is Fault:
        body["role"] = row.role or None
    event: Event = from_plain(made, {**body, "t_s": 0.0})
    return dataclasses.replace(event, t_s=t_s)


def _reading(row: Row, t_s: float, body: dict[str, Any]) -> Reading:
    value = math.nan if row.value is None else row.value
    label = body.get("label", "")
    return Reading(role=Role(row.role), value=value, t_s=t_s, raw=row.raw, label=label)


_SEEN = (
    "verdict",
    "reasons",
    "link",
    "temp_c",
    "temp_sd_c",
    "raw_c",
    "age_s",
    "rate_c_per_s",
    "trend",
    "stay_chance",
    "opens",
    "shuts",
    "engine_rpm",
    "speed_kmh",
    "coolant_c",
    "ambient_c",
    "voltage_v",
    "selector",
)
"""What of a snapshot the file keeps; the rest follows from the events."""


def seen(snapshot: Snapshot) -> dict[str, Any]:
    """Return what a snapshot says, as the file keeps it; null: not known then."""
    values = {name: _plain(getattr(snapshot, name)) for name in _SEEN}
    states = {c.name.value: c.state.value for c in snapshot.conditions}
    return {**values, "conditions": states}


def _plain(value: Any) -> Any:
    """Return a value as the codec has it, but no number that is none."""
    plain = to_plain(value)
    if isinstance(plain, dict):
        return {k: _plain(v) for k, v in plain.items()}
    return _finite(plain) if isinstance(plain, float) else plain


def phase(snapshot: Snapshot) -> dict[str, Any]:
    """Return where the level step stands, as the file keeps it; {}: no level step."""
    step = snapshot.step
    if step is None:
        return {}
    legs: dict[str, Any] = {}
    if step.legs > 1:
        legs = {"leg": step.leg, "legs": step.legs}
    if snapshot.lead and (added := added_in(step, snapshot.lead.legs)):
        legs["added_in"] = dict(added)
    if snapshot.lead and (levels := set_in(step, snapshot.lead.legs)):
        legs["set_in"] = [to_plain(one) for one in levels]
    return {
        **legs,
        "phase": step.phase.value,
        "attempt": step.attempt,
        "confirmed": [c.value for c in step.confirmed],
        "added_ml": _finite(step.added_ml),
        "added_temp_c": _finite(step.added_temp_c),
        "temp_c": _finite(snapshot.temp_c),
        "temp_sd_c": _finite(snapshot.temp_sd_c),
    }


def judged(judgement: Judgement | None) -> dict[str, Any]:
    """Return how the level was set, as the file keeps it; {}: it is taken back."""
    return {} if judgement is None else to_plain(judgement)


def _finite(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else float(value)
