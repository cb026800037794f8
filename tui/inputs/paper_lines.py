"""What is typed for the papers: whose car, fluid and parts used, what came of it.

Screen and typed lines read the same words. Several things on a line are parted by a
comma and a blank, or a semicolon, so that "5,2 L" stays one figure.
"""

from __future__ import annotations

import re
from datetime import date
from functools import partial
from typing import TYPE_CHECKING

from bridge.level.volume import DENSITY_KG_M3
from bridge.protocol.vehicle_number import VIN_LENGTH, check_digit
from bridge.service.papers.against_sheet import forbidden_by
from bridge.service.papers.paper_words import PAPER_TEXT
from bridge.service.papers.whose import PARTICULAR_TEXT
from bridge.units import (
    Dimension,
    QuantityError,
    printable,
    said,
    said_amount,
    said_temperature,
)
from bridge.values.frozen import frozen
from bridge.values.readings import CheckDigit
from bridge.values.service_events import (
    Instrument,
    LeakFound,
    LevelFound,
    Particular,
    ServiceEvent,
    ServiceKind,
)
from tui.inputs.answers import Refused, short
from tui.words.service import line_words
from tui.words.service.line_words import EXAMPLES

if TYPE_CHECKING:
    from collections.abc import Callable

    from bridge.values.sheet import Sheet

LONGEST = 200
_PARTS = re.compile(r",\s+|;\s*")
_BATCH = re.compile(r"(?:batch|lot)\b\W*(.+)", re.IGNORECASE)
_NUMBER = re.compile(r"(?:number|no\.?)\s+(.+)", re.IGNORECASE)
_COUNT = re.compile(r"x?\s*(\d{1,3})\s*(?:x|pieces|pcs)?", re.IGNORECASE)
_CALIBRATED = re.compile(r"calibrated\s+(.+)", re.IGNORECASE)


@frozen
class Paper:
    """One word of the papers: how it is read, and what comes of it."""

    read: Callable[[str, Sheet, str], ServiceEvent | Refused]
    """Given what follows the word, the sheet, and the answer asked back last."""
    kind: ServiceKind
    name: str = ""
    """Of a Particular: which."""

    @property
    def label(self) -> str:
        """What it is called, on the page and in the report."""
        named = PARTICULAR_TEXT[Particular(self.name)] if self.name else ""
        return named or PAPER_TEXT[self.kind]


def _parts(text: str) -> list[str]:
    clean = " ".join(printable(text, LONGEST).split())
    return [p.strip() for p in _PARTS.split(clean) if p.strip()]


def _nothing(word: str) -> Refused:
    return Refused(words=line_words.NOTHING_TYPED.format(EXAMPLES[word]))


def _again(text: str, before: str) -> bool:
    return bool(before) and text.split() == before.split()


def _particular(
    text: str, _sheet: Sheet, _before: str, *, what: Particular
) -> ServiceEvent | Refused:
    words = " ".join(printable(text, LONGEST).split())
    if not words:
        return _nothing("car" if what is Particular.PLATE else what.value)
    return ServiceEvent(kind=ServiceKind.PARTICULAR, name=what.value, text=words)


def vin(text: str, _sheet: Sheet, before: str) -> ServiceEvent | Refused:
    """Read a vehicle's number; one that looks wrong is asked back once."""
    number = "".join(printable(text, LONGEST).split()).upper()
    if not number:
        return _nothing("vin")
    doubt = _doubt(number)
    if doubt and not _again(text, before):
        return Refused(words=line_words.ONCE_MORE.format(doubt), again=True)
    return ServiceEvent(
        kind=ServiceKind.PARTICULAR, name=Particular.VIN.value, text=number
    )


def _doubt(number: str) -> str:
    if len(number) != VIN_LENGTH:
        return line_words.VIN_LONG.format(len(number), VIN_LENGTH)
    if set(number) & set("IOQ") or not number.isascii() or not number.isalnum():
        return line_words.VIN_LETTERS
    if check_digit(number) is CheckDigit.WRONG:
        return line_words.VIN_DIGIT
    return ""


def fluid(text: str, sheet: Sheet, before: str) -> ServiceEvent | Refused:
    """Read `PRODUCT, SPECIFICATION, batch NUMBER, 5.2 L`; the product must be there."""
    product, *rest = _parts(text) or [""]
    if not product:
        return _nothing("fluid")
    ml, batch, meets = None, "", []
    for part in rest:
        if found := _BATCH.fullmatch(part):
            batch = found[1]
        elif (amount := _volume(part, sheet)) is not None:
            ml = amount
        else:
            meets.append(part)
    event = ServiceEvent(
        kind=ServiceKind.FLUID_USED,
        name=product,
        text=", ".join(meets),
        number=batch,
        ml=ml,
    )
    wrong = forbidden_by(sheet.service, event)
    if wrong and not _again(text, before):
        return Refused(
            words=line_words.FORBIDDEN.format(printable(wrong, 80)),
            again=True,
        )
    return event


def _volume(text: str, sheet: Sheet) -> float | None:
    """Return mL; None where it is no amount."""
    density = sheet.density_kg_m3 or DENSITY_KG_M3
    try:
        return said_amount(text, density_kg_m3=density).ml
    except QuantityError:
        return None


def part(text: str, sheet: Sheet, _before: str) -> ServiceEvent | Refused:
    """Read `NAME, number N, 2 x`; the name may be one of the sheet's."""
    known = [p.name for p in sheet.service.parts]
    plain = " ".join(text.split())
    fits = [n for n in known if plain.casefold().startswith(n.casefold())]
    name = max(fits, key=len, default="")
    rest = _parts(plain[len(name) :].lstrip(",; ")) if name else _parts(plain)
    if not name and not rest:
        return _nothing("part")
    if not name:
        name, *rest = rest
    number, count = "", None
    for word in rest:
        if (found := _COUNT.fullmatch(word)) and int(found[1]) > 0:
            count = int(found[1])
        elif found := _NUMBER.fullmatch(word):
            number = found[1]
        else:
            return Refused(
                words=line_words.NO_NUMBER.format(short(word), EXAMPLES["part"])
            )
    kind = ServiceKind.PART_USED
    return ServiceEvent(kind=kind, name=name, number=number, count=count)


