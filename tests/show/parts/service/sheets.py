"""Sheets: listed mistakes, random ones, doubts, and the schema beside the reader."""

from __future__ import annotations

import random
import re
import tomllib
from dataclasses import dataclass, field

from jsonschema import Draft202012Validator

from bridge.sheets import examine, find_sheet, load, shipped_sheets
from bridge.sheets.keys.all_keys import SECTIONS, heading
from bridge.sheets.sheet_schema import sheet_schema
from bridge.sheets.warnings.all_warnings import doubts_of
from bridge.values.errors import SheetError
from tests.service.mistakes.service_mistakes import SERVICE_MISTAKES
from tests.service.mistakes.service_mistakes import TEXT as SERVICE
from tests.sheets.test_profile_mistakes import BASE, MISTAKES

_SAID = re.compile(r'listed\.toml(, line \d+)?: ("[^"]+" in .*|.*TOML.*); .+\.')
"""File, line where it is known, key, reason, then the remedy."""
_VALUES = (
    *(
        "true",
        "0",
        "-1",
        "1e999",
        "nan",
        '""',
        "[]",
        "{}",
        "[[]]",
        "1979-05-27",
        '"7E1"',
    ),
    *('"35 degC"', '"9e9 L"', '"20 lbf*ft"', '"-3 N*m"', '["washer"]', '["P", "R"]'),
    *('"\\u0000"', '"\\u202e"', "[1, 2]", '"90 deg"', "0x22", '"level"', '["drain"]'),
)


@dataclass(slots=True)
class Listed:
    """What the listed mistakes came to."""

    total: int = 0
    sentences: int = 0
    """Those told with key, reason and remedy."""
    with_line: int = 0
    poor: list[str] = field(default_factory=list)


def listed() -> Listed:
    """Read a sheet with each listed mistake in it."""
    found = Listed()
    cases = [(BASE, *mistake[:3]) for mistake in MISTAKES]
    cases += [(SERVICE, *mistake[:3]) for mistake in SERVICE_MISTAKES]
    for base, good, bad, key in cases:
        found.total += 1
        _, mistakes = examine(base.replace(good, bad, 1), "listed.toml")
        said = str(mistakes[0]) if mistakes else ""
        whole = bool(_SAID.fullmatch(said)) and (key is None or f'"{key}"' in said)
        found.sentences += whole
        found.with_line += ", line " in said
        if not whole:
            found.poor.append(said or f"{bad!r} was taken")
    return found


@dataclass(slots=True)
class Wild:
    """What random sheets came to."""

    total: int = 0
    taken: int = 0
    mistakes: int = 0
    escaped: list[str] = field(default_factory=list)
    """Whatever came out that was not a SheetError."""
    schema_stricter: int = 0
    """Sheets that the reader takes and the schema refuses."""


def wild(seed: int, count: int) -> Wild:
    """Read random changes of the shipped sheets."""
    chance = random.Random(seed)
    texts = [find_sheet(name).read_text("utf-8") for name in shipped_sheets()]
    judge = Draft202012Validator(sheet_schema())
    found = Wild()
    for _ in range(count):
        text = _changed(chance, chance.choice(texts))
        found.total += 1
        try:
            sheet, mistakes = examine(text, "wild.toml")
        except Exception as error:  # that none comes is what is shown
            found.escaped.append(f"{type(error).__name__}: {error}")
            continue
        found.mistakes += len(mistakes)
        if any(not isinstance(m, SheetError) for m in mistakes):
            found.escaped.append("a mistake of another kind")
        if sheet is not None:
            found.taken += 1
            found.schema_stricter += not judge.is_valid(tomllib.loads(text))
    return found


def _changed(chance: random.Random, text: str) -> str:
    for _ in range(chance.randint(1, 3)):
        text = chance.choice((_cut, _swapped, _put, _set))(chance, text)
    return text


def _cut(chance: random.Random, text: str) -> str:
    at = chance.randrange(len(text) or 1)
    return text[:at] + text[at + chance.randint(1, 40) :]


def _put(chance: random.Random, text: str) -> str:
    at = chance.randrange(len(text) or 1)
    new = "".join(chr(chance.choice((chance.randrange(128), 0x202E, 0x1F600))))
    return text[:at] + new + text[at:]


def _swapped(chance: random.Random, text: str) -> str:
    lines = text.split("\n")
    one, other = (chance.randrange(len(lines)) for _ in range(2))
    lines[one], lines[other] = lines[other], lines[one]
    return "\n".join(lines)


def _set(chance: random.Random, text: str) -> str:
    """Give a key of the format another value."""
    section = chance.choice(list(SECTIONS))
    key = chance.choice(list(SECTIONS[section]))
    value = chance.choice((*_VALUES, SECTIONS[section][key].example))
    lines = text.split("\n")
    places = [i for i, line in enumerate(lines) if line == heading(section)]
    if not places:
        return f"{text}\n{heading(section)}\n{key} = {value}\n"
    at = chance.choice(places)
    for i in range(at + 1, len(lines)):
        if lines[i].startswith("["):
            break
        if lines[i].startswith(f"{key} ="):
            del lines[i]
            break
    lines.insert(at + 1, f"{key} = {value}")
    return "\n".join(lines)


def shipped() -> dict[str, list[str]]:
    """Return each shipped sheet's doubts; what the car lacks is no flaw of ours."""
    return {
        name: [str(doubt) for doubt in doubts_of(load(name))]
        for name in shipped_sheets()
    }
