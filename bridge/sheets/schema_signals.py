"""What the schema says of a signal's keys among one another, and of the ids."""

from __future__ import annotations

from bridge.sheets.schema_sizes import below
from bridge.sheets.schema_terms import Json, held, is_
from bridge.units import Dimension, units_refused
from bridge.values.sheet import UNIT_OF_ROLE, Role


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
                **({} if unit == "degC" else {"accuracy": False}),
            }
        },
    }


def _raw_values(length: int, *, signed: bool) -> Json:
    """Say which raw values so many bytes can hold; signed ones either way."""
    size = 256**length
    least = -size // 2 if signed else 0
    names = [rf"^{below(size)}$", rf"^0[xX]0*[0-9A-Fa-f]{{1,{2 * length}}}$"]
    names += [rf"^-{below(-least)}$", f"^-0*{-least}$"] if signed else ["^-0+$"]
    return {
        "if": {
            "allOf": [
                held("signal", "length", length),
                held("signal", "signed", signed),
            ]
        },
        "then": {
            "properties": {
                "not_available": {"items": {"minimum": least, "maximum": size - 1}},
                "labels": {"propertyNames": {"pattern": "|".join(names)}},
            }
        },
    }


def _id(low: int, high: int, digits: str) -> Json:
    """Say that an id is one of some, as a number or in hexadecimal digits."""
    return {
        "anyOf": [
            {"type": "integer", "minimum": low, "maximum": high},
            {"type": "string", "pattern": rf"^\s*(0[xX])?{digits}\s*$"},
        ]
    }


def _answers(request: Json, reply: Json, *, both_ways: bool) -> list[Json]:
    """Say that requests of one kind are answered with replies of one kind."""
    ways = [("request_id", request, "reply_id", reply)]
    if both_ways:
        ways.append(("reply_id", reply, "request_id", request))
    return [
        {
            "if": {"properties": {one: section}, "required": [one]},
            "then": {"properties": {other: answer}},
        }
        for one, section, other, answer in ways
    ]


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
_ADDRESS = _id(0x01, 0xFF, f"{_HEX}{{2}}")
_SHORT = _id(0x100, 0x7FF, f"{_HEX}{{3}}")
_LONG = _id(0x800, 0x1FFF_FFFF, f"{_HEX}{{8}}")
IDS = (_ADDRESS, _SHORT, _LONG)
"""The widths of an id: one connection speaks one of them."""
WIDTHS: dict[str, Json] = {
    **dict.fromkeys("12345", _ADDRESS),
    **dict.fromkeys("68", _SHORT),
    **dict.fromkeys("79", _LONG),
    "A": {"not": {}},
}
"""The ids a protocol can have."""
_PAIRS = [
    *(w for ids in IDS for w in _answers(ids, ids, both_ways=False)),
    *(
        way
        for n in range(8)
        for way in _answers(
            _id(0x7E0 + n, 0x7E0 + n, f"7[eE]{n}"),
            _id(0x7E8 + n, 0x7E8 + n, f"7[eE]({8 + n:x}|{8 + n:X})"),
            both_ways=True,
        )
    ),
]
"""ISO 15765-4: 7E0 to 7E7 are answered with id + 8; ids of one width always."""
_NOT_FLUID = [0x05, 0x0F, 0x46, 0x5C, 0x67, 0x68]
_ASKING: Json = {
    "required": ["service", "identifier"],
    "properties": {"source": False, "request_id": _REQUESTS},
    "if": {"not": {"properties": {"service": {"const": 1}}}},
    "then": {"required": ["request_id"]},
    "dependentRequired": {"reply_id": ["request_id"]},
}
SIGNAL: list[Json] = [
    {
        "if": {"required": ["pgn"]},
        "then": {
            "required": ["data_length"],
            "properties": {"data_length": {"const": 8}} | dict.fromkeys(_ASKED, False),
        },
        "else": _ASKING,
    },
    {
        "if": is_(role=Role.SELECTOR.value),
        "then": {
            "properties": dict.fromkeys(
                ("unit", "minimum", "maximum", "accuracy"), False
            )
        },
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
        "if": is_(role=Role.FLUID_TEMPERATURE.value, service=1),
        "then": {"properties": {"identifier": {"not": {"enum": _NOT_FLUID}}}},
    },
    {
        "if": is_(role=Role.FLUID_TEMPERATURE.value, service=34),
        "then": {
            "properties": {
                "identifier": {"not": {"enum": [0xF400 + pid for pid in _NOT_FLUID]}}
            }
        },
    },
    *(_raw_values(n, signed=signed) for n in (1, 2, 3, 4) for signed in (False, True)),
    *_PAIRS,
    {
        "properties": {
            "factor": {"not": {"exclusiveMinimum": -1e-6, "exclusiveMaximum": 1e-6}},
            "not_available": {"uniqueItems": True},
        }
    },
    *(_measuring(unit) for unit in sorted(set(UNIT_OF_ROLE.values()) - {""})),
]
