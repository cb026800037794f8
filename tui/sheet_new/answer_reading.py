"""What a person types, held against what the sheet's keys allow."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable

from bridge.sheets.keys.all_keys import SECTIONS
from bridge.sheets.keys.key_kinds import Key, spell_unit
from bridge.units import (
    AmbiguousNumberError,
    Dimension,
    QuantityError,
    Units,
    as_written,
    parse_quantity,
    said_number,
)

Reader = Callable[[str, Units], str]
"""Returns the answer as the sheet will have it; raises AnswerError."""

_LONGEST = 400
_UNITS: dict[Dimension, tuple[str, str]] = {
    Dimension.TEMPERATURE: ("degC", "degF"),
    Dimension.VOLUME: ("L", "qt"),
    Dimension.TORQUE: ("N*m", "lbf*ft"),
    Dimension.DISTANCE: ("km", "mi"),
    Dimension.DURATION: ("s", "s"),
    Dimension.LENGTH: ("mm", "mm"),
    Dimension.AREA: ("cm2", "in2"),
}
"""The unit of a bare number: metric, US."""


class AnswerError(Exception):
    """An answer that cannot be taken; its text says why and what to write."""


def unit_of(dimension: Dimension, units: Units) -> str:
    """Return the unit a bare number has."""
    return _UNITS[dimension][units is Units.US]


def a_text(answer: str, _: Units) -> str:
    """Take one line of text."""
    if len(answer) > _LONGEST:
        raise AnswerError(f"That is too long; keep to {_LONGEST} characters.")
    if any(unicodedata.category(c) in ("Cc", "Cf", "Cs", "Co", "Cn") for c in answer):
        raise AnswerError("That has a control character in it; type plain text.")
    return answer


def a_quantity(section: str, key: str) -> Reader:
    """Take a quantity of a key; a bare number has the person's own unit."""
    form = SECTIONS[section][key]

    def read(answer: str, units: Units) -> str:
        return _quantity(form, answer, units)

    return read


def _quantity(form: Key, answer: str, units: Units) -> str:
    dimension = form.dimension or Dimension.DURATION
    try:
        written = as_written(answer, dimension, bare=unit_of(dimension, units))
        value = parse_quantity(written, dimension)
    except QuantityError as error:
        raise AnswerError(f"{str(error)[:1].upper()}{str(error)[1:]}.") from None
    if form.low is not None and form.high is not None:
        _check_limits(value, (form.low, form.high), dimension, units)
    return written


def _check_limits(
    value: float, limits: tuple[float, float], dimension: Dimension, units: Units
) -> None:
    low, high = limits
    if low <= value <= high:
        return
    unit = unit_of(dimension, units)
    ends = " to ".join(f"{_in(limit, dimension, unit):.3g}" for limit in limits)
    raise AnswerError(f"That is out of all reason here; write {ends} {unit}.")


def _in(value: float, dimension: Dimension, unit: str) -> float:
    """Return a value of ours in another unit of its dimension."""
    if unit == spell_unit(dimension):
        return value
    zero, one = (parse_quantity(f"{x} {unit}", dimension) for x in (0, 1))
    return (value - zero) / (one - zero)


def understood(answer: str, dimension: Dimension | None, units: Units) -> str:
    """Return an answer in the person's own unit, if it was typed in another one."""
    if dimension is None:
        return ""
    unit = unit_of(dimension, units)
    if answer.endswith(f" {unit}"):
        return ""
    return f"{_in(parse_quantity(answer, dimension), dimension, unit):.4g} {sign(unit)}"


def sign(unit: str) -> str:
    """Return a unit as a person writes it: degF -> °F, N*m -> N·m."""
    return unit.replace("deg", "°").replace("*", "·").replace("2", "²")


def a_choice(words: tuple[str, ...]) -> Reader:
    """Take one of some words, or the number it has in the list."""

    def read(answer: str, _: Units) -> str:
        numbered = {str(n): word for n, word in enumerate(words, 1)}
        found = [w for w in words if w.startswith(answer.lower())]
        if answer in numbered:
            return numbered[answer]
        if len(found) != 1:
            listed = ", ".join(f"{n} {word}" for n, word in numbered.items())
            raise AnswerError(f"That is none of the answers; type one of {listed}.")
        return found[0]

    return read


def positions(answer: str, _: Units) -> str:
    """Take the selector's positions, kept apart by spaces or commas."""
    names = answer.replace(",", " ").split()
    if len(names) < 2 or any(not n.isprintable() or len(n) > 12 for n in names):
        raise AnswerError("That is no row of positions; write them like P R N D.")
    return " ".join(names)


def a_number(low: int, high: int, example: str) -> Reader:
    """Take a whole number, in decimal digits."""

    def read(answer: str, _: Units) -> str:
        whole = re.fullmatch(r"[0-9]{1,9}", answer)
        if whole is None or not low <= int(answer) <= high:
            raise AnswerError(
                f"That is no whole number from {low} to {high}; write it like "
                f"{example}."
            )
        return str(int(answer))

    return read


def an_identifier(answer: str, _: Units) -> str:
    """Take an identifier: hexadecimal, with 0x or without; given back as 0x1940."""
    digits = answer.lower().removeprefix("0x")
    if not re.fullmatch(r"[0-9a-f]{1,4}", digits):
        raise AnswerError(
            "That is no identifier; write it like 0x1157: up to four hex digits."
        )
    return f"0x{digits.upper():0>{2 if len(digits) < 3 else 4}}"


def a_decimal(answer: str, _: Units) -> str:
    """Take a number such as a factor or an offset."""
    value = _number(answer, "write it like 0.1 or -40")
    if not abs(value) <= 1e6:
        raise AnswerError("That is no number; write it like 0.1 or -40.")
    return repr(value)


def _number(answer: str, how: str) -> float:
    try:
        return float(said_number(answer))
    except AmbiguousNumberError as problem:
        raise AnswerError(f"{problem}.") from None
    except QuantityError:
        raise AnswerError(f"That is no number; {how}.") from None


def turns(answer: str, _: Units) -> str:
    """Take a number of turns."""
    form = SECTIONS["fastener"]["turns_back"]
    value = _number(answer, f"write a number of turns, {form.limits}")
    if form.low is None or form.high is None or not form.low <= value <= form.high:
        raise AnswerError(f"That is no number of turns; write {form.limits}.")
    return f"{value:g}"


def a_can_id(answer: str, _: Units) -> str:
    """Take a CAN id as hexadecimal digits."""
    digits = answer.upper().removeprefix("0X")
    if not re.fullmatch(r"[0-9A-F]{2,3}|[0-9A-F]{8}", digits):
        raise AnswerError("That is no CAN id; write three hex digits, such as 7E1.")
    return digits
