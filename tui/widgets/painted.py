"""A widget drawn line by line from runs of text, each with a named look."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from textual.strip import Strip
from textual.widget import Widget

from bridge.values.conditions import Verdict
from tui.widgets.glyphs import RICH, to_ascii

if TYPE_CHECKING:
    from rich.style import Style
    from textual.geometry import Region, Size

    from tui.live.screen_state import ScreenState
    from tui.widgets.glyphs import Glyphs

Run = tuple[str, str]
"""A text and its look, a name of _LOOKS, or '' for the widget's own."""
Row = list[Run]

_LOOKS = ("strong", "dim", "key", "good", "bad", "doubt")
LOOK_CLASSES = {f"look-{look}" for look in _LOOKS}
"""The looks as component classes of the screen. They belong to it, not to each
widget: styling a set of them for every widget would double the time to the first
frame. What one widget alone wears belongs to that one."""


class Painted(Widget):
    """Base of the drawn widgets: a subclass says what its rows are.

    Foreign text is safe here: no markup is read, every row is cut or padded to
    the widget's width, and with ASCII glyphs every text is spelled in ASCII.
    """

    def __init__(self, glyphs: Glyphs = RICH, *, id: str | None = None) -> None:  # noqa: A002 - Textual's name
        self._painted: tuple[Size, list[Row]] | None = None
        self._worn: dict[str, Style] = {}
        super().__init__(id=id)
        self.glyphs = glyphs

    def paint(self, size: Size) -> list[Row]:
        """Return the rows to show in so many cells; what is too much is cut."""
        raise NotImplementedError

    def render_line(self, y: int) -> Strip:
        """Draw one line (Textual's line API)."""
        if self._painted is None or self._painted[0] != self.size:
            self._painted = (self.size, self.paint(self.size))
        rows = self._painted[1]
        return self._strip(rows[y] if y < len(rows) else [], self.size.width)

    def refresh(
        self,
        *regions: Region,
        repaint: bool = True,
        layout: bool = False,
        recompose: bool = False,
    ) -> Self:
        """Forget the rows painted so far, then refresh as any widget does."""
        self._painted = None
        self._worn.clear()
        return super().refresh(
            *regions, repaint=repaint, layout=layout, recompose=recompose
        )

    def _strip(self, row: Row, width: int) -> Strip:
        segments: list[Segment] = []
        left = width
        for text, look in row:
            shown = to_ascii(text) if self.glyphs.ascii_only else text
            size = cell_len(shown)
            if size > left:
                shown, size = set_cell_size(shown, left), left
            segments.append(Segment(shown, self._style(look)))
            left -= size
        segments.append(Segment(" " * left, self._style("")))
        return Strip(segments, width)

    def notify_style_update(self) -> None:
        """Forget how the looks are styled (Textual calls it when the CSS changes)."""
        self._worn.clear()
        super().notify_style_update()

    def _style(self, look: str) -> Style:
        """Return a look's style, worked out once a painting: Textual asks the whole
        ancestry for it, a fifth of the time that drawing takes.
        """
        if look not in self._worn:
            style = self.rich_style
            if look:
                over = f"look-{look}"
                whose = self if over in self.COMPONENT_CLASSES else self.screen
                style += whose.get_component_rich_style(over, partial=True)
            self._worn[look] = style
        return self._worn[look]


class BoardPart(Painted):
    """Draws one part of a ScreenState, and only when that part has changed."""

    _board: ScreenState | None = None

    def part(self, state: ScreenState) -> object:
        """Return what of the state this widget draws."""
        return state

    def show(self, state: ScreenState) -> None:
        """Take a new state."""
        if self._board is None or self.part(self._board) != self.part(state):
            self.refresh()
        self._board = state
        self.set_class(state.verdict is Verdict.GO, "-go")

    def paint(self, size: Size) -> list[Row]:
        """Return nothing until there is a state."""
        return [] if self._board is None else self.paint_state(self._board, size)

    def paint_state(self, state: ScreenState, size: Size) -> list[Row]:
        """Return the rows that show this state."""
        raise NotImplementedError


def row_width(row: Row) -> int:
    """Return how many cells a row takes."""
    return sum(cell_len(text) for text, _ in row)


def spread_row(left: Row, right: Row, width: int) -> Row:
    """Put one row at the left edge and one at the right; the left one is cut."""
    room = width - row_width(right)
    if room <= 0:
        return cut_row(left, width)
    left = cut_row(left, room - 1)
    return [*left, (" " * (room - row_width(left)), ""), *right]


def cut_row(row: Row, width: int) -> Row:
    """Cut a row to a width, with an ellipsis where something went."""
    if row_width(row) <= width:
        return row
    kept: Row = []
    left = width - 1
    for text, look in row:
        size = cell_len(text)
        if size > left:
            kept.append((set_cell_size(text, max(left, 0)), look))
            break
        kept.append((text, look))
        left -= size
    return [*kept, ("…" if width > 0 else "", "")]


def first_that_fits(texts: tuple[str, ...], width: int) -> str:
    """Return the first text no wider than ``width``; the last one if none is."""
    for text in texts:
        if cell_len(text) <= width:
            return text
    return texts[-1] if texts else ""
