"""What a schema can say of the size of a number that is written in a text.

Patterns of what is surely beyond a limit. They mind the whole part alone, and of
quantities those in the key's own unit; the rest only the reader tells.
"""

from __future__ import annotations

import math
import re

from bridge.sheets.keys.key_kinds import Key, spell_unit
from bridge.units import Dimension

_MINUS = r"[\-−]"
_BELOW_ZERO = rf"^\s*{_MINUS}"
_NOTHING = r"^\s*\+?(0+(\.0*)?|\.0+)\s*[^\s0-9.eE]"


def above(most: int) -> str:
    """Return a pattern of the whole numbers above one; zeros may lead."""
    digits = str(most)
    rest = [rf"[1-9][0-9]{{{len(digits)},}}"]
    for place, digit in enumerate(digits):
        if digit != "9":
            rest.append(_from_here(digits, place, int(digit) + 1, 9))
    return rf"0*({'|'.join(rest)})"


def below(least: int) -> str:
    """Return a pattern of the whole numbers below one above zero; zeros may lead."""
    digits = str(least)
    rest = [rf"[0-9]{{1,{len(digits) - 1}}}"] if len(digits) > 1 else []
    for place, digit in enumerate(digits):
        if digit != "0":
            rest.append(_from_here(digits, place, 0, int(digit) - 1))
    return rf"0*({'|'.join(rest)})"


def _from_here(digits: str, place: int, low: int, high: int) -> str:
    after = len(digits) - place - 1
    more = rf"[0-9]{{{after}}}" if after else ""
    return rf"{digits[:place]}[{low}-{high}]{more}"


def beyond(key: Key) -> list[str]:
    """Return patterns of what a quantity's limits refuse; none without limits."""
    low, high = key.low, key.high
    if key.dimension is None or low is None or high is None:
        return []
    unit = re.escape(spell_unit(key.dimension))
    end = rf"(\.[0-9]{{0,9}})?\s*{unit}\s*$"
    patterns = [rf"^\s*\+?{above(math.floor(high))}{end}"]
    if low >= 1.0:
        patterns.append(rf"^\s*\+?{below(math.floor(low))}{end}")
    if low <= 0.0:
        patterns.append(rf"^\s*{_MINUS}{above(math.floor(-low))}{end}")
    elif key.dimension is not Dimension.TEMPERATURE:  # there zero is a place: 0 K
        patterns += [_BELOW_ZERO, _NOTHING]
    return patterns
