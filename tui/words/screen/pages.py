"""The texts of the two pages: the cautions at the start, and the help. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tui.inputs.offers import CONFIRM_KEYS, key_of
from tui.words import figures, wording
from tui.words.cautions import at_start, every, own_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bridge.values.sheet import Confirmation, Sheet

_WORDS = (
    (
        "GO: every condition in the list is met at this moment. NO-GO: at least one is "
        "not, or is not known. Any doubt is NO-GO."
    ),
    (
        "Window: the fluid temperatures between which the level may be set. Set too "
        "cold it ends up too high, set too hot too low."
    ),
    "±: two standard deviations; the true temperature is inside 19 times in 20.",
    (
        "Likely between: the two times have 5 % and 95 % of the chances behind them. "
        "On the bar the line is that range, the mark its middle."
    ),
    (
        "Stays in window: the fluid will stay in the window long enough for the "
        "excess to drain and settle."
    ),
    "Not live, last seen: the reading is too old to act on.",
    (
        "In the plot the band is the window, the line what was read, gaps are times "
        "without a reading. Then the likely way, in a fan that holds 9 ways in 10."
    ),
)


def _numbered_points() -> Iterator[tuple[str, Confirmation]]:
    return ((key_of(what), what) for what in CONFIRM_KEYS)


_STEP_KEYS = (
    "q quits, u changes the units, m silences the bell, v turns to other colors.",
    "? or h: this page, PgUp and PgDn scroll it, Esc leaves it.",
    "j or Tab: the whole service, step by step; there p: papers, f: a step's end.",
    "+ and -: the speed of the demo.",
    "Space, Enter or PageDown: the plug is open; then, for each drip, once.",
    "o: the plug is open, where GO has gone meanwhile. c or PageUp: it is closed.",
    "n: nothing ran out. s: still a steady stream. a: topped up, how much?",
    "z undoes the last mark, r starts the step over, x ends a phase of the level.",
    *(f"{n}: confirm {c.value.replace('-', ' ')}." for n, c in _numbered_points()),
    "p: with --phone, the code for the phone's page.",
    "d: with a stick, type what it reads.",
    "l: type the car's tilt lengthways and across, from a digital level.",
    "w: write a note; it goes into the job file.",
    "t: type what a thermometer reads. i: the outside air, where the sheet asks.",
)


def cautions(sheet: Sheet) -> list[str]:
    """Return the cautions read at the start; see ``at_start``."""
    return at_start(figures.clean(text) for text in own_of(sheet))


def cautions_text(sheet: Sheet) -> str:
    """Return them as the page shows them."""
    return _bullets(cautions(sheet))


def help_text(sheet: Sheet) -> str:
    """Return the help: words, the sheet, its steps, and the cautions again."""
    parts = [
        "The words on this screen\n" + _bullets(_WORDS),
        "The keys of the level step\n" + _bullets(_STEP_KEYS),
        "This sheet\n" + _bullets(_about(sheet)),
    ]
    if sheet.steps:
        parts.append("Its level step\n" + _numbered(sheet.steps))
    whole = every(figures.clean(text) for text in own_of(sheet))
    parts.append("Cautions\n" + _bullets(whole))
    parts.append("sumpgate only reads from the car; it changes nothing in it.")
    return "\n\n".join(parts)


def _about(sheet: Sheet) -> list[str]:
    window = f"{wording.window(sheet, 'C')}, {wording.window(sheet, 'F')}"
    return [
        f"{figures.clean(sheet.name)}. Source: {figures.clean(sheet.source)}",
        (
            f"Window {window}; engine {wording.engine_rule(sheet.engine)}; "
            f"about {wording.settle_time(sheet)} to settle."
        ),
    ]


def _bullets(lines: list[str] | tuple[str, ...]) -> str:
    return "\n".join(f"- {line}" for line in lines)


def _numbered(lines: tuple[str, ...]) -> str:
    return "\n".join(f"{n}. {figures.clean(s)}" for n, s in enumerate(lines, 1))
