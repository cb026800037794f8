"""What every full-screen app of ours has in common: its colors, and no animation."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any, TypeVar

from textual.app import App

from tui.widgets import palettes

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import TextIO

    from textual.driver import Driver

    from tui.widgets.palettes import Theme

Returned = TypeVar("Returned")


class OutlivingFile:
    """A terminal's file that outlives the terminal: what is written then goes nowhere.

    Textual writes through a thread. Were it to die of the first write that fails, the
    next thirty would fill its queue and the one after wait for ever: the program would
    go on without a screen, hold the adapter and never seal the job.
    """

    def __init__(self, file: TextIO) -> None:
        self._file = file
        self.gone = False
        """Whether the terminal has vanished."""

    def write(self, text: str) -> int:
        """Write, while there is a terminal."""
        self._try(lambda: self._file.write(text))
        return len(text)

    def flush(self) -> None:
        """Flush, while there is a terminal."""
        self._try(self._file.flush)

    def fileno(self) -> int:
        """Return the number of the terminal's file."""
        return self._file.fileno()

    def _try(self, act: Callable[[], object]) -> None:
        try:
            if not self.gone:
                act()
        except (OSError, ValueError):  # ValueError: closed
            self.gone = True


class ColoredApp(App[Returned]):
    """An app in one of our themes."""

    ENABLE_COMMAND_PALETTE = False
    colored: bool
    """Whether there is any color to turn to another."""

    def __init__(self, colors: Theme) -> None:
        self._colors: Theme = colors
        # Without color Textual would still send shades of gray; its ANSI mode
        # sends none at all, as https://no-color.org asks.
        self.colored = not os.environ.get("NO_COLOR")
        super().__init__(ansi_color=None if self.colored else True)
        self.animation_level = "none"
        self.theme = palettes.base(colors)

    def get_driver_class(self) -> type[Driver]:
        """Return Textual's driver for this system, writing to a file that lasts."""
        usual = super().get_driver_class()

        class OutlivingDriver(usual):  # type: ignore[valid-type,misc]
            def __init__(self, app: App[Any], **settings: Any) -> None:
                super().__init__(app, **settings)
                usual_file: TextIO = vars(self)["_file"]
                self._file = OutlivingFile(usual_file)

        return OutlivingDriver

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Return the colors the style sheets speak of."""
        return palettes.palette(self._colors, self.console.color_system)

    def turn_colors(self) -> Theme:
        """Show everything in the next theme; return which it is."""
        self._colors = palettes.after(self._colors)
        self.theme = palettes.base(self._colors)
        self.refresh_css()
        return self._colors
