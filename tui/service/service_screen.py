"""The service screen: the gate above, the steps on the left, one step's page.

Nothing is signed unseen: a key acts on what is in sight.
"""

from __future__ import annotations

import math
from time import monotonic
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.message import Message
from textual.widgets import Input

from bridge.service.log import is_done
from bridge.service.rounds import next_open
from bridge.service.step_names import step_name
from bridge.values.service_events import ServiceEvent, ServiceKind
from tui.live.cover import QUIET_S
from tui.live.footer import ANSWERING, in_service
from tui.live.screens import LEAST_HEIGHT, LEAST_WIDTH
from tui.service.answering import AnsweringScreen
from tui.service.pages import papers_page
from tui.service.pages.finishing import (
    begins_at,
    end_of,
    ends_by_key,
    needs_no_more,
    onward_from,
    steps_ticked,
)
from tui.service.pages.page_model import Asked, ItemAction, PageView
from tui.service.pages.step_page import cautions, rows
from tui.service.service_widgets import ServiceHead, StepList, StepPage
from tui.widgets.glyphs import RICH
from tui.widgets.lines import Keys, TooSmall
from tui.widgets.painted import LOOK_CLASSES
from tui.widgets.sayings import SaidLines
from tui.words import figures
from tui.words.service import page_words
from tui.words.service_words import undone, what_is_next

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual import events
    from textual.app import ComposeResult

    from bridge.snapshot import Snapshot
    from bridge.units import Units
    from bridge.values.service_sheet import StepKind
    from tui.live.footer import Hints
    from tui.live.notebook import Act
    from tui.live.screen_state import ScreenState
    from tui.service.log_editor import LogEditor
    from tui.service.pages.page_model import Item, Row
    from tui.widgets.glyphs import Glyphs
    from tui.widgets.sayings import Sayings


