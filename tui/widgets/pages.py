"""The page that lies over the figures, never over the banner: cautions, help."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

if TYPE_CHECKING:
    from textual.app import ComposeResult


class Page(VerticalScroll):
    """A title over a text that scrolls; foreign text is safe in it."""

    def compose(self) -> ComposeResult:
        """Lay out the text, empty as yet."""
        yield Static(markup=False)

    def turn_to(self, title: str, text: str) -> None:
        """Show this text from its beginning."""
        self.query_one(Static).update(Content.assemble((title, "bold"), "\n", text))
        self.scroll_home(animate=False)
        self.focus()
