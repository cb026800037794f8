"""Snapshots as JSON, one object a line: the tool without its screen."""

from __future__ import annotations

import json
import math
from datetime import UTC, datetime
from typing import Any, TextIO

from bridge.level.status_3026 import level_status
from bridge.level.step.step_values import Judgement, Step
from bridge.level.step.stick import StickResult
from bridge.snapshot import Snapshot
from bridge.values.outlook import Crossing, Passed
from bridge.values.readings import TroubleCodes, VehicleNumber
from tui.headless.service_row import ServiceRows
from tui.words.instructions import instruction_text
from tui.words.link_wording import sentence
from tui.words.thermometer_wording import hand_as_dict

VERSION = 1
"""Of the rows: raised when a key goes or changes its meaning, not when one comes."""


def as_dict(
    snapshot: Snapshot,
    *,
    utc_s: float | None = None,
    service: ServiceRows | None = None,
) -> dict[str, Any]:
    """Return a snapshot under the documented keys; null means 'not known now'.

    ``utc_s``: when it was decided, in seconds since 1970; None in a replay.
    ``service``: makes what is said of the service; None: nothing is.
    """
    rate = snapshot.rate_c_per_s
    return {
        "version": VERSION,
        "t_s": _rounded(snapshot.t_s, 3),
        "utc": None if utc_s is None else _utc(utc_s),
        "link": snapshot.link.value,
        "temp_c": _rounded(snapshot.temp_c, 3),
        "temp_sd_c": _rounded(snapshot.temp_sd_c, 3),
        "raw_c": _rounded(snapshot.raw_c, 4),
        "age_s": _rounded(snapshot.age_s, 3),
        "rate_c_per_min": _rounded(None if rate is None else rate * 60.0, 4),
        "phase": snapshot.trend.value,
        "verdict": snapshot.verdict.value,
        "reasons": [r.value for r in snapshot.reasons],
        "reason_spn3026": [
            level_status(r, selector=snapshot.selector, wanted=snapshot.selector_wanted)
            for r in snapshot.reasons
        ],
        "opens_in_s": _crossing(snapshot.opens),
        "shuts_in_s": _crossing(snapshot.shuts),
        "outlook": snapshot.outlook.value,
        "passed": _passed(snapshot.passed),
        "figures_in_s": _rounded(snapshot.figures_in_s, 1),
        "settles_at_c": _rounded(snapshot.settles_at_c, 2),
        "stay_chance": _rounded(snapshot.stay_chance, 4),
        "window_c": _window(snapshot),
        "wait_left_s": _rounded(snapshot.wait_left_s, 1),
        "engine_rpm": _rounded(snapshot.engine_rpm, 2),
        "speed_kmh": _rounded(snapshot.speed_kmh, 2),
        "coolant_c": _rounded(snapshot.coolant_c, 2),
        "ambient_c": _rounded(snapshot.ambient_c, 2),
        "voltage_v": _rounded(snapshot.voltage_v, 3),
        "selector": snapshot.selector,
        "link_detail": sentence(snapshot.link_cause, snapshot.link_detail),
        "link_cause": snapshot.link_cause and snapshot.link_cause.value,
        "untold": [role.value for role in snapshot.untold],
        "faults": {
            role.value: f"{fault.kind.value}: {fault.detail}"
            for role, fault in snapshot.faults
        },
        "conditions": [
            {
                "name": c.name.value,
                "state": c.state.value,
                "by": c.by.value,
                "reasons": [r.value for r in c.reasons],
            }
            for c in snapshot.conditions
        ],
        "step": step_as_dict(snapshot.step),
        "service": service and service.row(snapshot),
        "codes": codes_as_dict(snapshot.codes),
        "vin": _vin(snapshot.vin),
        "carried": {
            "given_utc_s": {
                c.value: _rounded(utc_s, 3)
                for c, utc_s in snapshot.carried.given_utc_s.items()
            },
            "other_car": snapshot.carried.other_car,
        },
        "doubts": [
            {"reason": d.reason.value, "words": d.words} for d in snapshot.doubts
        ],
        "unmoved_s": _rounded(snapshot.unmoved_s, 1),
        "thermometer": hand_as_dict(snapshot),
    }


def _window(snapshot: Snapshot) -> list[float | None] | None:
    """Return the window of the present phase, an open end null; null: none."""
    lead = snapshot.lead
    if lead is None or not lead.has_level_step or lead.wants_air:
        return None
    low_c = None if lead.window.below_open else _rounded(lead.window.low_c, 2)
    high_c = None if lead.window.above_open else _rounded(lead.window.high_c, 2)
    return [low_c, high_c]


