"""The page that lies over the figures, never over the banner: cautions, help."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

if TYPE_CHECKING:
    from textual.app import ComposeResult


class PageWidget(VerticalScroll):
    """A title over a text that scrolls; foreign text is safe in it."""

    def compose(self) -> ComposeResult:
        """Lay out the text, empty as yet."""
        yield Static(markup=False)

    _shown = ("", "")

    def update(self, title: str, text: str) -> None:
        """Show another text in the same place, where it has changed."""
        if (title, text) != self._shown:
            self._shown = (title, text)
            said = Content.assemble((title, "bold"), "\n", text)
            self.query_one(Static).update(said)

    def turn_to(self, title: str, text: str) -> None:
        """Show this text from its beginning."""
        self._shown = ("", "")
        self.update(title, text)
        self.scroll_home(animate=False)
        self.focus()