def waste(text: str, sheet: Sheet, _before: str) -> ServiceEvent | Refused:
    """Read `AMOUNT, KIND, WHERE`."""
    amount, *rest = _parts(text) or [""]
    density = sheet.density_kg_m3 or DENSITY_KG_M3
    try:
        ml = said_amount(amount, density_kg_m3=density).ml
    except QuantityError as problem:
        return Refused(words=f"{problem}.")
    if len(rest) < 2:
        return Refused(words=line_words.WASTE_WHERE.format(EXAMPLES["waste"]))
    where = ", ".join(rest[1:])
    return ServiceEvent(kind=ServiceKind.WASTE, ml=ml, name=rest[0], text=where)


def instrument(text: str, _sheet: Sheet, _before: str) -> ServiceEvent | Refused:
    """Read `wrench WHICH, calibrated 2026-01-15`."""
    parts = _parts(text)
    kind, _, which = (parts[0] if parts else "").partition(" ")
    if kind.casefold() not in tuple(Instrument):
        return Refused(words=line_words.BEGIN_WITH.format(", ".join(Instrument)))
    on = ""
    for word in parts[1:]:
        found = _CALIBRATED.fullmatch(word)
        try:
            on = date.fromisoformat(found[1] if found else word).isoformat()
        except ValueError:
            return Refused(words=line_words.NO_DATE.format(short(word)))
    return ServiceEvent(
        kind=ServiceKind.INSTRUMENT, name=kind.casefold(), text=which.strip(), on=on
    )


def leak(text: str, _sheet: Sheet, _before: str) -> ServiceEvent | Refused:
    """Read `PLACE dry`."""
    words = printable(text, LONGEST).replace(",", " ").split()
    found = words[-1].casefold() if words else ""
    if len(words) < 2 or found not in tuple(LeakFound):
        return Refused(
            words=line_words.LEAK_PLACE.format(", ".join(LeakFound), EXAMPLES["leak"])
        )
    place = " ".join(words[:-1])
    return ServiceEvent(kind=ServiceKind.LEAK_CHECK, name=place, text=found)


LONGEST_DRIVE_MIN = 600.0


def road_test(text: str, _sheet: Sheet, _before: str) -> ServiceEvent | Refused:
    """Read `20 min, 85 C`, and a remark after them."""
    first, *rest = _parts(text) or [""]
    temp_c = None
    try:
        minutes = said(first, Dimension.DURATION) / 60.0
        if rest and rest[0][:1] in "+-0123456789":
            temp_c = said_temperature(rest.pop(0))
    except QuantityError as problem:
        return Refused(words=f"{problem}.")
    if not 0.0 < minutes <= LONGEST_DRIVE_MIN:
        return Refused(words=line_words.NO_ROAD_TEST.format(short(first)))
    return ServiceEvent(
        kind=ServiceKind.ROAD_TEST,
        minutes=minutes,
        temp_c=temp_c,
        text=", ".join(rest),
    )


def rechecked(text: str, _sheet: Sheet, _before: str) -> ServiceEvent | Refused:
    """Read `right`, `low` or `high`, and a remark."""
    parts = _parts(text)
    found, _, more = (parts[0] if parts else "").partition(" ")
    if found.casefold() not in tuple(LevelFound):
        return Refused(words=line_words.THEN_REMARK.format(", ".join(LevelFound)))
    remark = ", ".join(p for p in (more.strip(), *parts[1:]) if p)
    kind = ServiceKind.RECHECKED
    return ServiceEvent(kind=kind, name=found.casefold(), text=remark)


def handed_on(text: str, sheet: Sheet, _before: str) -> ServiceEvent | Refused:
    """Read what was told to the customer; `1` is the sheet's first reminder."""
    words = " ".join(printable(text, LONGEST).split())
    reminders = sheet.service.licensed_tool
    if words.isdecimal() and 0 < int(words) <= len(reminders):
        words = reminders[int(words) - 1]
    if not words:
        return _nothing("handed-on")
    return ServiceEvent(kind=ServiceKind.HANDED_ON, name=words)


PARTICULAR_WORDS: dict[str, Particular] = {
    "car": Particular.PLATE,
    **{p.value: p for p in Particular if p is not Particular.PLATE},
}
WORDS: dict[str, Paper] = {
    word: Paper(
        read=vin if what is Particular.VIN else partial(_particular, what=what),
        kind=ServiceKind.PARTICULAR,
        name=what.value,
    )
    for word, what in PARTICULAR_WORDS.items()
} | {
    "fluid": Paper(read=fluid, kind=ServiceKind.FLUID_USED),
    "part": Paper(read=part, kind=ServiceKind.PART_USED),
    "waste": Paper(read=waste, kind=ServiceKind.WASTE),
    "instrument": Paper(read=instrument, kind=ServiceKind.INSTRUMENT),
    "leak": Paper(read=leak, kind=ServiceKind.LEAK_CHECK),
    "road-test": Paper(read=road_test, kind=ServiceKind.ROAD_TEST),
    "rechecked": Paper(read=rechecked, kind=ServiceKind.RECHECKED),
    "handed-on": Paper(read=handed_on, kind=ServiceKind.HANDED_ON),
}
"""The words of typed lines and of the screen's page, in the page's order."""
