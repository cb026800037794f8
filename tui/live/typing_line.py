"""What is typed on the bottom line of the live screen: prompts, keys, meaning. Pure."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bridge.values.frozen import frozen
from bridge.values.sheet import NAMED, Confirmation
from tui.inputs import answers
from tui.inputs.answers import Refused
from tui.live.notebook import LONGEST
from tui.words.screen import screen_words

if TYPE_CHECKING:
    from bridge.level.thermometer import ThermometerStatus
    from bridge.values.events import Marked, Measured, Tilted
    from bridge.values.sheet import Sheet
    from tui.words.figures import TemperatureUnit

_LONGEST_FIGURE = 30
LONGEST_SHOWN = 100
"""Characters of a long note that are shown, its end."""


@frozen
class Typing:
    """A number or a note being typed on the bottom line."""

    what: str
    text: str = ""
    asked_back: str = ""
    """The answer that was asked back; Enter takes it if it stands there still."""

    def shown(self, unit: TemperatureUnit) -> str:
        """Return the prompt and the end of the text."""
        volume = "mL" if unit == "C" else "quarts"
        prompt = screen_words.PROMPTS[self.what].format(volume=volume, unit=unit)
        return f"{prompt} {tail(self.text, LONGEST_SHOWN)}_"

    def pressed(self, key: str, character: str | None) -> Typing:
        """Return what stands there after a key."""
        if key == "backspace":
            return replace(self, text=self.text[:-1])
        if character and fits(self.what, self.text, character):
            return replace(self, text=self.text + character)
        return self

    def after(self, event: object) -> Typing | None:
        """Return what stands there after Enter; None: it was taken.

        What is refused stays, to be mended: the keys still go to the prompt.
        """
        if not isinstance(event, Refused):
            return None
        return replace(self, asked_back=self.text if event.again else "")

    def read(
        self, sheet: Sheet, status: ThermometerStatus | None, unit: TemperatureUnit
    ) -> Marked | Measured | Tilted | Refused:
        """Return what was typed as an event, or why it is not taken."""
        if self.what == "thermometer":
            return answers.read_thermometer(self.text, status, bare=f"deg{unit}")
        if self.what == "added":
            return answers.read_added(
                self.text,
                sheet=sheet,
                bare="mL" if unit == "C" else "qt",
                before=self.asked_back,
            )
        if self.what in tuple(NAMED):
            return answers.read_confirmed(Confirmation(self.what), self.text)
        if self.what == "air":
            return answers.read_air(self.text, sheet, bare=f"deg{unit}")
        if self.what == "stick":
            return answers.read_stick(self.text, sheet, before=self.asked_back)
        return answers.read_tilt(self.text)


def fits(what: str, text: str, character: str) -> bool:
    """Say whether a character may be typed: a figure and its unit, or a note."""
    longest = LONGEST if what == "note" else _LONGEST_FIGURE
    return character.isprintable() and len(text) < longest


def tail(text: str, room: int) -> str:
    """Return the end of a text that is too long for its room; what is typed shows."""
    return text if len(text) <= room else f"...{text[-max(1, room - 3) :]}"
