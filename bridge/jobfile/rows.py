"""Events of the session to rows of the file, and back without loss. Pure."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

from bridge.jobfile.file.chain import Draft, Row, from_body, number, to_body
from bridge.jobfile.file.format import Kind
from bridge.level.step.step_values import Judgement
from bridge.service.log_plain import from_plain, to_plain
from bridge.snapshot import Snapshot
from bridge.values.causes import Cause
from bridge.values.events import (
    ClockJump,
    Dropout,
    Event,
    LinkChange,
    Mark,
    Marked,
    Measured,
    PersonEvent,
    Tilted,
)
from bridge.values.outlook import Crossing
from bridge.values.readings import (
    CheckDigit,
    Fault,
    FaultKind,
    LinkState,
    Reading,
    TroubleCodes,
    VehicleNumber,
)
from bridge.values.service_events import ServiceEvent
from bridge.values.sheet import Confirmation, Role


def draft_of(event: Event, utc_s: float) -> Draft:
    """Return an event of the session as the file keeps it.

    Raises ValueError for a number that cannot be written down.
    """
    kind, content = _content(event)
    body = to_body(content) if content else ""
    draft = Draft(kind, number(event.t_s), utc_s, body=body)
    if isinstance(event, Reading):
        return draft._replace(
            role=event.role.value, value=number(event.value), raw=event.raw
        )
    if isinstance(event, Fault) and event.role is not None:
        return draft._replace(role=event.role.value)
    return draft


def _content(event: Event) -> tuple[Kind, dict[str, Any]]:
    """Return the kind of an event, and what of it has no column of its own."""
    match event:
        case Reading():
            return Kind.READING, {"label": event.label} if event.label else {}
        case Fault():
            return Kind.FAULT, {"kind": event.kind.value, "detail": event.detail}
        case LinkChange():
            return Kind.LINK, _link_content(event)
        case Dropout():
            return Kind.DROPOUT, {}
        case ClockJump():
            return Kind.CLOCK_JUMP, {"gap_s": number(event.gap_s)}
        case _:
            return _rare(event)


def _rare(
    event: TroubleCodes | VehicleNumber | PersonEvent,
) -> tuple[Kind, dict[str, Any]]:
    match event:
        case TroubleCodes():
            return Kind.CODES, _codes(event)
        case VehicleNumber():
            return Kind.VIN, {"text": event.text, "check": event.check_digit.value}
        case Marked():
            confirms = event.confirms.value if event.confirms else None
            told = {"mark": event.mark.value, "ml": event.ml, "confirms": confirms}
            return Kind.MARK, told
        case Tilted():
            along, across = event.lengthways_deg, event.across_deg
            return Kind.TILT, {"lengthways_deg": along, "across_deg": across}
        case Measured():
            temp_c, accuracy_c = number(event.temp_c), number(event.accuracy_c)
            return Kind.THERMOMETER, {"temp_c": temp_c, "accuracy_c": accuracy_c}
        case ServiceEvent():
            return Kind.SERVICE, to_plain(event)


def _codes(codes: TroubleCodes) -> dict[str, Any]:
    return {
        "stored": _listed(codes.stored),
        "pending": _listed(codes.pending),
        "permanent": _listed(codes.permanent),
        "mil": codes.mil,
    }


def _listed(codes: tuple[str, ...] | None) -> list[str] | None:
    return None if codes is None else list(codes)


def event_of(row: Row) -> Event | None:
    """Return the session's event a row holds; None: it is a row of another kind.

    Raises:
        ValueError, KeyError: the row cannot have been written by this tool.
    """
    if row.kind not in _READERS:
        return None
    t_s = math.nan if row.t_s is None else row.t_s
    return _READERS[row.kind](row, t_s, from_body(row.body))


def _reading(row: Row, t_s: float, body: dict[str, Any]) -> Event:
    value = math.nan if row.value is None else row.value
    return Reading(
        role=Role(row.role),
        value=value,
        t_s=t_s,
        raw=row.raw,
        label=body.get("label", ""),
    )


def _fault(row: Row, t_s: float, body: dict[str, Any]) -> Event:
    return Fault(
        kind=FaultKind(body["kind"]),
        t_s=t_s,
        detail=body["detail"],
        role=Role(row.role) if row.role else None,
    )


def _link(_: Row, t_s: float, body: dict[str, Any]) -> Event:
    return LinkChange(
        state=LinkState(body["state"]),
        t_s=t_s,
        detail=body["detail"],
        cause=Cause(body["cause"]) if "cause" in body else None,
        untold=tuple(Role(r) for r in body.get("untold", ())),
    )


def _link_content(event: LinkChange) -> dict[str, Any]:
    content: dict[str, Any] = {"state": event.state.value, "detail": event.detail}
    if event.cause is not None:
        content["cause"] = event.cause.value
    if event.untold:
        content["untold"] = [role.value for role in event.untold]
    return content


def _dropout(_: Row, t_s: float, __: dict[str, Any]) -> Event:
    return Dropout(t_s=t_s)


def _clock_jump(_: Row, t_s: float, body: dict[str, Any]) -> Event:
    return ClockJump(t_s=t_s, gap_s=body["gap_s"])


def _trouble(_: Row, t_s: float, body: dict[str, Any]) -> Event:
    stored, pending, permanent = (
        None if body[k] is None else tuple(body[k])
        for k in ("stored", "pending", "permanent")
    )
    return TroubleCodes(
        t_s=t_s, stored=stored, pending=pending, permanent=permanent, mil=body["mil"]
    )


def _vin(_: Row, t_s: float, body: dict[str, Any]) -> Event:
    check = CheckDigit(body["check"])
    return VehicleNumber(t_s=t_s, text=body["text"], check_digit=check)


def _marked(_: Row, t_s: float, body: dict[str, Any]) -> Event:
    confirms = body["confirms"]
    return Marked(
        mark=Mark(body["mark"]),
        t_s=t_s,
        ml=body["ml"],
        confirms=Confirmation(confirms) if confirms else None,
    )


def _tilted(_: Row, t_s: float, body: dict[str, Any]) -> Event:
    return Tilted(
        lengthways_deg=body["lengthways_deg"], across_deg=body["across_deg"], t_s=t_s
    )


def _measured(_: Row, t_s: float, body: dict[str, Any]) -> Event:
    return Measured(temp_c=body["temp_c"], accuracy_c=body["accuracy_c"], t_s=t_s)


def _service(_: Row, t_s: float, body: dict[str, Any]) -> Event:
    return dataclasses.replace(from_plain(body), t_s=t_s)


_READERS = {
    Kind.READING.value: _reading,
    Kind.FAULT.value: _fault,
    Kind.LINK.value: _link,
    Kind.DROPOUT.value: _dropout,
    Kind.CLOCK_JUMP.value: _clock_jump,
    Kind.CODES.value: _trouble,
    Kind.VIN.value: _vin,
    Kind.MARK.value: _marked,
    Kind.TILT.value: _tilted,
    Kind.THERMOMETER.value: _measured,
    Kind.SERVICE.value: _service,
}


def seen(snapshot: Snapshot) -> dict[str, Any]:
    """Return what a snapshot says, as the file keeps it; null: not known then."""
    return {
        "verdict": snapshot.verdict.value,
        "reasons": [r.value for r in snapshot.reasons],
        "conditions": {c.name.value: c.state.value for c in snapshot.conditions},
        "link": snapshot.link.value,
        "temp_c": _finite(snapshot.temp_c),
        "temp_sd_c": _finite(snapshot.temp_sd_c),
        "raw_c": _finite(snapshot.raw_c),
        "age_s": _finite(snapshot.age_s),
        "rate_c_per_s": _finite(snapshot.rate_c_per_s),
        "trend": snapshot.trend.value,
        "stay_chance": _finite(snapshot.stay_chance),
        "opens": _crossing(snapshot.opens),
        "shuts": _crossing(snapshot.shuts),
        "engine_rpm": _finite(snapshot.engine_rpm),
        "speed_kmh": _finite(snapshot.speed_kmh),
        "coolant_c": _finite(snapshot.coolant_c),
        "ambient_c": _finite(snapshot.ambient_c),
        "voltage_v": _finite(snapshot.voltage_v),
        "selector": snapshot.selector,
    }


def phase(snapshot: Snapshot) -> dict[str, Any]:
    """Return where the level step stands, as the file keeps it; {}: nobody runs it."""
    step = snapshot.step
    if step is None:
        return {}
    return {
        "phase": step.phase.value,
        "attempt": step.attempt,
        "confirmed": [c.value for c in step.confirmed],
        "added_ml": _finite(step.added_ml),
        "temp_c": _finite(snapshot.temp_c),
        "temp_sd_c": _finite(snapshot.temp_sd_c),
    }


def judged(judgement: Judgement | None) -> dict[str, Any]:
    """Return how the level was set, as the file keeps it; {}: it is taken back."""
    return {} if judgement is None else dataclasses.asdict(judgement)


def _crossing(crossing: Crossing | None) -> dict[str, float | None] | None:
    if crossing is None:
        return None
    return {
        "p05_s": _finite(crossing.p05_s),
        "p50_s": _finite(crossing.p50_s),
        "p95_s": _finite(crossing.p95_s),
        "chance": _finite(crossing.chance),
    }


def _finite(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else float(value)
