"""Text with a unit comes in, a float in our unit goes out.

The usual spellings are read from the table in `kinds`; any other unit goes to pint,
which is imported only then, because importing it costs as much time as drawing the
first screen. Tests hold the table against pint.
"""

from __future__ import annotations

import functools
import math
import re
import unicodedata
from typing import Any

from bridge.units.kinds import KINDS, Dimension, Linear, UnitKind
from bridge.units.spoken import spoken_unit
from bridge.values.errors import SumpgateError


class QuantityError(SumpgateError):
    """A quantity that cannot be understood.

    The text is a predicate and a remedy without a full stop (``"35" has no unit;
    write for example "42 degC"``), so that a caller can put a place before it.
    """


_NUMBER = (
    r"[+-]?(?:[0-9]{1,15}(?:\.[0-9]{0,15})?|\.[0-9]{1,15})(?:[eE][+-]?[0-9]{1,3})?"
)
_QUANTITY = re.compile(rf"({_NUMBER})(?![0-9.,])\s*(.*)", re.DOTALL)
_DECIMAL_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]")
_NOT_A_NUMBER = re.compile(r"[+-]?(nan|inf|infinity)\b", re.IGNORECASE)
_PINT_UNIT = re.compile(
    r"[A-Za-zµμ_]+(?:(?:\*\*|\^)?[1-3])?(?:[*/][A-Za-zµμ_]+(?:(?:\*\*|\^)?[1-3])?){0,3}"
)
_POWER = re.compile(r"(?<=[A-Za-zµμ_])([1-3])(?=[*/]|$)")
"""m2, ft2, in3: a power as people write it."""
_LONGEST_UNIT = 40
_RESPELL = str.maketrans(
    {"−": "-", "°": "deg", "º": "deg", "·": "*", "⋅": "*", "²": "2", "³": "3"}
)
_MEANT = {
    "C": "degC",
    "F": "degF",
    "c": "degC",
    "f": "degF",
    "deg": "degC",
    "Celsius": "degC",
    "Fahrenheit": "degF",
    "N": "N*m",
    "kg*m": "kgf*m",
    "kg-m": "kgf*m",
    "kgm": "kgf*m",
    "Hz": "rpm",
    "sec": "s",
    "'": "min",
}
"""What a unit that means something else, or nothing, was probably meant to be."""


def example_of(dimension: Dimension) -> str:
    """Return a quantity of that dimension as one would write it (``42 degC``)."""
    return KINDS[dimension].example


def printable(text: str, longest: int = 60) -> str:
    """Return text safe to show on one line: control characters spelled out, cut."""
    cut = text if len(text) <= longest else text[: longest - 3] + "..."
    return "".join(c if c.isprintable() else repr(c)[1:-1] for c in cut)


def parse_quantity(text: str, dimension: Dimension) -> float:
    """Return the number a quantity like ``"95 °F"`` has in its dimension's unit.

    Raises:
        QuantityError: no number, no unit, an unknown unit, a unit of another
            dimension, or a number that is not finite or beyond all reason.
    """
    number, unit = _split(text, dimension)
    factor, offset = linear_to(unit, dimension)
    value = round(number * factor + offset, 10)  # 122 degF is 50, not 50.00000000000001
    kind = KINDS[dimension]
    if not kind.low <= value <= kind.high:
        raise QuantityError(
            f'"{printable(text)}" is beyond anything {kind.words} can be here; '
            f'write for example "{kind.example}"'
        )
    return value


def limits_like(text: str, limits: tuple[float, float], dimension: Dimension) -> str:
    """Return limits given in our unit in the unit ``text`` has: ``0.53 to 63.4 qt``.

    Raises:
        QuantityError: the text is no quantity of that dimension.
    """
    _, unit = _split(text, dimension)
    factor, offset = linear_to(unit, dimension)
    low, high = sorted((end - offset) / factor for end in limits)
    return f"{_plain(low)} to {_plain(high)} {printable(unit, 20)}"


def _plain(value: float) -> str:
    return f"{value:.4g}" if abs(value) < 1e4 else f"{value:.0f}"


def linear_to(unit: str, dimension: Dimension) -> Linear:
    """Return (factor, offset) that turn a number in ``unit`` into our unit.

    Raises:
        QuantityError: the unit is unknown or of another dimension.
    """
    spelling = unicodedata.normalize("NFC", unit).strip().translate(_RESPELL)
    kind = KINDS[dimension]
    if spelling not in kind.factors:
        spelling = _as_printed(spelling, dimension)
    if spelling in kind.factors:
        return kind.linear(spelling)
    return _linear_by_pint(spelling, dimension)


