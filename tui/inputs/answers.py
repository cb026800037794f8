"""An answer typed at a prompt, read into the event it tells; or why it is not taken."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.level.thermometer import USUAL_ACCURACY_C, ThermometerKind
from bridge.level.volume import DENSITY_KG_M3
from bridge.service.amounts import out_of_proportion, usual_ml
from bridge.units import (
    QuantityError,
    Units,
    printable,
    said_amount,
    said_stick,
    said_temperature,
    said_tilt,
    show_volume,
)
from bridge.values.events import Band, Mark, Marked, Measured, Tilted
from bridge.values.frozen import frozen
from bridge.values.service_events import ServiceKind
from bridge.values.sheet import Confirmation
from tui.words.service import line_words

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from bridge.level.thermometer import ThermometerStatus
    from bridge.service.log import Log
    from bridge.units import SaidAmount
    from bridge.values.readings import TroubleCodes
    from bridge.values.service_events import CarFacts
    from bridge.values.service_sheet import Service
    from bridge.values.sheet import Sheet

UNSTAMPED_S = 0.0
"""The monitor stamps what it is told; whoever types has no clock."""


@frozen
class Refused:
    """Why an answer is not taken, in one sentence."""

    words: str
    again: bool = False
    """Whether the same answer, given once more, is taken."""


@frozen
class LineState:
    """What the words of the service depend on."""

    sheet: Sheet
    service: Service
    """The sheet's for the gearbox that was found."""
    log: Log
    told: Log
    """What of the log the person told."""
    today: date
    """Where the person is."""
    units: Units
    codes: TroubleCodes | None = None
    car: CarFacts | None = None
    """What the car says of itself; None: nothing live comes from it."""
    before: str = ""
    """The answer that was asked back last."""


@frozen
class BareUnits:
    """The units a prompt named for a number without one; '': it named none."""

    volume: str = ""
    temperature: str = ""
    distance: str = ""


NONE_NAMED = BareUnits()
NAMED = {
    Units.METRIC: BareUnits(volume="L", temperature="degC", distance="km"),
    Units.US: BareUnits(volume="qt", temperature="degF", distance="mi"),
}
"""What the prompts of the service page name."""


def read_pour(
    text: str,
    *,
    sheet: Sheet,
    kind: ServiceKind,
    place: str = "",
    bare: BareUnits = NONE_NAMED,
    before: str = "",
    units: Units = Units.METRIC,
) -> SaidAmount | Refused:
    """Return a typed amount of fluid; one out of proportion is asked back once.

    ``before``: the answer that was asked back last; the same again is taken.
    """
    try:
        amount = said_amount(
            text,
            density_kg_m3=sheet.density_kg_m3 or DENSITY_KG_M3,
            bare=bare.volume,
            bare_temp=bare.temperature,
        )
    except QuantityError as problem:
        return Refused(words=f"{problem}.")
    doubted = out_of_proportion(sheet, kind, amount.ml, place)
    if not doubted or (before and text.split() == before.split()):
        return amount
    return Refused(words=_doubt(amount, sheet, kind, place, units), again=True)


def _doubt(
    amount: SaidAmount, sheet: Sheet, kind: ServiceKind, place: str, units: Units
) -> str:
    usual = usual_ml(sheet, kind, place)
    shown = show_volume(amount.ml / 1000.0, units)
    beside = ""
    if usual is not None:
        beside = line_words.USUAL_IN_ALL.format(show_volume(usual / 1000.0, units))
    return line_words.IS_THAT_RIGHT.format(shown, beside)


def read_added(
    text: str, *, sheet: Sheet, bare: str = "", before: str = ""
) -> Marked | Refused:
    """Return what was added in the level step; ``bare``: the unit the prompt named."""
    units = Units.US if bare == "qt" else Units.METRIC
    amount = read_pour(
        text,
        sheet=sheet,
        kind=ServiceKind.ADDED,
        bare=BareUnits(volume=bare),
        before=before,
        units=units,
    )
    if isinstance(amount, Refused):
        return amount
    return Marked(mark=Mark.ADDED, ml=amount.ml, temp_c=amount.temp_c, t_s=UNSTAMPED_S)


