"""What the schema says of keys among one another: as much of `reading` as it can."""

from __future__ import annotations

from typing import Any

from bridge.units import Dimension, units_refused
from bridge.values.sheet import UNIT_OF_ROLE, Role

Json = dict[str, Any]


def _not_beside(flag: str, *keys: str) -> Json:
    return {
        "if": {"properties": {flag: {"const": True}}, "required": [flag]},
        "then": {"properties": dict.fromkeys(keys, False)},
    }


def _is(**values: object) -> Json:
    """Say that keys are there and have these values."""
    consts = {key: {"const": value} for key, value in values.items()}
    return {"properties": consts, "required": list(consts)}


def _measuring(unit: str) -> Json:
    """Say in what a signal of some roles is told, and its limits."""
    dimension = Dimension(unit)
    limit = {"$ref": f"#/$defs/{dimension.name.lower()}"}
    roles = [role.value for role, own in UNIT_OF_ROLE.items() if own == unit]
    return {
        "if": {"properties": {"role": {"enum": roles}}, "required": ["role"]},
        "then": {
            "properties": {
                "unit": {"not": {"enum": list(units_refused(dimension))}},
                "minimum": limit,
                "maximum": limit,
            }
        },
    }


_ASKED = ("service", "identifier", "request_id", "reply_id")
_HEX = "[0-9A-Fa-f]"
_REQUESTS: Json = {
    "anyOf": [
        {
            "type": "string",
            "pattern": rf"^\s*(0[xX])?([67]?{_HEX}{{2}}|18[dD][aA]{_HEX}{{4}})\s*$",
            "not": {
                "pattern": r"^\s*(0[xX])?(00|33|[fF]1|7[dD][fF]|7[eE][89A-Fa-f]"
                rf"|18[dD][aA][fF]1{_HEX}{{2}})\s*$"
            },
        },
        {"type": "integer", "minimum": 1, "maximum": 0xFF},
        {"type": "integer", "minimum": 0x600, "maximum": 0x7FF},
        {"type": "integer", "minimum": 0x18DA_0000, "maximum": 0x18DA_FFFF},
    ]
}
"""Where diagnostic requests go, and none that everybody hears."""
_PAIRED = rf"^\s*(0[xX])?({_HEX}{{2}}|7[eE][0-7]|18[dD][aA]{_HEX}{{2}}[fF]1)\s*$"
"""Requests whose answer's id a standard gives."""
_NOT_FLUID = [0x05, 0x0F, 0x46, 0x5C, 0x67, 0x68]
_ASKING: Json = {
    "required": ["service", "identifier"],
    "properties": {"source": False, "request_id": _REQUESTS},
    "if": {"not": {"properties": {"service": {"const": 1}}}},
    "then": {"required": ["request_id"]},
    "dependentRequired": {"reply_id": ["request_id"]},
}
_SIGNAL: list[Json] = [
    {
        "if": {"required": ["pgn"]},
        "then": {
            "required": ["data_length"],
            "properties": {"data_length": {"const": 8}} | dict.fromkeys(_ASKED, False),
        },
        "else": _ASKING,
    },
    {
        "if": _is(role=Role.SELECTOR.value),
        "then": {"properties": dict.fromkeys(("unit", "minimum", "maximum"), False)},
        "else": {"properties": {"labels": False}, "required": ["unit"]},
    },
    {
        "if": {
            "properties": {
                "request_id": {"type": "string", "not": {"pattern": _PAIRED}}
            },
            "required": ["request_id"],
        },
        "then": {"required": ["reply_id"]},
    },
    {
        "if": {"not": {"properties": {"service": {"const": 34}}}},
        "then": {"properties": {"identifier": {"maximum": 0xFF}}},
    },
    {
        "if": _is(role=Role.FLUID_TEMPERATURE.value, service=1),
        "then": {"properties": {"identifier": {"not": {"enum": _NOT_FLUID}}}},
    },
    {
        "if": _is(role=Role.FLUID_TEMPERATURE.value, service=34),
        "then": {
            "properties": {
                "identifier": {"not": {"enum": [0xF400 + pid for pid in _NOT_FLUID]}}
            }
        },
    },
    {
        "if": {"properties": {"length": {"const": 1}}},
        "then": {
            "properties": {
                "not_available": {"items": {"minimum": -128, "maximum": 255}}
            }
        },
    },
    {
        "properties": {
            "factor": {"not": {"const": 0}},
            "not_available": {"uniqueItems": True},
        }
    },
    *(_measuring(unit) for unit in sorted(set(UNIT_OF_ROLE.values()) - {""})),
]
_ONLY_FOR: Json = {"properties": {"only_for": {"uniqueItems": True}}}
_REFILL = _is(method="measured-refill")
RULES: dict[str, Json] = {
    "level": {
        "if": _REFILL,
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
    "fluid": {
        "dependentRequired": {
            "viscosity_40": ["viscosity_100"],
            "viscosity_100": ["viscosity_40"],
            "service_fill_tolerance": ["service_fill"],
            "service_fill_temp": ["service_fill"],
        }
    },
    "signal": {"allOf": _SIGNAL},
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
        "allOf": [_ONLY_FOR],
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
            {"contains": _is(role=role.value), "minContains": 0, "maxContains": 1}
            for role in Role
        ]
    },
    "variant": {
        "anyOf": [{"maxItems": 0}, {"contains": {"not": _is(fits=False)}}],
    },
}
"""What the items of one section must be among one another."""
_HAS_AIR: Json = {"required": ["window"], "properties": {"window": {"minItems": 1}}}
ACROSS: Json = {
    "allOf": [
        {
            "if": {
                "properties": {"signal": {"contains": {"required": ["pgn"]}}},
                "required": ["signal"],
            },
            "then": {
                "properties": {"link": _is(protocol="A")},
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
                "properties": {"level": {"anyOf": [_REFILL, {"required": ["window"]}]}}
            },
        },
    ]
}
"""What the sections must be among one another."""
