"""The terminal the app runs in: its signs, its loss, and how a run ends."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

from tui.widgets.glyphs import choose_glyphs

if TYPE_CHECKING:
    from textual.driver import Driver

    from tui.widgets.glyphs import Glyphs, SymbolChoice

INTERRUPTED = 130
HUNG_UP = 129


def glyphs_here(choice: SymbolChoice) -> Glyphs:
    """Pick the signs for the terminal this program runs in."""
    encoding = getattr(sys.__stdout__, "encoding", None) or "utf-8"
    return choose_glyphs(choice, encoding=encoding, term=os.environ.get("TERM", ""))


def terminal_gone(driver: Driver | None) -> bool:
    """Say whether the terminal has vanished; then silence the driver.

    Textual writes through a thread, which dies when the terminal does. The next
    writes would wait for ever, and the car would be polled for nobody.
    """
    writer = getattr(driver, "_writer_thread", None)
    if driver is None or writer is None or writer.is_alive():
        return False
    for name in ("write", "flush", "close"):
        setattr(driver, name, lambda *_: None)
    return True