def read_stick(text: str, sheet: Sheet, *, before: str = "") -> Marked | Refused:
    """Return what the stick reads: a height, or below, inside or above its marks.

    A height that no fluid comes to is asked back, unless ``before`` was the same.
    """
    word = text.strip().casefold()
    if word in tuple(Band):
        if sheet.stick:
            return Refused(words=line_words.STICK_MM)
        return Marked(mark=Mark.STICK, band=Band(word), t_s=UNSTAMPED_S)
    if not sheet.stick:
        words = ", ".join(Band)
        return Refused(words=line_words.STICK_MARKS.format(words))
    try:
        mm = said_stick(text)
    except QuantityError as problem:
        return Refused(words=f"{problem}.")
    most_mm = MOST_OF_MARKS * max(row.high_mm for row in sheet.stick)
    if not 0.0 <= mm <= most_mm and text.split() != before.split():
        doubt = line_words.STICK_FAR.format(mm)
        return Refused(words=line_words.ONCE_MORE.format(doubt), again=True)
    return Marked(mark=Mark.STICK, mm=mm, t_s=UNSTAMPED_S)


MOST_OF_MARKS = 2.0
"""So far above the highest mark is more likely a slip (common practice, no source)."""


LONGEST_NAME = 40


def read_confirmed(what: Confirmation, names: str) -> Marked | Refused:
    """Return a point's confirmation; one that needs a name is refused without it.

    At the brake and under the car are two people.
    """
    them = [" ".join(name.split()) for name in names.split(",")]
    many = {Confirmation.DRIVE_SAFE: 1, Confirmation.BRAKE_HELD: 2}.get(what, 0)
    if not many:
        return Marked(mark=Mark.CONFIRMED, confirms=what, t_s=UNSTAMPED_S)
    fits = all(0 < len(n) <= LONGEST_NAME and n.isprintable() for n in them)
    if len({n.casefold() for n in them}) != many or len(them) != many or not fits:
        return Refused(words=line_words.ASKS_NAMES[what])
    who = them[0] if many == 1 else line_words.WHO_BOTH.format(*them)
    return Marked(mark=Mark.CONFIRMED, confirms=what, who=who, t_s=UNSTAMPED_S)


def read_air(text: str, sheet: Sheet, *, bare: str = "") -> Marked | Refused:
    """Return how warm the outside air is, where the sheet's window hangs on it."""
    if not sheet.air_windows:
        return Refused(words=line_words.NOT_BY_AIR)
    try:
        temp_c = said_temperature(text, bare=bare)
    except QuantityError as problem:
        return Refused(words=f"{problem}.")
    if not COLDEST_AIR_C <= temp_c <= HOTTEST_AIR_C:
        return Refused(words=line_words.NO_AIR.format(short(text)))
    return Marked(mark=Mark.AIR, temp_c=temp_c, t_s=UNSTAMPED_S)


COLDEST_AIR_C, HOTTEST_AIR_C = -60.0, 60.0


def read_tilt(text: str) -> Tilted | Refused:
    """Return how the car leans, or why that is no tilt."""
    try:
        along, across = said_tilt(text)
    except QuantityError as problem:
        return Refused(words=f"{problem}.")
    return Tilted(lengthways_deg=along, across_deg=across, t_s=UNSTAMPED_S)


def read_thermometer(
    text: str, status: ThermometerStatus | None, *, bare: str = ""
) -> Measured | Refused:
    """Return what a thermometer reads; ``bare``: the unit the prompt named."""
    try:
        temp_c = said_temperature(text, bare=bare)
    except QuantityError as problem:
        return Refused(words=f"{problem}.")
    known = (
        status.thermometer.accuracy_c
        if status
        else USUAL_ACCURACY_C[ThermometerKind.INFRARED]
    )
    return Measured(temp_c=temp_c, accuracy_c=known, t_s=UNSTAMPED_S)


def short(text: str) -> str:
    """Return typed text as it may be shown in a sentence."""
    return f'"{printable(text.strip(), 30)}"'


def found_name(text: str, names: Iterable[str]) -> tuple[str, str]:
    """Return the longest name the text begins with, and the rest; '', '': none."""
    said = plain(text)
    fitting = [
        name
        for name in names
        if said == plain(name) or said.startswith(f"{plain(name)} ")
    ]
    if not fitting:
        return "", ""
    name = max(fitting, key=len)
    return name, " ".join(text.split())[len(plain(name)) :].strip()


def plain(text: str) -> str:
    """Return a name as it is compared: in small letters, a hyphen for a blank."""
    return " ".join(text.replace("-", " ").casefold().split())


def none_of(text: str, names: Iterable[str], what: str) -> Refused:
    """Return that a text names none of these."""
    listed = ", ".join(names) or "none"
    return Refused(words=f"{short(text)} names no {what}; here: {listed}.")
