"""What is asked on the answer line, and the entry an answer makes. Pure."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bridge.units import Units
from tui.service.pages.page_model import Asked
from tui.service.pages.typed import read_amount, read_odometer

if TYPE_CHECKING:
    from bridge.values.service_events import ServiceEvent

LONGEST = 400


def prompt(asked: Asked, units: Units) -> str:
    """Return what to type, with an example in the person's units."""
    metric = units is Units.METRIC
    return {
        Asked.AMOUNT: "How much? "
        + ("4.8 L, or 4.8 L at 35 C" if metric else "5 qt, or 5 qt at 95 F"),
        Asked.ODOMETER: "Odometer? " + ("123456 km" if metric else "76543 mi"),
        Asked.NOTE: "Note?",
        Asked.NAME: "Who works on it?",
    }[asked]


def answer(
    asked: Asked, text: str, entry: ServiceEvent, units: Units
) -> ServiceEvent | str:
    """Return the entry with the answer in it, or a sentence on what is wrong."""
    if asked is Asked.AMOUNT:
        amount = read_amount(text, units)
        if isinstance(amount, str):
            return amount
        return replace(entry, ml=amount.ml, temp_c=amount.temp_c)
    if asked is Asked.ODOMETER:
        km = read_odometer(text, units)
        return km if isinstance(km, str) else replace(entry, km=km)
    words = " ".join(text.split())[:LONGEST]
    return replace(entry, text=words) if words else "Nothing was typed."
