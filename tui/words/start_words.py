"""The start screen in words: what it is, where to begin, what may be chosen. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.values.sheet import LevelMethod
from tui.words import figures, wording

if TYPE_CHECKING:
    from bridge.values.sheet import Sheet
    from tui.words.figures import TemperatureUnit

FIRST_RUN = (
    (
        "sumpgate watches the fluid temperature of a sealed gearbox and says when "
        "its level may be set."
    ),
    "It only ever reads from the car: it never writes, clears or resets anything.",
    "Begin with the demo, or choose the sheet of your gearbox.",
)
OPEN_JOBS = "Go on with an open job"
SHEETS = "Sheets: window, where the level is set, what is in it"
MORE = "More"
DEMO = "Demo: the whole thing on a simulated car"
PAST = "Past jobs"
NEW_SHEET = "Make a sheet for another gearbox"
ADAPTER = "Where does the temperature come from?"
NO_PORT = "No port with an adapter found: plug it in, then choose 'Look again'"
LOOK_AGAIN = "Look again for adapters"
BY_ADDRESS = "A Wi-Fi adapter, or another port: type its address"
ADDRESS = "Its address? 192.168.0.10:35000, or the name of a port"
ANSWERING = "Enter go   Esc back"
THERMOMETER = "A thermometer: type the readings in by hand"
NO_CAR = "No car: the steps of the service only"
WHAT_WORK = "What is to be done?"
LEVEL_ONLY = "The level only"
WHOLE = "The whole service, step by step"
NO_JOBS = "There are no past jobs"
KEYS = "↑ ↓ choose   Enter go   Esc back   q quit"

_WAYS: dict[LevelMethod, str] = {
    LevelMethod.OVERFLOW_TUBE: "overflow tube",
    LevelMethod.LEVEL_PLUG: "level plug",
    LevelMethod.STICK: "stick",
}


def sheet_line(sheet: Sheet, unit: TemperatureUnit) -> str:
    """Return a sheet's window and way in one line."""
    way = _WAYS.get(sheet.method, sheet.method.value.replace("-", " "))
    service = ", whole service" if sheet.service.order else ", level only"
    return f"{wording.window(sheet, unit)}, {way}{service}"


def open_job_line(sheet: str, step: str, car: str, since_utc_s: float) -> str:
    """Return what an open job is: car, sheet, step, since when."""
    whose = f"{figures.clean(car, 30)}, " if car else ""
    where = f", at {figures.clean(step, 40)}" if step else ""
    since = figures.moment(since_utc_s)
    return f"{whose}{figures.clean(sheet, 40)}{where}, last worked on {since}"


def port_line(device: str, description: str, problem: str) -> str:
    """Return a port with its state."""
    state = figures.clean(problem, 120) if problem else "free"
    return f"{figures.clean(device, 60)} ({figures.clean(description, 60)}): {state}"
