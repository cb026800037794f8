"""What is typed on the bottom line of the live screen: prompts, keys, meaning. Pure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tui.live import marking
from tui.live.notebook import LONGEST

if TYPE_CHECKING:
    from bridge.level.thermometer import Hand
    from bridge.values.events import Marked, Measured, Tilted
    from tui.words.figures import TemperatureUnit

PROMPTS = {
    "added": "Added, in {volume} (Enter takes it, Esc drops it):",
    "tilt": "Tilt lengthways and across, in degrees (Enter, Esc):",
    "note": "Note (Enter, Esc):",
    "thermometer": "Thermometer reads (Enter, Esc):",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Typing:
    """A number or a note being typed on the bottom line."""

    what: str
    text: str = ""

    def shown(self, unit: TemperatureUnit, width: int) -> str:
        """Return the prompt and as much of the text as there is room for."""
        volume = "mL" if unit == "C" else "quarts"
        prompt = PROMPTS[self.what].format(volume=volume)
        return f"{prompt} {tail(self.text, width - 24)}_"

    def pressed(self, key: str, character: str | None) -> Typing:
        """Return what stands there after a key."""
        if key == "backspace":
            return replace(self, text=self.text[:-1])
        if character and fits(self.what, self.text, character):
            return replace(self, text=self.text + character)
        return self

    def read(
        self, hand: Hand | None, unit: TemperatureUnit
    ) -> Marked | Measured | Tilted | str:
        """Return what was typed as an event, or a sentence on what is wrong."""
        if self.what == "thermometer":
            return marking.read_measured(self.text, hand, unit)
        if self.what == "added":
            return marking.read_added(self.text, unit)
        return marking.read_tilt(self.text)


def fits(what: str, text: str, character: str) -> bool:
    """Say whether a character may be typed: numbers want few of them, notes any."""
    if what == "note":
        return character.isprintable() and len(text) < LONGEST
    if what == "thermometer":
        return character in "0123456789.,+- °CFcf" and len(text) < 20
    return character in "0123456789.,+- " and len(text) < 20


def tail(text: str, room: int) -> str:
    """Return the end of a text that is too long for its room; what is typed shows."""
    return text if len(text) <= room else f"...{text[-max(1, room - 3) :]}"
