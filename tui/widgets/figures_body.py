"""The figures below the verdict: what is read, what is expected, the conditions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import Horizontal, Vertical

from tui.widgets.gauges import Gauges
from tui.widgets.glyphs import RICH
from tui.widgets.lines import CarValues, Checklist, ResultText
from tui.widgets.painted import BoardPart
from tui.widgets.timeline import Timeline
from tui.widgets.trend import TrendPlot

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from tui.live.screen_state import ScreenState
    from tui.widgets.glyphs import Glyphs

MOST_WITH_WHY = 7
"""Conditions that are shown with the figure they rest on below, given the room."""


class FiguresBody(Horizontal):
    """Lays the figures out side by side; owns no state."""

    def __init__(self, glyphs: Glyphs = RICH) -> None:
        super().__init__(id="body")
        self._glyphs = glyphs

    @property
    def trend(self) -> TrendPlot:
        """The plot, which is shown more than a state."""
        return self.query_one(TrendPlot)

    def compose(self) -> ComposeResult:
        """Lay out both sides from top to bottom."""
        signs = self._glyphs
        with Vertical(id="left"):
            yield ResultText(signs, id="result")
            yield Gauges(signs, id="gauges")
            yield Timeline(signs, id="timeline")
            yield TrendPlot(signs, id="trend")
        with Vertical(id="right"):
            yield Checklist(signs, id="checklist")
            yield CarValues(signs, id="values")

    def show(self, state: ScreenState, *, roomy: bool) -> None:
        """Hand the state to every part; ``roomy``: the list may have two lines each."""
        for part in self.query(BoardPart):
            part.show(state)
        self._make_room(len(state.conditions), roomy=roomy)

    def _make_room(self, conditions: int, *, roomy: bool) -> None:
        """Let the list of conditions have its rows; the car's values take the rest."""
        rows = 2 * conditions if roomy and conditions <= MOST_WITH_WHY else conditions
        checklist = self.query_one(Checklist)
        if checklist.styles.height is None or checklist.styles.height.value != rows:
            checklist.styles.height = rows
