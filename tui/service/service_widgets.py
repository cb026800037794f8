"""The drawn parts of the service screen: its head, its list of steps, its page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.service.step_names import step_name
from bridge.values.conditions import Verdict
from tui.service.layout import Laid, lay_out, top_for
from tui.service.pages.page_model import FIGURES, Item
from tui.widgets.painted import BoardPart, Painted, Row, cut_row, spread_row
from tui.words.result_words import Came
from tui.words.service import page_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.geometry import Size

    from bridge.values.service_sheet import StepKind
    from tui.live.footer import Hints
    from tui.live.screen_state import ScreenState
    from tui.service.pages.page_model import Row as PageRow


class ServiceHead(BoardPart):
    """The gate in two lines: it stays in sight while the steps are worked through."""

    title = ""
    no_car = False

    def say(self, title: str, *, no_car: bool) -> None:
        """Take what stands beside the gate, and whether there is a car at all."""
        if (title, no_car) != (self.title, self.no_car):
            self.title, self.no_car = title, no_car
            self.refresh()

    def part(self, state: ScreenState) -> object:
        """Return what of the state is drawn."""
        said = (state.headline, state.more, state.do_now, state.standing[:1])
        return (state.verdict, state.result, state.number, state.spread, said)

    def paint_state(self, state: ScreenState, size: Size) -> list[Row]:
        """Draw verdict and temperature, then the first reason."""
        came = state.result.came if state.result else None
        good = state.verdict is Verdict.GO or came is Came.GOOD
        sign = self.glyphs.met if good else self.glyphs.not_met
        word = f"LEVEL {came.value}" if came else state.verdict.value
        left: Row = [(f" {sign} {word}  ", "strong")]
        if self.no_car:
            left.append((page_words.NO_CAR, ""))
        else:
            left.append((f"{state.number} {state.unit} {state.spread}", "strong"))
        more: Row = [(f"+{state.more} more ", "dim")] if state.more else []
        reason: Row = [] if self.no_car else [(f" {state.headline}", "")]
        if state.do_now:  # the plug is out: whoever ticks rows here must know it
            left[0] = (
                f" {self.glyphs.high} PLUG OUT, {state.verdict.value}  ",
                "strong",
            )
            reason = [(f" {state.do_now}", "strong")]
            more = [(f"{state.standing[0]} ", "strong")] if state.standing else []
        return [
            spread_row(left, [(f"{self.title} ", "dim")], size.width),
            spread_row(reason, more, size.width),
        ]


class StepList(Painted):
    """The steps in the sheet's order, with what is done and where one is."""

    _order: Sequence[StepKind] = ()
    _ticked: frozenset[StepKind] = frozenset()
    _here: StepKind | None = None

    def say(
        self, order: Sequence[StepKind], ticked: frozenset[StepKind], here: StepKind
    ) -> None:
        """Take the steps, those that are ticked, and the step on the page."""
        if (order, ticked, here) != (self._order, self._ticked, self._here):
            self._order, self._ticked, self._here = order, ticked, here
            self.refresh()

    def paint(self, size: Size) -> list[Row]:
        """Draw one row for each step, the present one in view."""
        rows = [self._row(step, size.width) for step in self._order]
        if self._here not in self._order or len(rows) <= size.height:
            return rows
        here = self._order.index(self._here)
        top = min(max(0, here - size.height // 2), len(rows) - size.height)
        return rows[top:]

    def _row(self, step: StepKind, width: int) -> Row:
        done = step in self._ticked
        here = step is self._here
        hand = self.glyphs.onward if here else " "
        sign = self.glyphs.met if done else self.glyphs.track
        look = "strong" if here else ("good" if done else "")
        name = step_name(step)
        return cut_row(
            [
                (f"{hand} ", "strong"),
                (f"{sign} ", "good" if done else "dim"),
                (name, look),
            ],
            width,
        )


class StepPage(Painted):
    """The page of one step: lines to read, items to act on, one of them pointed at."""

    _rows: tuple[PageRow, ...] = ()
    cursor = 0
    _top = 0

    def say(self, rows: tuple[PageRow, ...]) -> None:
        """Take the page's rows; the cursor stays where it can."""
        if rows == self._rows:
            return
        self._rows = rows
        self.cursor = max(0, min(self.cursor, len(self.items) - 1))
        self.refresh()

    @property
    def items(self) -> list[Item]:
        """The items on the page."""
        return [row for row in self._rows if isinstance(row, Item)]

    @property
    def item(self) -> Item | None:
        """The item the cursor is on."""
        return self.items[self.cursor] if self.items else None

    @property
    def keys(self) -> Hints:
        """What the row the cursor is on heeds, and what that does."""
        item = self.item
        if item is None:
            return ()
        if not self.in_sight:
            return (("Enter", "show it"),)
        if item.asks is not None:
            return (("0-9" if item.asks in FIGURES else "Enter", "type it"),)
        if item.toggles is None and not item.all_of:
            return (("Enter", "do it"),)
        return (("Enter", "untick" if item.done else "tick"),)

    def turn_to(self, cursor: int) -> None:
        """Show another page from its top, the cursor on this item."""
        self.cursor, self._top = cursor, 0
        self.refresh()

    def point_at_end(self) -> None:
        """Put the cursor on the row that ends the step, else on the last one."""
        ends = [n for n, item in enumerate(self.items) if item.finishes]
        self.cursor = ends[0] if ends else max(0, len(self.items) - 1)
        self.keep_in_sight()

    @property
    def end_in_sight(self) -> bool:
        """Whether the row that ends the step can be seen."""
        ends = [n for n, item in enumerate(self.items) if item.finishes]
        return bool(ends) and self._in_sight(ends[0])

    def go_to(self, cursor: int) -> None:
        """Put the cursor on this item, in sight."""
        self.cursor = cursor
        self.keep_in_sight()

    def move(self, by: int) -> None:
        """Move the cursor, or scroll where the next item is not in sight yet."""
        wanted = max(0, min(self.cursor + by, len(self.items) - 1))
        if self.in_sight and self._in_sight(wanted) and wanted != self.cursor:
            self.cursor = wanted
        else:
            most = max(0, len(self._laid()) - self._room())
            self._top = max(0, min(most, self._top + by))
            if self._in_sight(wanted) and not self.in_sight:
                self.cursor = wanted
        self.refresh()

    @property
    def in_sight(self) -> bool:
        """Whether the item the cursor is on can be seen."""
        return self._in_sight(self.cursor)

    def keep_in_sight(self) -> None:
        """Scroll so that the cursor's item is in view."""
        self._top = top_for(self._laid(), self.cursor, self._top, self._room())
        self.refresh()

    def _in_sight(self, item: int) -> bool:
        mine = [n for n, row in enumerate(self._laid()) if row.item == item]
        return bool(mine) and self._top <= mine[0] < self._top + self._room()

    def _room(self) -> int:
        """Return how many rows show the page; the last one may say there is more."""
        height = max(2, self.size.height)
        return height if len(self._laid()) <= height else height - 1

    def _laid(self) -> list[Laid]:
        return lay_out(self._rows, self.size.width, self.cursor, self.glyphs)

    def paint(self, size: Size) -> list[Row]:  # noqa: ARG002 - the widget knows it
        """Draw the part of the page that is in view, and whether there is more."""
        laid = self._laid()
        room = self._room()
        self._top = max(0, min(self._top, len(laid) - room))
        shown = [row.cells for row in laid[self._top : self._top + room]]
        if room < len(laid):
            left = len(laid) - room - self._top
            where = f"{self.glyphs.ellipsis} {left} rows more" if left else "the end"
            shown.append([(f"  {where}", "dim")])
        return shown
