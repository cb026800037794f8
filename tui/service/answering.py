"""The answer line of the service screen: what is asked, typed, and taken."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.screen import Screen
from textual.widgets import Input

from bridge.values.service_events import ServiceKind
from tui.inputs.answers import Refused
from tui.service.pages.asked import answer, prompt
from tui.service.pages.page_model import FIGURES
from tui.service.service_widgets import StepPage
from tui.words.service import page_words

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual import events

    from bridge.units import Units
    from tui.service.log_editor import LogEditor
    from tui.service.pages.page_model import Item


class AnsweringScreen(Screen[None]):
    """Asks for what an item wants typed, and tells the editor."""

    editor: LogEditor
    _units: Callable[[], Units]
    _asking: Item | None = None
    _asked_back = ""
    """The answer that is taken if it is given once more."""
    _prompt = ""
    """What is asked on the answer line."""

    def say(self, note: str) -> None:
        """Put one sentence above the keys; '' takes it away."""
        raise NotImplementedError

    def go_onward(self) -> None:
        """Go to the next row that is open."""
        raise NotImplementedError

    async def take_key(self, item: Item | None, key: events.Key) -> None:
        """Let a digit begin the answer an item asks for; ``None``: none is in sight.

        A key that was on its way before the answer line had it goes there as well, so
        that what is typed fast, or pasted, comes in whole.
        """
        if self._asking is not None:
            await self._take_late(key)
        elif item is not None and item.asks in FIGURES and _is_digit(key):
            key.stop()
            self._ask(item, key.character or "")

    async def _take_late(self, key: events.Key) -> None:
        line = self.query_one(Input)
        if key.is_printable:  # the line itself lets none of these through
            key.stop()
            line.insert_text_at_cursor(key.character or "")
        elif key.key == "enter":
            key.stop()
            await line.action_submit()

    def _ask(self, item: Item | None, begun: str = "") -> None:
        self._asking, self._asked_back, self._prompt = item, "", ""
        line = self.query_one(Input)
        line.display = item is not None
        if item is None or item.asks is None:
            self.set_focus(None)
            self.say("")
            return
        line.value = begun
        self._prompt = item.ask or prompt(item.asks, self._units(), item.word)
        self.say("")
        self.set_focus(line)
        line.cursor_position = len(begun)
        self.call_after_refresh(self.query_one(StepPage).keep_in_sight)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Take the answer, or say what is wrong with it and ask again."""
        event.stop()
        item = self._asking
        if item is None or item.asks is None or item.entry is None:
            return
        given = answer(
            item.asks,
            event.value,
            item.entry,
            self.editor.sheet,
            self._units(),
            self._asked_back,
            item.word,
        )
        if isinstance(given, Refused):
            self._asked_back = event.value if given.again else ""
            self.say(given.words)
            return
        if not self.editor.add(given):
            self.say(page_words.NOT_TAKEN)
            return
        self._ask(None)
        if given.kind is ServiceKind.NOTE:
            self.say("Note saved.")
        else:
            self.go_onward()


def _is_digit(key: events.Key) -> bool:
    return (key.character or "x") in "0123456789"
