"""The page that lies over the figures, never over the banner: cautions, help."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

if TYPE_CHECKING:
    from textual.app import ComposeResult


class PageWidget(VerticalScroll):
    """A title over a text that scrolls; foreign text is safe in it."""

    class Moved(Message):
        """Another part of the text is in sight."""

    def compose(self) -> ComposeResult:
        """Lay out the text, empty as yet."""
        yield Static(markup=False)

    _shown = ("", "")

    def watch_scroll_y(self, old_value: float, new_value: float) -> None:
        """Tell the screen: the keys may offer something else at the end."""
        super().watch_scroll_y(old_value, new_value)
        self.post_message(self.Moved())

    def read_on(self) -> None:
        """Scroll on by a page; no line is skipped."""
        self.scroll_relative(y=max(1, self.size.height - 1), animate=False)

    @property
    def read_to_end(self) -> bool:
        """Whether the last line has been in sight."""
        return self.scroll_y >= self.max_scroll_y

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
