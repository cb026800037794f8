"""What the schema says of keys among one another: as much of `reading` as it can."""

from __future__ import annotations

from bridge.sheets.schema_signals import IDS, SIGNAL
from bridge.sheets.schema_terms import REFILL, Json, held, is_
from bridge.values.sheet import LegEnd, LevelMethod, Role


def _not_beside(flag: str, *keys: str) -> Json:
    return {
        "if": {"properties": {flag: {"const": True}}, "required": [flag]},
        "then": {"properties": dict.fromkeys(keys, False)},
    }


_ONLY_FOR: Json = {"properties": {"only_for": {"uniqueItems": True}}}
_FLUID: Json = {
    "dependentRequired": {
        "viscosity_40": ["viscosity_100"],
        "viscosity_100": ["viscosity_40"],
        "service_fill_tolerance": ["service_fill"],
        "service_fill_temp": ["service_fill"],
    }
}
_TURNED_ON: Json = {
    "if": {"required": ["angle"], "not": is_(hand_tight=True)},
    "then": {"required": ["torque"]},
}
_IN_SEQUENCE: Json = {
    "properties": {
        "sequence": {"items": {"minimum": 1, "maximum": 100}, "uniqueItems": True}
    }
}
_SETS_NONE: Json = {
    "if": {"not": held("phase", "ends", LegEnd.LEVEL.value)},
    "then": {"properties": dict.fromkeys(("method", "close_at", "settle_time"), False)},
}
_BY_TEMPERATURE: Json = {
    "if": {
        "anyOf": [
            is_(ends=LegEnd.WARM.value),
            is_(method=LevelMethod.STICK.value),
            {"required": ["close_at"]},
        ]
    },
    "then": {"properties": {"window": {"contains": {"not": {"const": ""}}}}},
}
RULES: dict[str, Json] = {
    "level": {
        "if": REFILL,
        "then": {
            "properties": dict.fromkeys(
                (
                    "window",
                    "close_at",
                    "settle_time",
                    "drop_rate",
                    "selector",
                    "tilt_limit",
                ),
                False,
            )
        },
    },
    "fluid": _FLUID,
    "circuit": _FLUID,
    "signal": {"allOf": SIGNAL},
    "phase": {"allOf": [_SETS_NONE, _BY_TEMPERATURE]},
    "variant": {
        "if": {"required": ["instead"]},
        "then": {"properties": {"fits": {"const": False}}, "required": ["fits"]},
    },
    "part": {"allOf": [_ONLY_FOR]},
    "drain": {"allOf": [_ONLY_FOR]},
    "fastener": {
        "dependentRequired": {
            "torque_tolerance": ["torque"],
            "stages": ["torque"],
            "angle_tolerance": ["angle"],
        },
        **_not_beside("hand_tight", "torque", "torque_tolerance", "stages"),
        "allOf": [_ONLY_FOR, _TURNED_ON, _IN_SEQUENCE],
    },
    "interval": {
        "allOf": [
            {
                "if": {"minProperties": 1},
                "then": {
                    "anyOf": [
                        {"required": [key]} for key in ("distance", "months", "time")
                    ]
                },
            }
        ],
        "not": {"required": ["months", "time"]},
    },
}
"""What the keys of one section must be among one another."""
AMONG: dict[str, Json] = {
    "signal": {
        "allOf": [
            {"contains": is_(role=role.value), "minContains": 0, "maxContains": 1}
            for role in Role
        ],
        "anyOf": [{"items": {"properties": {"request_id": ids}}} for ids in IDS],
    },
    "circuit": {"not": {"minItems": 1, "maxItems": 1}},
    "variant": {
        "anyOf": [{"maxItems": 0}, {"contains": {"not": is_(fits=False)}}],
    },
}
"""What the items of one section must be among one another."""
