"""What the person reads and writes on the screen, on its way into the job file."""

from __future__ import annotations

from concurrent.futures import CancelledError, Future
from typing import TYPE_CHECKING, Any, Literal

from tui.words.screen import screen_words

if TYPE_CHECKING:
    from collections.abc import Callable

Act = Literal["shown", "confirmed", "withdrawn"]
"""What was done with the cautions."""
Look = Literal["answer", "news"]
"""What is said because a key was pressed comes before what happened by itself."""

LONGEST = 500
"""Characters of one note."""


class Notebook:
    """Writes into the job file; without one it says so."""

    def __init__(
        self,
        tell: Callable[[str, dict[str, Any]], Future[int]] | None,
        say: Callable[[str, Look], object],
    ) -> None:
        """``say`` takes a sentence and how it looks, in any thread."""
        self._tell, self._say = tell, say

    @property
    def recording(self) -> bool:
        """Return whether there is a job file to write into."""
        return self._tell is not None

    def cautions(self, act: Act, lines: list[str]) -> None:
        """Note what was done with the cautions, and their words."""
        if self._tell is not None:
            self._tell("caution", {"act": act, "lines": lines})

    def note(self, text: str) -> None:
        """Write a note down; say when it is on the disk, or that it is not."""
        text = text.strip()
        if not text:
            return
        if self._tell is None:
            self._say(screen_words.NOT_RECORDED, "answer")
            return
        self._tell("note", {"text": text}).add_done_callback(self._done)

    def _done(self, done: Future[int]) -> None:
        try:
            number = done.result()
        except CancelledError:
            self._say(screen_words.NOTE_LOST, "answer")
            return
        self._say(screen_words.NOTE_WRITTEN.format(number), "answer")