def _as_printed(spelling: str, dimension: Dimension) -> str:
    """Return the unit that manuals print as "ft-lbs" or "deg F" as a sheet has it.

    A bare C or F stays what it is: a unit of something else.
    """
    if dimension in (Dimension.TEMPERATURE, Dimension.TEMPERATURE_STEP):
        return re.sub(r"^deg\s+(?=[CF]$)", "deg", spelling)
    return spoken_unit(spelling, dimension) or spelling


def units_refused(dimension: Dimension) -> tuple[str, ...]:
    """Return the usual units of other dimensions, and slips, that this one refuses."""
    usual = {unit for kind in KINDS.values() for unit in kind.factors} | set(_MEANT)
    return tuple(sorted(unit for unit in usual if not _measured(unit, dimension)))


def _measured(unit: str, dimension: Dimension) -> bool:
    try:
        linear_to(unit, dimension)
    except QuantityError:
        return False
    return True


def _split(text: str, dimension: Dimension) -> tuple[float, str]:
    """Return number and unit, the unit not yet understood."""
    plain = text.strip().translate(_RESPELL)
    found = _QUANTITY.fullmatch(plain)
    if found is None:
        raise QuantityError(_why_no_number(text, plain, dimension))
    if not found[2].strip():
        raise QuantityError(
            f'"{printable(text)}" has no unit; '
            f'write for example "{KINDS[dimension].example}"'
        )
    return float(found[1]), found[2].strip()


def _why_no_number(text: str, plain: str, dimension: Dimension) -> str:
    example = f'write for example "{KINDS[dimension].example}"'
    if _DECIMAL_COMMA.match(plain):
        return f'"{printable(text)}" has a comma; write the decimals after a point'
    if _NOT_A_NUMBER.match(plain):
        return f'"{printable(text)}" is not a finite number; {example}'
    words = KINDS[dimension].words
    return f'"{printable(text)}" is not {words} (a number, then a unit); {example}'


def _linear_by_pint(spelling: str, dimension: Dimension) -> Linear:
    """Ask pint; a unit it does not know or that measures another thing is refused."""
    kind = KINDS[dimension]
    step = dimension is Dimension.TEMPERATURE_STEP  # pint would take it for a place
    unit = None if step else _pint_unit(spelling)
    if unit is None:
        raise QuantityError(
            f'"{printable(spelling, 30)}" is not a unit that is known here; '
            f"{_unit_remedy(spelling, kind)}"
        )
    if "delta_" in str(unit) or not _measures(unit, dimension):
        raise QuantityError(
            f'"{printable(spelling, 30)}" is not a unit of {kind.words}; '
            f"{_unit_remedy(spelling, kind)}"
        )
    registry = _registry()
    zero, one = (
        float(registry.Quantity(x, unit).to(_ours(dimension)).magnitude)
        for x in (0.0, 1.0)
    )
    return one - zero, zero


def _unit_remedy(spelling: str, kind: UnitKind) -> str:
    meant = _MEANT.get(spelling, "")
    if meant in kind.factors:
        return f'write "{meant}"'
    # Only by letter case: among units, a near miss in spelling may be a far one.
    for usual in kind.factors:
        if usual.casefold() == spelling.casefold():
            return f'write "{usual}"'
    return f'write for example "{kind.example}"'


@functools.cache
def _registry() -> Any:
    """Return the one registry; quantities of two registries do not mix."""
    import pint  # noqa: TID251 - this module is the place where pint is allowed

    return pint.UnitRegistry()


def _ours(dimension: Dimension) -> Any:
    return _registry().parse_units(dimension.value)


def _pint_unit(spelling: str) -> Any | None:
    """Return pint's unit, or None. Only products of plain names get as far as pint:
    its parser also computes, and "9**9**9" would keep it busy for ever.
    """
    if len(spelling) > _LONGEST_UNIT or not _PINT_UNIT.fullmatch(spelling):
        return None
    try:
        return _registry().parse_units(_POWER.sub(r"**\1", spelling))
    except Exception:  # pint's parser lets Python's own errors through
        return None


def _measures(unit: Any, dimension: Dimension) -> bool:
    """Return whether pint can turn the unit into ours and the two mean the same.

    Base units are compared, not dimensions: for pint an angle has no dimension, so
    that "600 Hz" would become 5730 rpm without a word.
    """
    try:
        base = _registry().Quantity(1.0, unit).to_base_units()
        ours = _registry().Quantity(1.0, _ours(dimension)).to_base_units()
        return bool(base.units == ours.units and math.isfinite(base.magnitude))
    except Exception:  # pint's parser lets Python's own errors through
        return False
