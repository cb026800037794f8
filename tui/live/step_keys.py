"""The app's keys of the level step: marks, confirmations, and what is typed.

A mark is made only while nothing covers the figures, and not within a second after.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.events import Key

from bridge.values.events import Mark
from bridge.values.sheet import NAMED, Confirmation
from tui.inputs.answers import Refused
from tui.inputs.offers import CONFIRM_KEYS, by_word, confirming, main_offer
from tui.live.cover import Cover
from tui.live.screen_state import Contact
from tui.live.typing_line import Typing
from tui.service.host import ServiceHost
from tui.widgets.page_widget import PageWidget
from tui.words.screen import pages, screen_words

if TYPE_CHECKING:
    from textual.events import Event

    from bridge.level.step.step_values import Step
    from bridge.snapshot import Snapshot
    from bridge.values.events import PersonEvent
    from bridge.values.sheet import Sheet
    from tui.feeds.feed import Feed
    from tui.inputs.offers import Offer
    from tui.live.notebook import Act, Look, Notebook
    from tui.live.screens import GateScreen
    from tui.live.terminal import Leaving
    from tui.service.service_screen import ServiceScreen


KEY_WORDS = {
    "o": "opened",
    "n": "nothing",
    "s": "streams",
    "z": "undo",
    "r": "again",
    "x": "next",
}
"""What a key of the level step's says, as its typed line does."""


TYPED = {
    "a": "added",
    "l": "tilt",
    "d": "stick",
    "w": "note",
    "t": "thermometer",
    "i": "air",
}
"""What a key asks for on the bottom line."""


class StepKeys(ServiceHost):
    """What the keys of the level step do; the app holds the state."""

    _sheet: Sheet
    _snapshot: Snapshot | None
    _confirmed: bool
    _cover: Cover
    _contact: Contact
    _feed: Feed
    _leaving: Leaving
    _typing: Typing | None
    _note: str
    _notebook: Notebook

    @property
    def _gate_screen(self) -> GateScreen:
        raise NotImplementedError

    @property
    def _step(self) -> Step | None:
        return self._snapshot.step if self._snapshot else None

    def _tell(self, event: PersonEvent | None) -> None:
        if event is not None and self._confirmed and self._contact is Contact.HELD:
            self._feed.tell(event)

    def say_over(self, sentence: str, look: Look) -> None:
        """Show a sentence over the figures for a while; from any thread."""
        raise NotImplementedError

    @property
    def _lead(self) -> Sheet:
        """The sheet as it holds in the present phase of its level."""
        return (self._snapshot and self._snapshot.lead) or self._sheet

    @property
    def _covered(self) -> bool:
        """Whether anything lies over the figures, or keys go elsewhere."""
        screen = self._gate_screen
        elsewhere = len(self.screen_stack) > 1 or self._typing is not None
        return elsewhere or screen.pane != "body" or screen.has_class("-small")

    def _mark(self, offer: Offer | None) -> None:
        """Tell what a key stands for, unless the figures were covered just now."""
        event = offer.pressed if offer else None
        if event is None or self._covered:
            return
        if self._cover.lets:
            self._tell(event)
        else:
            self.say_over(screen_words.JUST_COVERED, "answer")

    def on_service_screen_cautions_read(
        self, message: ServiceScreen.CautionsRead
    ) -> None:
        """Write down that a step's cautions were shown, or confirmed with its end."""
        self._notebook.cautions(message.act, message.lines)

    def action_main_mark(self) -> None:
        """Mark the opening or a drip, whichever the phase asks for."""
        screen = self._gate_screen
        if screen.pane != "body":
            screen.query_one(PageWidget).scroll_page_down()
        else:
            self._mark(main_offer(self._step))

    def action_back_mark(self) -> None:
        """Mark the closing, or turn a page back."""
        screen = self._gate_screen
        if screen.pane != "body":
            screen.query_one(PageWidget).scroll_page_up()
        else:
            self.action_mark("closed")

    def action_mark(self, word: str) -> None:
        """Tell the monitor what a key with a meaning of its own means."""
        self._mark(by_word(self._step, word))

    def action_confirm_point(self, number: int) -> None:
        """Confirm a point of the sheet's list, or take that back."""
        marked = confirming(CONFIRM_KEYS[number - 1], self._step)
        if not self._cover.lets or self._covered:
            return
        if marked.mark is Mark.CONFIRMED and marked.confirms in NAMED:
            self.action_type(marked.confirms.value)
            return
        if marked.confirms is Confirmation.CAUTIONS and self._confirmed:
            given = marked.mark is Mark.CONFIRMED
            act: Act = "confirmed" if given else "withdrawn"
            self._notebook.cautions(act, pages.cautions(self._sheet))
        self._tell(marked)

    def action_type(self, what: str) -> None:
        """Ask for a number or a note on the bottom line."""
        if what == "note" and not self._notebook.recording:
            self.say_over(screen_words.NOT_RECORDED, "answer")
        elif self._confirmed:
            self._typing = Typing(what=what)
            self._say_typing()

    def _say_typing(self) -> None:
        if self._typing is not None:
            unit = self.settings.temperature_unit
            self._note = self._typing.shown(unit)
        self.show()

    async def on_event(self, event: Event) -> None:
        """While a number is asked for, keys go to it and nowhere else."""
        if isinstance(event, Key):
            self._cover.key(covered=self._covered)
            self._leaving.key(leaves=event.key in ("q", "Q"))
        if self._typing is not None and isinstance(event, Key):
            self._type(event)
            return
        await super().on_event(event)

    def _type(self, event: Key) -> None:
        typing = self._typing
        if typing is None:
            return
        if event.key in ("escape", "ctrl+c"):
            self._typing, self._note = None, ""
            self.show()
        elif event.key == "enter":
            self._typed(typing)
        else:
            self._typing = typing.pressed(event.key, event.character)
            self._say_typing()

    def _typed(self, typing: Typing) -> None:
        """Take what was typed, or say what is wrong with it."""
        if typing.what == "note":
            self._typing, self._note = None, ""
            self._notebook.note(typing.text)
            self.show()
            return
        status = self._snapshot.thermometer_status if self._snapshot else None
        event = typing.read(self._sheet, status, self.settings.temperature_unit)
        self._typing = typing.after(event)
        self._note = ""
        if not isinstance(event, Refused):
            self._tell(event)
        elif self._typing is not None:
            shown = self._typing.shown(self.settings.temperature_unit)
            self._note = f"{event.words} {shown}"
        self.show()
