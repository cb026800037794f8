"""What the plain text mode says: the screen's words as whole sentences. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from tui.words import wording

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bridge.values.sheet import Sheet
    from tui.inputs.offers import Offer
    from tui.live.screen_state import ConditionLine, ScreenState
    from tui.words.figures import TemperatureUnit

FEW = 5
"""Of what a service still lacks, so many are said at once."""
READ_FIRST = "Press Enter once you have read the cautions."
READ = "Cautions read."
ALWAYS = (
    "Enter: how everything stands.",
    "? : what may be typed now.",
    "cautions: say them again.",
    "w and a text: write a note.",
    "u: change between °C and °F.",
    "q: quit.",
)
"""What may be typed at any time."""


class HasText(Protocol):
    """Something with a sentence of its own."""

    @property
    def text(self) -> str:
        """The sentence."""


def opening(sheet: Sheet, cautions: Sequence[str], unit: TemperatureUnit) -> list[str]:
    """Return what is said before anything else."""
    window = ""
    if sheet.has_level_step:
        window = f", window {wording.window(sheet, unit)}"
    said = [f"sumpgate in plain text. Sheet: {sheet.name}{window}.", "Cautions:"]
    return [*said, *cautions, f"{READ_FIRST} Type ? for what may be typed."]


def headline(state: ScreenState, *, verdict: bool) -> str:
    """Say what the banner says; ``verdict``: with GO or NO-GO before it."""
    result = state.result
    if result is not None:
        return f"{result.line} {result.onward}"
    lead = f"{state.verdict.value}: " if verdict else ""
    return lead + " ".join(_ended(t) for t in (state.headline, state.remedy) if t)


def _ended(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else f"{text}."


def figures_line(state: ScreenState) -> str:
    """Say the temperature, where it goes, and the countdown."""
    if state.last_seen:
        return f"Fluid {state.last_seen}."
    counts = state.shuts if state.inside else state.opens
    text = counts.sentences[0] if counts.sentences else counts.label
    if state.inside and not text.startswith(("shuts", "stays")):
        text = state.opens.sentences[0]
    return f"Fluid {state.number} {state.unit}, {state.trend}; {text}."


def condition(line: ConditionLine) -> str:
    """Say how an item of the list stands."""
    why = f", {line.why}" if line.why else ""
    return f"{line.name}: {line.word}{why}."


def offer(what: Offer) -> str:
    """Say what may be typed for an offer, by its word and by its key."""
    key = f" or {what.key}" if len(what.key) == 1 else ""
    return f"{what.word}{key}: {what.hint or what.word}."


def entered(entry: str, lacking: int) -> str:
    """Say that an entry of the service was taken, and how much is still open."""
    things = f"{lacking} item{'' if lacking == 1 else 's'} still open"
    return f"Noted: {entry}. {things if lacking else 'Nothing is open'}."
