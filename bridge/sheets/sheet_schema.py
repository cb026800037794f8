"""The sheet format as a JSON Schema (draft 2020-12), for editors and other programs.

Made from the keys alone, so it says what the reader says of kinds, words and limits.
What only the reader can tell (units, ids of a standard, parts that name one another)
is left to `sheet check`: the schema refuses nothing that the reader takes.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable
from typing import Any

from bridge.sheets.keys.all_keys import REPEATED, SECTIONS, TELLS
from bridge.sheets.keys.key_kinds import Key, Kind, Section, spell_unit
from bridge.units import Dimension, example_of

Json = dict[str, Any]
DRAFT = "https://json-schema.org/draft/2020-12/schema"
_NUMBER = r"[+\-−]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?"
_QUANTITY = rf"^\s*{_NUMBER}\s*[^\s0-9.,]"
_MOST_LINES = 100
_LINE: Json = {"type": "string", "pattern": r"\S"}
_CAN_IDS: list[Json] = [
    {
        "type": "string",
        "pattern": r"^\s*(0[xX])?([0-9A-Fa-f]{2,3}|[0-9A-Fa-f]{8})\s*$",
    },
    {"type": "integer", "minimum": 1, "maximum": 0x1FFF_FFFF},
]


def sheet_schema() -> Json:
    """Return the schema of a sheet."""
    return {
        "$schema": DRAFT,
        "$id": "urn:sumpgate:sheet",
        "title": "sumpgate sheet",
        "description": "What sumpgate needs to know of one gearbox.",
        "type": "object",
        "required": [
            name
            for name, keys in SECTIONS.items()
            if name not in REPEATED and name in _ALWAYS and keys
        ],
        "additionalProperties": False,
        "properties": {name: _section(name, keys) for name, keys in SECTIONS.items()},
        "$defs": {d.name.lower(): _dimension(d) for d in Dimension},
    }


def schema_text() -> str:
    """Return the schema as the file that is shipped."""
    return json.dumps(sheet_schema(), indent=2, ensure_ascii=False) + "\n"


_ALWAYS = ("gearbox", "level")
"""The sections no sheet goes without."""


def _section(name: str, keys: Section) -> Json:
    one: Json = {
        "description": TELLS[name],
        "type": "object",
        "additionalProperties": False,
        "properties": {key: _key(told) for key, told in keys.items()},
        **_RULES.get(name, {}),
    }
    required = [key for key, told in keys.items() if told.required]
    if required and name != "exercise":
        one["required"] = required
    if name not in REPEATED:
        return one
    return {"type": "array", "description": TELLS[name], "items": one}


def _key(told: Key) -> Json:
    example = tomllib.loads(f"x = {told.example}")["x"]
    limits = f" From {told.limits}." if told.limits and told.dimension else ""
    schema: Json = {"description": told.tells + limits}
    schema |= _value(told)
    schema["examples"] = [example]
    if told.default:
        schema["default"] = tomllib.loads(f"x = {told.default}")["x"]
    return schema


def _value(told: Key) -> Json:
    """Return what a value of the key's kind looks like."""
    return _VALUES[told.kind](told)


def _limits(told: Key) -> Json:
    return {} if told.low is None else {"minimum": told.low, "maximum": told.high}


def _whole(told: Key) -> Json:
    if told.choices:
        return {"enum": [int(choice) for choice in told.choices]}
    return {"type": "integer", **_limits(told)}


def _list(items: Json, **limits: object) -> Json:
    return {"type": "array", "items": items, **limits}


def _words(told: Key) -> Json:
    return _list({"enum": list(told.choices)}, uniqueItems=True)


_VALUES: dict[Kind, Callable[[Key], Json]] = {
    Kind.TEXT: lambda _: {**_LINE},
    Kind.WORD: lambda told: {"enum": list(told.choices)},
    Kind.FLAG: lambda _: {"type": "boolean"},
    Kind.WHOLE: _whole,
    Kind.NUMBER: lambda told: {"type": "number", **_limits(told)},
    Kind.QUANTITY: lambda told: _quantity(told.dimension),
    Kind.PAIR: lambda told: _list(_quantity(told.dimension), minItems=2, maxItems=2),
    Kind.LINES: lambda _: _list(_LINE, maxItems=_MOST_LINES),
    Kind.WORDS: _words,
    Kind.WHOLES: lambda _: _list({"type": "integer"}),
    Kind.CAN_ID: lambda _: {"anyOf": _CAN_IDS},
    Kind.LABELS: lambda _: {
        "type": "object",
        "minProperties": 1,
        "additionalProperties": {"type": "string", "pattern": r"\S"},
    },
}


def _quantity(dimension: Dimension | None) -> Json:
    if dimension is None:
        return {"type": "string", "pattern": _QUANTITY}
    return {"$ref": f"#/$defs/{dimension.name.lower()}"}


def _dimension(dimension: Dimension) -> Json:
    return {
        "title": f"a quantity that can be told in {spell_unit(dimension)}",
        "type": "string",
        "pattern": _QUANTITY,
        "examples": [example_of(dimension)],
    }


def _not_beside(flag: str, *keys: str) -> Json:
    return {
        "if": {"properties": {flag: {"const": True}}, "required": [flag]},
        "then": {"properties": dict.fromkeys(keys, False)},
    }


_ASKED = ("service", "identifier", "request_id", "reply_id")
_RULES: dict[str, Json] = {
    "fluid": {
        "dependentRequired": {
            "viscosity_40": ["viscosity_100"],
            "viscosity_100": ["viscosity_40"],
            "service_fill_tolerance": ["service_fill"],
            "service_fill_temp": ["service_fill"],
        }
    },
    "signal": {
        "if": {"required": ["pgn"]},
        "then": {
            "required": ["data_length"],
            "properties": {"data_length": {"const": 8}} | dict.fromkeys(_ASKED, False),
        },
        "else": {
            "required": ["service", "identifier"],
            "properties": {"source": False},
            "if": {"not": {"properties": {"service": {"const": 1}}}},
            "then": {"required": ["request_id"]},
            "dependentRequired": {"reply_id": ["request_id"]},
        },
    },
    "variant": {
        "if": {"required": ["instead"]},
        "then": {"properties": {"fits": {"const": False}}, "required": ["fits"]},
    },
    "fastener": {
        "dependentRequired": {"torque_tolerance": ["torque"], "angle": ["torque"]},
        **_not_beside("hand_tight", "torque", "torque_tolerance", "angle"),
    },
    "exercise": {
        "if": {"minProperties": 1},
        "then": {
            "required": ["positions"],
            "properties": {"positions": {"minItems": 2}},
        },
    },
    "interval": {
        "if": {"minProperties": 1},
        "then": {
            "anyOf": [{"required": [key]} for key in ("distance", "months", "time")]
        },
        "not": {"required": ["months", "time"]},
    },
}
"""What the keys of one section must be among one another."""
