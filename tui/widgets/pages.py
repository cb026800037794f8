"""The pages that lie over the figures, never over the banner: cautions, help."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import VerticalScroll
from textual.widgets import Static

if TYPE_CHECKING:
    from textual.app import ComposeResult


class Page(VerticalScroll):
    """A titled list of paragraphs; foreign text is safe in it."""

    def __init__(self, title: str, text: str, *, id: str) -> None:  # noqa: A002 - Textual's name
        super().__init__(id=id)
        self._title, self._text = title, text

    def compose(self) -> ComposeResult:
        """Lay out title and text."""
        yield Static(self._title, markup=False, classes="page-title")
        yield Static(self._text, markup=False, classes="page-text")
