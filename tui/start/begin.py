"""Shows the start screen and runs the command that was put together there."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from tui.start.gap import GapError


def has_terminal() -> bool:
    """Return whether there is a screen to choose on."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def begin(main: Callable[[list[str]], int], gap: GapError | None = None) -> int:
    """Let the person choose, then run that; 0 where they left.

    ``gap``: what the command line left out.
    """
    from tui.live.terminal import glyphs_here
    from tui.settings import load_settings
    from tui.start.gather import known, ports
    from tui.start.start_app import StartApp

    settings = load_settings()
    app = StartApp(
        known=known,
        ports=ports,
        gap=str(gap) if gap else "",
        sheet=gap.sheet if gap else "",
        ascii_only=glyphs_here(settings.symbols).ascii_only,
        theme=settings.theme,
    )
    argv = app.run()
    return main(list(argv)) if argv else app.return_code or 0
