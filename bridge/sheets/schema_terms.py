"""The few sentences a schema is made of here."""

from __future__ import annotations

from typing import Any

from bridge.sheets.keys.all_keys import SECTIONS
from bridge.values.sheet import LevelMethod

Json = dict[str, Any]


def is_(**values: object) -> Json:
    """Say that keys are there and have these values."""
    consts = {key: {"const": value} for key, value in values.items()}
    return {"properties": consts, "required": list(consts)}


def held(section: str, key: str, value: object) -> Json:
    """Say that a key has this value; left out, it has its default."""
    default = SECTIONS[section][key].absent
    return is_(**{key: value}) | ({"required": []} if default == value else {})


REFILL = is_(method=LevelMethod.MEASURED_REFILL.value)
"""A level that is set by filling in what came out: it has no level step."""
