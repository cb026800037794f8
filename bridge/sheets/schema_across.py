"""What the schema says of the sections among one another."""

from __future__ import annotations

from bridge.sheets.keys.keys_service import LINED_STEPS, line_key
from bridge.sheets.schema_signals import WIDTHS
from bridge.sheets.schema_terms import REFILL, Json, held, is_
from bridge.values.service_sheet import StepKind
from bridge.values.sheet import LegEnd, LevelMethod

_HAS_AIR: Json = {"required": ["window"], "properties": {"window": {"minItems": 1}}}
_NOTHING_OF = {"maxItems": 0}
_TOLD_IN: dict[StepKind, dict[str, Json]] = {
    StepKind.CAUTIONS: {"cautions": {"properties": {"lines": _NOTHING_OF}}},
    StepKind.IDENTIFY: {"variant": _NOTHING_OF},
    StepKind.PARTS: {"part": _NOTHING_OF},
    StepKind.DRAIN: {"drain": _NOTHING_OF},
    StepKind.EXERCISE: {"exercise": {"maxProperties": 0}},
    StepKind.DUE: {"interval": {"maxProperties": 0}},
}
"""What tells of a step beside its lines: how it looks where it tells nothing."""


def _left_out(step: StepKind) -> Json:
    """Say that a sheet whose order leaves a step out tells nothing of it."""
    lines: Json = {line_key(step): _NOTHING_OF} if step in LINED_STEPS else {}
    if step is StepKind.AFTER:
        lines["licensed_tool"] = False
    order = {"not": {"contains": {"const": step.value}}}
    its_own = held("fastener", "step", step.value)
    return {
        "if": {
            "properties": {
                "steps": {"properties": {"order": order}, "required": ["order"]}
            },
            "required": ["steps"],
        },
        "then": {
            "properties": {
                "steps": {"properties": lines},
                "fastener": {"items": {"not": its_own}},
                **_TOLD_IN.get(step, {}),
            }
        },
    }


def _speaks(protocol: str, ids: Json) -> Json:
    """Say which ids the signals of a protocol have."""
    return {
        "if": {
            "properties": {"link": is_(protocol=protocol)},
            "required": ["link"],
        },
        "then": {
            "properties": {"signal": {"items": {"properties": {"request_id": ids}}}}
        },
    }


_MEASURED: Json = {
    "if": {"properties": {"level": REFILL}, "required": ["level"]},
    "then": {
        "properties": {
            **dict.fromkeys(("phase", "window", "stick"), _NOTHING_OF),
            "steps": {
                "properties": {
                    "order": {
                        "allOf": [
                            {"contains": {"const": "drain"}},
                            {"contains": {"const": "fill"}},
                            {"not": {"contains": {"const": "level"}}},
                        ]
                    }
                },
                "required": ["order"],
            },
        },
        "required": ["steps"],
    },
}
_BY_STICK = is_(method=LevelMethod.STICK.value)
_STICK: Json = {
    "if": {"properties": {"stick": {"minItems": 1}}, "required": ["stick"]},
    "then": {
        "anyOf": [
            {"properties": {"level": _BY_STICK}, "required": ["level"]},
            {"properties": {"phase": {"contains": _BY_STICK}}, "required": ["phase"]},
        ]
    },
}
_SETS_A_LEVEL = held("phase", "ends", LegEnd.LEVEL.value)
_NO_CIRCUIT: Json = {"properties": {"circuit": False}}
_HAS_CIRCUITS: Json = {
    "properties": {"circuit": {"minItems": 1}},
    "required": ["circuit"],
}
_CIRCUITS: Json = {
    "if": _HAS_CIRCUITS,
    "then": {
        "properties": {
            **{key: {"maxProperties": 0} for key in ("fluid", "sump", "filter")},
            "drain": {"items": {"required": ["circuit"]}},
            "phase": {
                "contains": _SETS_A_LEVEL,
                "items": {"if": _SETS_A_LEVEL, "then": {"required": ["circuit"]}},
            },
        },
        "required": ["phase"],
    },
    "else": {
        "properties": {
            "drain": {"items": _NO_CIRCUIT},
            "phase": {"items": {"if": _SETS_A_LEVEL, "then": _NO_CIRCUIT}},
        }
    },
}
ACROSS: Json = {
    "allOf": [
        *(_left_out(step) for step in StepKind),
        *(_speaks(protocol, ids) for protocol, ids in WIDTHS.items()),
        _MEASURED,
        _STICK,
        _CIRCUITS,
        {
            "if": {
                "properties": {"signal": {"contains": {"required": ["pgn"]}}},
                "required": ["signal"],
            },
            "then": {
                "properties": {"link": is_(protocol="A")},
                "required": ["link"],
            },
        },
        {
            "if": _HAS_AIR,
            "then": {
                "properties": {
                    "level": {"properties": {"window": False, "close_at": False}}
                }
            },
            "else": {
                "properties": {"level": {"anyOf": [REFILL, {"required": ["window"]}]}}
            },
        },
    ]
}
"""What the sections must be among one another."""