def step_as_dict(step: Step | None) -> dict[str, Any] | None:
    """Return where the level step stands; null: nobody runs it."""
    if step is None:
        return None
    settling = step.settling
    return {
        "phase": step.phase.value,
        "instruction": step.instruction.value,
        "text": instruction_text(step.instruction),
        "bell": None if step.bell is None else step.bell.value,
        "attempt": step.attempt,
        "air_c": _rounded(step.air_c, 1),
        "leg": step.leg,
        "legs": step.legs,
        "legs_done": [
            {"outcome": done.outcome and done.outcome.value, "seen": done.seen}
            for done in step.legs_done
        ],
        "plug_open": step.plug_open,
        "marks": len(step.drips_s),
        "settled_chance": settling and _rounded(settling.settled_chance, 4),
        "timer_only": settling and settling.timer_only,
        "closes_in_s": _rounded(step.closes_in_s, 1),
        "more_ml": settling and _rounded(settling.more_ml, 1),
        "judgement": step.judgement and _judgement(step.judgement),
    }


def _judgement(judgement: Judgement) -> dict[str, Any]:
    opened, closed, error = judgement.opened, judgement.closed, judgement.error
    worth = judgement.budget
    return {
        "outcome": judgement.outcome.value,
        "opened_c": opened and _rounded(opened.temp_c, 2),
        "closed_c": closed and _rounded(closed.temp_c, 2),
        "closed_sd_c": closed and _rounded(closed.sd_c, 2),
        "open_s": _rounded(judgement.open_s, 1),
        "inside": judgement.inside,
        "settled_chance": _rounded(judgement.settled_chance, 4),
        "timer_only": judgement.timer_only,
        "error_ml": error and _rounded(error.volume_ml, 1),
        "error_mm": error and _rounded(error.height_mm, 2),
        "level_off_ml": worth and _rounded(worth.off_ml, 1),
        "level_u_ml": worth and _rounded(worth.expanded_ml, 1),
        "level_not_counted": [] if worth is None else [s.value for s in worth.unknown],
        "stick": judgement.stick and _stick(judgement.stick),
    }


def _stick(found: StickResult) -> dict[str, Any]:
    return {
        "reads": found.reads,
        "over_middle_mm": _rounded(found.over_middle_mm, 1),
        "u_mm": _rounded(found.expanded_mm, 1),
        "to_middle_ml": _rounded(found.to_middle_ml, 0),
    }


def write_line(
    out: TextIO,
    snapshot: Snapshot,
    *,
    utc_s: float | None = None,
    service: ServiceRows | None = None,
) -> None:
    """Write one snapshot as one line and flush it; see ``as_dict``."""
    row = as_dict(snapshot, utc_s=utc_s, service=service)
    out.write(json.dumps(row, ensure_ascii=False, allow_nan=False) + "\n")
    out.flush()


def _utc(utc_s: float) -> str:
    """Return a time as ISO 8601 with milliseconds."""
    moment = datetime.fromtimestamp(utc_s, tz=UTC)
    return moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def codes_as_dict(codes: TroubleCodes | None) -> dict[str, Any] | None:
    """Return the lists of codes; null: not read yet, a list null: no unit told."""
    if codes is None:
        return None
    return {
        "stored": _listed(codes.stored),
        "pending": _listed(codes.pending),
        "permanent": _listed(codes.permanent),
        "mil": codes.mil,
    }


def _listed(codes: tuple[str, ...] | None) -> list[str] | None:
    return None if codes is None else list(codes)


def _passed(passed: Passed | None) -> dict[str, Any] | None:
    if passed is None:
        return None
    return {
        "edge_c": _rounded(passed.edge_c, 2),
        "ago_s": _rounded(passed.ago_s, 1),
        "back_in_s": _crossing(passed.back),
    }


def _vin(vin: VehicleNumber | None) -> dict[str, str] | None:
    if vin is None:
        return None
    return {"text": vin.text, "check_digit": vin.check_digit.value}


def _crossing(crossing: Crossing | None) -> dict[str, float | None] | None:
    if crossing is None:
        return None
    return {
        "p05": _rounded(crossing.p05_s, 2),
        "p50": _rounded(crossing.p50_s, 2),
        "p95": _rounded(crossing.p95_s, 2),
        "chance": _rounded(crossing.chance, 4),
    }


def _rounded(value: float | None, digits: int) -> float | None:
    if value is None or not math.isfinite(value):
        return None
    return round(value, digits)
