"""Whose car it is, which one, who works on it where: the newest word on each counts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.service.log import of
from bridge.values.service_events import Particular, ServiceEvent, ServiceKind

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from bridge.service.log import Log

PARTICULAR_TEXT: dict[Particular, str] = {
    Particular.CUSTOMER: "Customer",
    Particular.PLATE: "Plate",
    Particular.MODEL: "Car",
    Particular.VIN: "Vehicle number, as typed",
    Particular.SHOP: "Shop",
    Particular.MECHANIC: "Mechanic",
    Particular.PLACE: "Place",
}
PRIVATE = (Particular.CUSTOMER, Particular.PLATE, Particular.VIN)
"""What an anonymous report leaves out."""


def particulars(log: Log) -> dict[Particular, str]:
    """Return what was told last of each, in the order of Particular."""
    known = {e.name: e.text for e in of(log, ServiceKind.PARTICULAR) if e.text}
    return {p: known[p.value] for p in Particular if p.value in known}


def private_words(log: Log) -> dict[Particular, tuple[str, ...]]:
    """Return all that was ever told of what is private, taken back or not."""
    return {
        p: tuple(
            e.text
            for e in log
            if (e.kind, e.name) == (ServiceKind.PARTICULAR, p.value) and e.text
        )
        for p in PRIVATE
    }


def bare(text: str) -> str:
    """Return a plate or a number as it is compared: letters and digits alone."""
    return "".join(c for c in text.casefold() if c.isalnum())


def by_default(log: Log, shop: Mapping[Particular, str]) -> Iterator[ServiceEvent]:
    """Yield what a shop states for every job, where this job's log does not."""
    known = {e.name for e in log if e.kind is ServiceKind.PARTICULAR}
    for what, text in shop.items():
        if what.value not in known and text:
            yield ServiceEvent(kind=ServiceKind.PARTICULAR, name=what.value, text=text)


def numbers_apart(log: Log) -> bool:
    """Whether the number typed is another than the one the car told."""
    typed = particulars(log).get(Particular.VIN)
    read = {e.car.vin for e in of(log, ServiceKind.CAR) if e.car and e.car.vin}
    return bool(typed and read) and bare(typed or "") not in map(bare, read)
