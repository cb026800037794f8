"""The terminal the app runs in: its signs, its loss, and how a run ends."""

from __future__ import annotations

import os
import sys
from dataclasses import replace
from typing import TYPE_CHECKING

from tui.widgets.glyphs import choose_glyphs

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.driver import Driver

    from tui.widgets.glyphs import Glyphs, SymbolChoice

INTERRUPTED = 130
HUNG_UP = 129
ASKED_S = 20.0
"""So long a second 'q' answers the question whether to leave an open plug."""


class Leaving:
    """Asks once before an open plug is left alone; any other key means: stay."""

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock = clock
        self._asked_s: float | None = None

    def key(self, *, leaves: bool) -> None:
        """Take note of a key, before it does anything."""
        if not leaves:
            self._asked_s = None

    def may_go(self, *, plug_open: bool) -> bool:
        """Say whether 'q' ends the program now; if not, it is to be asked."""
        asked_s, now_s = self._asked_s, self._clock()
        self._asked_s = now_s
        asked = asked_s is not None and now_s - asked_s <= ASKED_S
        return asked or not plug_open


def glyphs_here(choice: SymbolChoice) -> Glyphs:
    """Pick the signs for the terminal this program runs in."""
    encoding = getattr(sys.__stdout__, "encoding", None) or "utf-8"
    signs = choose_glyphs(choice, encoding=encoding, term=os.environ.get("TERM", ""))
    return replace(signs, shaded=signs.shaded and not os.environ.get("NO_COLOR"))


def terminal_gone(driver: Driver | None) -> bool:
    """Say whether the terminal has vanished: nobody sees any more what is drawn."""
    return getattr(getattr(driver, "_file", None), "gone", False)