class ServiceScreen(AnsweringScreen):
    """Works through the service; what it does beyond the log it asks the app for."""

    class ActionAsked(Message):
        """An item was chosen that the app must see to."""

        def __init__(self, action: ItemAction, entry: ServiceEvent | None) -> None:
            super().__init__()
            self.action = action
            self.entry = entry

    class Opened(Message):
        """Every part of the screen is in place."""

    class Finished(Message):
        """A step was marked done."""

        def __init__(self, step: StepKind) -> None:
            super().__init__()
            self.step = step

    class CautionsRead(Message):
        """A step's cautions were shown on its page, or confirmed with its end."""

        def __init__(self, act: Act, lines: list[str]) -> None:
            super().__init__()
            self.act: Act = act
            self.lines = lines

    AUTO_FOCUS = ""
    COMPONENT_CLASSES: ClassVar[set[str]] = LOOK_CLASSES
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up,k", "move(-1)", show=False),
        Binding("down", "move(1)", show=False),
        Binding("left,pageup", "turn(-1)", show=False),
        Binding("right,pagedown", "turn(1)", show=False),
        Binding("enter,space", "act", show=False),
        Binding("f,F,end", "finish", show=False),
        Binding("n,N", "note", show=False),
        Binding("z,Z", "undo", show=False),
        Binding("p,P", "papers", show=False),
        Binding("escape,j,J,tab", "back", show=False),
    ]

    def __init__(
        self,
        editor: LogEditor,
        *,
        units: Callable[[], Units],
        simulated: bool = False,
        at: StepKind | None = None,
        glyphs: Glyphs = RICH,
        clock: Callable[[], float] = monotonic,
    ) -> None:
        super().__init__(classes="-ascii" if glyphs.ascii_only else "")
        self.editor = editor
        self._units, self._glyphs, self._simulated = units, glyphs, simulated
        self._at = at
        self.step = editor.service.order[0]
        self._snapshot: Snapshot | None = None
        self._no_car = False
        self._note = ""
        self._sayings: Sayings | None = None
        self._begins = False
        """Whether it has just opened: its first step may be done already, untold."""
        self._papers = False
        """Whether the papers are shown, in place of a step's page."""
        self._clock = clock
        self._opened_s = -math.inf
        """When Enter turned the page last."""
        self._asked_sure: Item | None = None
        self._shown: set[StepKind] = set()
        """The steps whose cautions were in sight."""

    def compose(self) -> ComposeResult:
        """Lay out the parts."""
        signs = self._glyphs
        yield TooSmall(signs, id="small")
        yield ServiceHead(signs, id="service-head")
        with Horizontal(id="service-body"):
            yield StepList(signs, id="steps")
            yield StepPage(signs, id="step-page")
        yield SaidLines(signs)
        yield Input(id="answer", compact=True, select_on_focus=False)
        yield Keys(signs, id="keys")

    def on_mount(self) -> None:
        """Begin where it was left, else at the first step that is open."""
        self.query_one(Input).display = False
        self.go_to(self._at or self._first_open())
        self._begins = self._at is None
        self.post_message(self.Opened())

    def _first_open(self) -> StepKind:
        order = self.editor.service.order
        found = next_open(self.editor.sheet, self.editor.log, order[-1])
        return found or order[-1]

    async def on_key(self, event: events.Key) -> None:
        """From the first key on, the person alone turns the pages.

        A digit on a row that asks for a figure begins the answer.
        """
        self._begins = False
        page = self.query_one(StepPage)
        seen = page.in_sight and not self.has_class("-small")
        await self.take_key(page.item if seen else None, event)

    def on_resize(self, event: events.Resize) -> None:
        """Say so where the screen is too small to be worked on."""
        width, height = event.size
        self.set_class(width < LEAST_WIDTH or height < LEAST_HEIGHT, "-small")

    # Showing

    def show(
        self,
        state: ScreenState,
        snapshot: Snapshot | None,
        sayings: Sayings,
        *,
        no_car: bool,
    ) -> None:
        """Take what the live side says now; ``snapshot`` only while it is live."""
        self._snapshot, self._no_car, self._sayings = snapshot, no_car, sayings
        if self._begins and is_done(self.editor.log, self.step):
            self._begins = False  # what was read just before is told only now
            self.go_to(self._first_open())
        self.query_one(ServiceHead).show(state)
        self.query_one(TooSmall).show(state)
        self._fill()

    @property
    def view(self) -> PageView:
        """Everything the page is computed from."""
        return PageView(
            sheet=self.editor.sheet,
            service=self.editor.service,
            log=self.editor.log,
            step=self.step,
            units=self._units(),
            today=self.editor.today,
            snapshot=self._snapshot,
            simulated=self._simulated,
            who=self.editor.who,
        )

    def _fill(self) -> None:
        service = self.editor.service
        ticked = steps_ticked(self.editor.sheet, service, self.editor.log)
        done = len(ticked)
        title = f"{done} of {len(service.order)} steps done"
        self.query_one(ServiceHead).say(title, no_car=self._no_car)
        self.query_one(StepList).say(service.order, ticked, self.step)
        self.query_one(StepPage).say(self._rows())
        self.query_one(Keys).say(self._keys())
        self.query_one(SaidLines).say(self._note or self._prompt, self._sayings)
        self._note_cautions_shown()

    def _note_cautions_shown(self) -> None:
        width, height = self.size
        small = width < LEAST_WIDTH or height < LEAST_HEIGHT
        if not (self._papers or small or self.step in self._shown):
            self._shown.add(self.step)
            self._tell_cautions("shown")

    def _tell_cautions(self, act: Act) -> None:
        if lines := cautions(self.view):
            self.post_message(self.CautionsRead(act, lines))

    def _keys(self) -> Hints:
        if self._asking is not None:
            return ANSWERING
        return in_service(
            self.query_one(StepPage).keys,
            ends=end_of(self._rows()) is not None,
            undo=self.editor.newest is not None,
            papers=self._papers,
            car=not self._no_car,
        )

    def _rows(self) -> tuple[Row, ...]:
        return papers_page.rows(self.view) if self._papers else rows(self.view)

    def say(self, note: str) -> None:
        """Put one sentence above the keys; '' takes it away."""
        self._note = figures.clean(note)
        self._fill()

    def go_to(self, step: StepKind) -> None:
        """Turn to a step's page, the cursor on the first thing open there."""
        self.step = step
        self._papers = False
        self._turn()

    def action_papers(self) -> None:
        """Show the papers, or the step again."""
        self._papers = not self._papers
        self._turn()

    def _turn(self) -> None:
        self._note = ""
        page = self.query_one(StepPage)
        page.say(self._rows())
        page.turn_to(begins_at(page.items))
        self._fill()

    # Keys

    def action_move(self, by: int) -> None:
        """Move the cursor up or down."""
        self._asked_sure = None
        self.query_one(StepPage).move(by)
        self._fill()

    def action_turn(self, by: int) -> None:
        """Turn to the step before or after."""
        order = self.editor.service.order
        here = order.index(self.step) if self.step in order else 0
        self._opened_s = -math.inf
        self.go_to(order[max(0, min(here + by, len(order) - 1))])

    def action_finish(self) -> None:
        """End the step where that is in sight and nothing is open, else go there."""
        page, rows = self.query_one(StepPage), self._rows()
        if not self._papers and ends_by_key(rows) and page.end_in_sight:
            if not self._just_opened() and (end := end_of(rows)) is not None:
                self._do(end)
            return
        page.point_at_end()
        self._fill()

    def action_back(self) -> None:
        """Go back to the live screen, or drop the question on the answer line."""
        if self._asking is not None:
            self._ask(None)
        elif self._papers:
            self.action_papers()
        else:
            self.post_message(self.ActionAsked(ItemAction.TO_LIVE, None))

    def action_undo(self) -> None:
        """Take back what was told last."""
        newest = self.editor.newest
        taken = self.editor.undo()
        nothing = "Nothing to undo." if taken is None else page_words.NOT_TAKEN
        self.say(f"Undone: {undone(newest)}." if taken and newest else nothing)

    def action_note(self) -> None:
        """Ask for a note on this step."""
        if self._papers:
            self.action_papers()
        page = self.query_one(StepPage)
        note = next((i for i in page.items if i.asks is Asked.NOTE), None)
        self._ask(note)

    def action_act(self) -> None:
        """Do what the item under the cursor is for."""
        page = self.query_one(StepPage)
        item = page.item
        if item is None or self.has_class("-small"):
            return
        if not page.in_sight:  # nothing is done unseen
            page.keep_in_sight()
            return
        if not self._just_opened() and self._sure(item):
            self._do(item)

    def _do(self, item: Item) -> None:
        if item.asks is not None:
            self._ask(item)
        elif item.all_of:
            taken = all(self.editor.toggle(entry) for entry in item.all_of)
            self._toggled(item, taken=taken)
        elif item.action is not None:
            self.post_message(self.ActionAsked(item.action, item.entry))
        elif item.toggles is not None:
            self._toggled(item, taken=self.editor.toggle(item.toggles))

    def _toggled(self, item: Item, *, taken: bool) -> None:
        if not taken:
            self.say(page_words.NOT_TAKEN)
            return
        if not item.finishes:
            self.go_onward()
            return
        self._finished()

    def _just_opened(self) -> bool:
        """Say whether Enter turned the page a moment ago: then another is a slip."""
        return self._clock() - self._opened_s < QUIET_S

    def _sure(self, item: Item) -> bool:
        """Ask before a tick is taken back; the second Enter does it."""
        event = item.toggles
        if not item.done or event is None or event.kind is ServiceKind.VARIANT:
            return True
        sure, self._asked_sure = self._asked_sure == item, item
        if not sure:
            self.say(page_words.UNTICK)
        else:
            self._asked_sure = None
        return sure

    def go_onward(self) -> None:
        """Go to the next row; from the last one that was open, to the next step."""
        self.say("")
        rows = self._rows()
        end = end_of(rows)
        page = self.query_one(StepPage)
        if self._papers or not needs_no_more(rows):
            page.say(rows)
            page.go_to(onward_from(page.items, page.cursor))
            self._fill()
        elif end is None or end.toggles is None or self.editor.toggle(end.toggles):
            self._finished()
        else:
            self.say(page_words.NOT_TAKEN)

    def _finished(self) -> None:
        self._tell_cautions("confirmed")
        self.post_message(self.Finished(self.step))
        onward = next_open(self.editor.sheet, self.editor.log, self.step)
        if onward is not None:
            done = step_name(self.step)
            self.go_to(onward)
            self._opened_s = self._clock()
            onward_said = what_is_next(self.editor.sheet, self.editor.log, onward)
            self.say(f"Done: {done}. {onward_said}")
        else:
            self.say(page_words.EVERY_STEP_DONE)
            self.query_one(StepPage).point_at_end()
