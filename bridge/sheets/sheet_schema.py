"""The sheet format as a JSON Schema (draft 2020-12), for editors and other programs.

Made from the keys, so it says what the reader says of kinds, words and limits. What
only the reader can tell (two sizes compared, parts that name one another) is left to
`sheet check`: the schema refuses nothing that the reader takes.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Callable
from typing import Any

from bridge.sheets.keys.all_keys import ALWAYS, REPEATED, SECTIONS, TELLS
from bridge.sheets.keys.key_kinds import Key, KeyKind, Section, spell_unit
from bridge.sheets.reading.signals import RAW_NUMBER
from bridge.sheets.schema_across import ACROSS
from bridge.sheets.schema_rules import AMONG, RULES
from bridge.sheets.schema_sizes import beyond
from bridge.units import Dimension, example_of, units_refused

Json = dict[str, Any]
DRAFT = "https://json-schema.org/draft/2020-12/schema"
_NUMBER = r"[+\-−]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?"
_MOST_LINES = 100
_LINE: Json = {
    "type": "string",
    "maxLength": 400,
    "pattern": r"^[^\u0000-\u001F\u007F-\u009F]*$",
    "allOf": [{"pattern": r"\S"}],
}
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
        "required": list(ALWAYS),
        "additionalProperties": False,
        "properties": {name: _section(name, keys) for name, keys in SECTIONS.items()},
        **ACROSS,
        "$defs": {d.name.lower(): _dimension(d) for d in Dimension},
    }


def schema_text() -> str:
    """Return the schema as the file that is shipped."""
    return json.dumps(sheet_schema(), indent=2, ensure_ascii=False) + "\n"


def _section(name: str, keys: Section) -> Json:
    one: Json = {
        "description": TELLS[name],
        "type": "object",
        "additionalProperties": False,
        "properties": {name: _key(key) for name, key in keys.items()},
        **RULES.get(name, {}),
    }
    required = [name for name, key in keys.items() if key.required and not key.unless]
    if name in REPEATED or name in ALWAYS:
        one |= {"required": required}
    elif required:  # a section that is not there, or empty, wants nothing
        one |= {"if": {"minProperties": 1}, "then": {"required": required}}
    if name not in REPEATED:
        return one
    return {
        "type": "array",
        "description": TELLS[name],
        "items": one,
        **AMONG.get(name, {}),
    }


def _key(key: Key) -> Json:
    example = tomllib.loads(f"x = {key.example}")["x"]
    limits = f" From {key.limits}." if key.limits and key.dimension else ""
    schema: Json = {"description": key.tells + limits}
    schema |= _value(key)
    schema["examples"] = [example]
    if key.default:
        schema["default"] = tomllib.loads(f"x = {key.default}")["x"]
    return schema


def _value(key: Key) -> Json:
    """Return what a value of the key's kind looks like."""
    return _VALUES[key.kind](key)


def _limits(key: Key) -> Json:
    return {} if key.low is None else {"minimum": key.low, "maximum": key.high}


def _whole(key: Key) -> Json:
    if key.choices:
        return {"enum": [int(choice) for choice in key.choices]}
    return {"type": "integer", **_limits(key)}


def _list(items: Json, **limits: object) -> Json:
    return {"type": "array", "items": items, **limits}


def _words(key: Key) -> Json:
    return _list({"enum": list(key.choices)}, minItems=key.least, uniqueItems=True)


_VALUES: dict[KeyKind, Callable[[Key], Json]] = {
    KeyKind.TEXT: lambda _: {**_LINE},
    KeyKind.WORD: lambda key: {"enum": list(key.choices)},
    KeyKind.FLAG: lambda _: {"type": "boolean"},
    KeyKind.WHOLE: _whole,
    KeyKind.NUMBER: lambda key: {"type": "number", **_limits(key)},
    KeyKind.QUANTITY: lambda key: _quantity(key),
    KeyKind.PAIR: lambda key: _pair(key),
    KeyKind.QUANTITIES: lambda key: _list(_quantity(key), maxItems=_MOST_LINES),
    KeyKind.LINES: lambda key: _list(_LINE, minItems=key.least, maxItems=_MOST_LINES),
    KeyKind.WORDS: _words,
    KeyKind.WHOLES: lambda _: _list({"type": "integer"}),
    KeyKind.CAN_ID: lambda _: {"anyOf": _CAN_IDS},
    KeyKind.LABELS: lambda _: {
        "type": "object",
        "minProperties": 1,
        "propertyNames": {"pattern": rf"^({RAW_NUMBER})$"},
        "additionalProperties": {"type": "string", "pattern": r"\S"},
    },
}


def _pair(key: Key) -> Json:
    """Two ends; which of them is the lower only the reader tells."""
    if not key.open_ends:
        return _list(_quantity(key), minItems=2, maxItems=2)
    pair = _list({"anyOf": [_quantity(key), {"const": ""}]}, minItems=2, maxItems=2)
    least = 2 - key.open_ends
    written = {"contains": {"not": {"const": ""}}, "minContains": least}
    return pair | written if least else pair


def _quantity(key: Key) -> Json:
    if key.dimension is None:
        return {"type": "string", "pattern": rf"^\s*{_NUMBER}\s*[^\s0-9.,]"}
    quantity: Json = {"$ref": f"#/$defs/{key.dimension.name.lower()}"}
    return quantity | {"not": {"pattern": "|".join(beyond(key))}}


def _dimension(dimension: Dimension) -> Json:
    refused = "|".join(re.escape(unit) for unit in units_refused(dimension))
    return {
        "title": f"a quantity that can be told in {spell_unit(dimension)}",
        "type": "string",
        "pattern": rf"^\s*{_NUMBER}\s*(?!({refused})\s*$)[^\s0-9.,]",
        "examples": [example_of(dimension)],
    }
