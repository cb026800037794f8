"""What a person says of a quantity: on a screen, in a typed line, in a flag. Pure.

People write "1 000", "1.000,5", "0,25 L" and "3 qts"; a sheet never does. A number
that can be read in two ways is asked back, never guessed; a number without a unit is
refused unless the prompt on screen named one (``bare``).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from bridge.units.kinds import KINDS, Dimension
from bridge.units.parse import QuantityError, parse_quantity, printable
from bridge.units.spoken import spoken_unit
from bridge.values.frozen import frozen

_SPACES = " '’\u00a0\u2009\u202f"
_NUMBER = re.compile(rf"([+-]?)\s*([0-9.,{_SPACES}]*[0-9])\s*(.*)", re.DOTALL)
_LONGEST_NUMBER = 24
_FIRST = "[1-9][0-9]{0,2}"
_FORMS: tuple[tuple[re.Pattern[str], str, str], ...] = tuple(
    (re.compile(pattern), thousands, decimals)
    for pattern, thousands, decimals in (
        (r"[0-9]+", "", "."),
        (r"[0-9]*\.[0-9]+", "", "."),
        (r"[0-9]*,[0-9]+", "", ","),
        (rf"{_FIRST}(?:,[0-9]{{3}})+(?:\.[0-9]+)?", ",", "."),
        (rf"{_FIRST}(?:\.[0-9]{{3}})+(?:,[0-9]+)?", ".", ","),
        (rf"{_FIRST}(?:[{_SPACES}][0-9]{{3}})+(?:\.[0-9]+)?", _SPACES, "."),
        (rf"{_FIRST}(?:[{_SPACES}][0-9]{{3}})+(?:,[0-9]+)?", _SPACES, ","),
    )
)
"""How a number may be written: the pattern, its thousands marks, its decimal mark."""
_LONE_POINT = re.compile(r"[0-9]+\.[0-9]+")


class AmbiguousNumberError(QuantityError):
    """A number that can be read in two ways: only the person knows which."""


def said(
    text: str, dimension: Dimension, *, bare: str = "", decimals: int | None = None
) -> float:
    """Return what was said, in the dimension's own unit; see ``as_written``.

    Raises:
        QuantityError: it is not understood, has no unit, or can be read in two ways.
    """
    written = as_written(text, dimension, bare=bare, decimals=decimals)
    return parse_quantity(written, dimension)


def as_written(
    text: str, dimension: Dimension, *, bare: str = "", decimals: int | None = None
) -> str:
    """Return what was said as a sheet has it: "1.000,5 ml" is "1000.5 mL".

    ``bare``: the unit the prompt named for a number without one; '': a bare number is
    refused. ``decimals``: how many decimals such a figure can have at most; None: any.

    Raises:
        QuantityError: no number or two, or no unit; a unit that is not known here
            stays as it is.
    """
    number, unit = _number_and_unit(text, dimension)
    value = said_number(number, decimals=decimals)
    if not (unit or bare):
        raise QuantityError(
            f'"{printable(text.strip(), 30)}" has no unit; write for example '
            f'"{KINDS[dimension].example}"'
        )
    unit_said = unit or bare
    return f"{value} {spoken_unit(unit_said, dimension) or unit_said}"


def said_number(text: str, *, decimals: int | None = None) -> str:
    """Return a number as one writes it in a sheet, with a point and nothing else.

    A lone point is always the decimal one, as in a sheet and on a jug; a lone comma
    before three digits may be either mark, and is asked back.

    Raises:
        QuantityError: it is no number, or two.
    """
    plain = text.strip().replace("−", "-")
    sign = plain[:1] if plain[:1] in ("+", "-") else ""
    digits = plain.removeprefix(sign).strip() if sign else plain
    found = _readings(digits, decimals) if len(digits) <= _LONGEST_NUMBER else []
    if not found:
        raise QuantityError(
            f'"{printable(text.strip(), 30)}" is no number; write it like 1.5 or 250'
        )
    if len(found) > 1:
        few, many = sorted(found, key=float)
        raise AmbiguousNumberError(
            f'"{printable(text.strip(), 30)}" can be {few.rstrip("0").rstrip(".")} or '
            f"{many}: write it without the comma"
        )
    return ("-" if sign == "-" else "") + found[0]


def _readings(digits: str, decimals: int | None) -> list[str]:
    """Return every way the digits can be read."""
    found = {
        digits.translate(dict.fromkeys(map(ord, thousands))).replace(decimal, ".")
        for pattern, thousands, decimal in _FORMS
        if pattern.fullmatch(digits)
    }
    if decimals is not None:
        return [n for n in found if len(n.partition(".")[2]) <= decimals]
    if len(found) > 1 and _LONE_POINT.fullmatch(digits):
        return [digits]
    return list(found)


def _number_and_unit(text: str, dimension: Dimension) -> tuple[str, str]:
    found = _NUMBER.fullmatch(text.strip().replace("−", "-"))
    if found is None:
        kind = KINDS[dimension]
        raise QuantityError(
            f'"{printable(text.strip(), 30)}" is not {kind.words}; write for example '
            f'"{kind.example}"'
        )
    return found[1] + found[2], found[3].strip()


# Amounts


@frozen
class SaidAmount:
    """How much fluid, as it was said; its volume is that at ``temp_c``."""

    ml: float
    temp_c: float | None = None
    """None: the temperature it was measured at was not told."""
    kg: float | None = None
    """What was weighed; None: it was measured by volume."""


MASS_AT_C = 15.0
"""A density is that at 15 degC (ISO 91; the sheet's own likewise)."""
MOST_ML = 40_000.0
"""No gearbox of a car holds more (common practice, no source)."""
COLDEST_C, HOTTEST_C = -50.0, 180.0
"""A fluid in a gearbox, and a thermometer that is held into it."""
_AT = re.compile(r"\s+at\s+|\s*[@;]\s*", re.IGNORECASE)
_OUNCE = re.compile(r"\s*(?:oz|ounces?)\.?\s*$", re.IGNORECASE)
_FLUID_OUNCE = re.compile(r"\s*f(?:l|luid)[.\s]*(?:oz|ounces?)\.?\s*$", re.IGNORECASE)


def said_amount(
    text: str, *, density_kg_m3: float, bare: str = "", bare_temp: str = ""
) -> SaidAmount:
    """Return an amount such as "4.8 L at 35 C", "5 qt" or "2.8 kg".

    ``density_kg_m3``: of the fluid at 15 degC, for what was weighed. ``bare`` and
    ``bare_temp``: the units the prompt named, if it did.

    Raises:
        QuantityError: it is not understood, or no amount a gearbox can hold.
    """
    parts = _AT.split(text.strip(), maxsplit=1)
    temp_c = said_temperature(parts[1], bare=bare_temp) if len(parts) > 1 else None
    ml, kg = _volume(parts[0], density_kg_m3, bare)
    if not 0.0 < ml <= MOST_ML:
        raise QuantityError(
            f'"{printable(parts[0], 30)}" does not look like an amount of fluid; write '
            'for example "0.25 L" or "4.8 L at 35 C"'
        )
    return SaidAmount(ml=ml, temp_c=temp_c if kg is None else MASS_AT_C, kg=kg)


def _volume(text: str, density_kg_m3: float, bare: str) -> tuple[float, float | None]:
    if _OUNCE.search(text) and not _FLUID_OUNCE.search(text):
        raise QuantityError(
            f'"{printable(text, 30)}" can be a volume or a weight: write "fl oz", or '
            "grams"
        )
    _, unit = _number_and_unit(text, Dimension.VOLUME)
    if not spoken_unit(unit, Dimension.MASS):
        return 1000.0 * said(text, Dimension.VOLUME, bare=bare), None
    kg = said(text, Dimension.MASS)
    return 1e6 * kg / density_kg_m3, kg


# What else is said in a job


@dataclass(frozen=True, slots=True)
class SaidFigure:
    """Reads one kind of figure; what is beyond its limits is refused."""

    dimension: Dimension
    limits: tuple[float, float]
    how: str
    decimals: int | None = None

    def __call__(self, text: str, *, bare: str = "") -> float:
        """Return the figure in its dimension's own unit. Raises QuantityError."""
        value = said(text, self.dimension, bare=bare, decimals=self.decimals)
        return _between(text, value, self.limits, self.how)


said_temperature = SaidFigure(
    Dimension.TEMPERATURE,
    (COLDEST_C, HOTTEST_C),
    'a gearbox temperature; write for example "38.5 C" or "101 F"',
)
said_odometer = SaidFigure(
    Dimension.DISTANCE,
    (1.0, 3_000_000.0),
    'an odometer reading; write for example "123456 km"',
    decimals=1,
)
said_torque = SaidFigure(
    Dimension.TORQUE,
    (0.1, 1000.0),
    'the torque of a plug or cover; write for example "30 N*m"',
)
said_stick = SaidFigure(
    Dimension.LENGTH, (-500.0, 500.0), 'a mark on a stick; write for example "12 mm"'
)


def said_tilt(text: str) -> tuple[float, float]:
    """Return how the car leans lengthways and across, in degrees, up to 30.

    A tilt is in degrees wherever it is asked for or told. Raises QuantityError.
    """
    words = re.sub(r"(?<=[0-9])\s*(?:°|deg(?:rees?)?)(?![a-z])", "", text).split()
    how = 'a tilt; write two angles in degrees, such as "0.3 -0.1"'
    try:
        angles = [float(said_number(word)) for word in words]
    except AmbiguousNumberError:
        raise
    except QuantityError:
        raise QuantityError(_is(text, how)) from None
    if len(angles) != 2 or any(abs(angle) > 30.0 for angle in angles):
        raise QuantityError(_is(text, how))
    return angles[0], angles[1]


LEAST_ACCURACY_C, MOST_ACCURACY_C = 0.1, 6.0


def said_accuracy(text: str) -> float:
    """Return what a thermometer is good for, plus or minus, in degC (0.1 to 6).

    Bare numbers are in degC: the prompt and the flag's help say so.
    Raises QuantityError.
    """
    plain = re.sub(r"^\s*(?:±|\+/?-)\s*", "", text)
    how = (
        "an accuracy; write what the thermometer is good for in °C, "
        f"{LEAST_ACCURACY_C:g} to {MOST_ACCURACY_C:g}"
    )
    try:
        number, unit = _number_and_unit(plain, Dimension.TEMPERATURE)
        step_c = float(said_number(number))
    except AmbiguousNumberError:
        raise
    except QuantityError:
        raise QuantityError(_is(text, how)) from None
    spelled = spoken_unit(unit or "C", Dimension.TEMPERATURE)
    scale = {"degC": 1.0, "degF": 5.0 / 9.0}.get(spelled, 0.0)
    return _between(text, step_c * scale, (LEAST_ACCURACY_C, MOST_ACCURACY_C), how)


def _between(text: str, value: float, ends: tuple[float, float], how: str) -> float:
    if not ends[0] <= value <= ends[1]:
        raise QuantityError(_is(text, how))
    return value


def _is(text: str, how: str) -> str:
    return f'"{printable(text.strip(), 30)}" does not look like {how}'
