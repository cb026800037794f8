"""What is asked on the answer line, and the entry an answer makes. Pure."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bridge.service.against import says_something
from bridge.units import QuantityError, Units, said_odometer, said_temperature
from tui.inputs.answers import NAMED, Refused, read_pour
from tui.inputs.paper_lines import WORDS
from tui.service.pages.page_model import Asked
from tui.words.service import page_words
from tui.words.service.line_words import EXAMPLES

if TYPE_CHECKING:
    from bridge.values.service_events import ServiceEvent
    from bridge.values.sheet import Sheet

LONGEST = 400


def prompt(asked: Asked, units: Units, word: str = "") -> str:
    """Return what to type, with an example, and the unit of a bare number."""
    metric = units is Units.METRIC
    if asked is Asked.PAPER:
        return EXAMPLES[word].removeprefix(f"{word} ")
    return {
        Asked.ODOMETER: "Odometer, in km? 123456"
        if metric
        else "Odometer, in miles? 76543",
        Asked.TEMPERATURE: page_words.ASK_C if metric else page_words.ASK_F,
        Asked.NOTE: "Note?",
        Asked.ANSWER: page_words.ASK_FOUND,
        Asked.NAME: page_words.ASK_WHO,
    }[asked]


def answer(
    asked: Asked,
    text: str,
    entry: ServiceEvent,
    sheet: Sheet,
    units: Units,
    before: str = "",
    word: str = "",
) -> ServiceEvent | Refused:
    """Return the entry with the answer in it, or why it is not taken.

    ``before``: the answer that was asked back last. ``word``: of Asked.PAPER, what.
    """
    if asked is Asked.PAPER:
        value = WORDS[word].read(text, sheet, before)
        if isinstance(value, Refused):
            return value
        return replace(value, step=entry.step, who=entry.who)
    if asked is Asked.AMOUNT:
        return _amount(text, entry, sheet, units, before)
    if asked is Asked.ODOMETER:
        try:
            return replace(entry, km=said_odometer(text, bare=NAMED[units].distance))
        except QuantityError as problem:
            return Refused(words=f"{problem}.")
    if asked is Asked.TEMPERATURE:
        try:
            return replace(
                entry, temp_c=said_temperature(text, bare=NAMED[units].temperature)
            )
        except QuantityError as problem:
            return Refused(words=f"{problem}.")
    return _in_words(asked, " ".join(text.split())[:LONGEST], entry)


def _in_words(asked: Asked, words: str, entry: ServiceEvent) -> ServiceEvent | Refused:
    if asked is Asked.ANSWER and not says_something(words):
        return Refused(words=page_words.ASK_FOUND)
    return replace(entry, text=words) if words else Refused(words="Nothing was typed.")


def _amount(
    text: str, entry: ServiceEvent, sheet: Sheet, units: Units, before: str
) -> ServiceEvent | Refused:
    amount = read_pour(
        text,
        sheet=sheet,
        kind=entry.kind,
        place=entry.name,
        bare=NAMED[units],
        before=before,
        units=units,
    )
    if isinstance(amount, Refused):
        return amount
    weighed = "" if amount.kg is None else f"weighed: {amount.kg:g} kg"
    return replace(
        entry, ml=amount.ml, temp_c=amount.temp_c, kg=amount.kg, text=weighed
    )
