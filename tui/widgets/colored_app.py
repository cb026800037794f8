"""What every full-screen app of ours has in common: its colors, and no animation."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, TypeVar

from textual.app import App

from tui.widgets import palettes

if TYPE_CHECKING:
    from tui.widgets.palettes import Theme

Returned = TypeVar("Returned")


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

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Return the colors the style sheets speak of."""
        return palettes.palette(self._colors, self.console.color_system)

    def turn_colors(self) -> Theme:
        """Show everything in the next theme; return which it is."""
        self._colors = palettes.after(self._colors)
        self.theme = palettes.base(self._colors)
        self.refresh_css()
        return self._colors
