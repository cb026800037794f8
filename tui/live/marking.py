"""The keys of the level step: what a key tells the monitor, and the typed answers.

One key does most of it, so that a presenter remote (PageDown or Enter, PageUp) can:
it marks the opening when GO is called and drips while the plug is out.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from bridge.level.step.step_values import Phase
from bridge.level.thermometer import USUAL_ACCURACY_C, Kind, read_typed
from bridge.units.kinds import US_QUART_L
from bridge.values.events import Mark, Marked, Measured, Tilted
from bridge.values.sheet import Confirmation

if TYPE_CHECKING:
    from bridge.level.step.step_values import Step
    from bridge.level.thermometer import Hand
    from tui.words.figures import TemperatureUnit

PLAIN: dict[str, Mark] = {
    "nothing": Mark.NOTHING_CAME,
    "streaming": Mark.STREAMING,
    "closed": Mark.CLOSED,
    "undo": Mark.UNDO,
    "again": Mark.RESTART,
}
"""Keys that always tell the same."""

CONFIRMS: tuple[Confirmation, ...] = tuple(Confirmation)
"""What the keys 1 to 6 confirm, in their order."""

_UNSTAMPED_S = 0.0
"""The monitor stamps what it is told; the screen has no clock of its own."""


def plain(name: str) -> Marked:
    """Return the mark of a plain key."""
    return Marked(mark=PLAIN[name], t_s=_UNSTAMPED_S)


def main_key(step: Step | None) -> Marked | None:
    """Return what the one key tells in the present phase; None: nothing now."""
    if step is None:
        return None
    if step.plug_open:
        return Marked(mark=Mark.DRIP, t_s=_UNSTAMPED_S)
    if step.phase in (Phase.GO, Phase.GET_READY):
        return Marked(mark=Mark.OPENED, t_s=_UNSTAMPED_S)
    return None


def confirmation(number: int, step: Step | None) -> Marked:
    """Return the mark that confirms point ``number`` (1..4), or takes it back."""
    what = CONFIRMS[number - 1]
    given = step is not None and what in step.confirmed
    return Marked(
        mark=Mark.WITHDRAWN if given else Mark.CONFIRMED,
        confirms=what,
        t_s=_UNSTAMPED_S,
    )


def read_added(text: str, unit: TemperatureUnit = "C") -> Marked | str:
    """Return the mark for a typed amount, or a sentence on what is wrong.

    In mL; beside degrees Fahrenheit in quarts.
    """
    numbers = _numbers(text, 1)
    one_ml = 1.0 if unit == "C" else 1000.0 * US_QUART_L
    if numbers is None or not 0 < numbers[0] * one_ml < 20_000:
        how = "millilitres, such as 250" if unit == "C" else "quarts, such as 0.25"
        return f"{text[:20]!r} is no amount: type {how}"
    return Marked(mark=Mark.ADDED, ml=numbers[0] * one_ml, t_s=_UNSTAMPED_S)


def read_tilt(text: str) -> Tilted | str:
    """Return typed angles, or a sentence that says what is wrong."""
    numbers = _numbers(text, 2)
    if numbers is None or any(abs(n) > 30 for n in numbers):
        return f"{text[:20]!r} is no tilt: type two angles in degrees, such as 0.3 -0.1"
    return Tilted(lengthways_deg=numbers[0], across_deg=numbers[1], t_s=_UNSTAMPED_S)


def read_measured(text: str, hand: Hand | None, unit: str) -> Measured | str:
    """Return a typed thermometer reading, or a sentence that says what is wrong.

    ``unit``: 'C' or 'F', where none is typed; ``hand``: what is known of it.
    """
    temp_c = read_typed(text, fahrenheit=unit == "F")
    if isinstance(temp_c, str):
        return temp_c
    known = hand.thermometer.accuracy_c if hand else USUAL_ACCURACY_C[Kind.INFRARED]
    return Measured(temp_c=temp_c, accuracy_c=known, t_s=_UNSTAMPED_S)


def _numbers(text: str, count: int) -> list[float] | None:
    words = text.split()
    try:
        numbers = [float(w.replace(",", ".")) for w in words]
    except ValueError:
        return None
    good = len(numbers) == count and all(math.isfinite(n) for n in numbers)
    return numbers if good else None
