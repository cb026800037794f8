"""Paces the selector exercise: where the lever belongs, large, with a bell."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.screen import Screen

from bridge.service.exercise import (
    CAUTION,
    OVER,
    Cue,
    ExercisePace,
    Exercising,
    Stage,
    begin,
    broke,
    confirmed,
    exercise_text,
    look,
)
from tui.service.letters import big_position
from tui.widgets.glyphs import RICH
from tui.widgets.lines import Keys, wrap
from tui.widgets.painted import LOOK_CLASSES, Painted, Row
from tui.words.service import page_words

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult
    from textual.geometry import Size

    from tui.widgets.glyphs import Glyphs

TICK_S = 0.05
STROKES_S: dict[Cue, tuple[float, ...]] = {
    Cue.MOVE: (0.0,),
    Cue.HOLD_DONE: (),
    Cue.FINISHED: (0.0, 0.15, 0.3, 0.45),
    Cue.BROKEN: (0.0, 0.5, 1.0, 1.5),
}
"""When the bell strikes, in seconds from the cue: once for each move."""


class Pacer(Painted):
    """Draws one moment of the exercise."""

    exercising: Exercising | None = None

    def say(self, exercising: Exercising) -> None:
        """Take the exercise as it is now."""
        self.exercising = exercising
        self.refresh()

    def paint(self, size: Size) -> list[Row]:
        """Draw what to do, the position, the seconds left, and how far it is."""
        at = self.exercising
        if at is None:
            return []
        look_ = "bad" if at.stage is Stage.BROKEN else "strong"
        words = wrap(exercise_text(at), size.width)
        rows: list[Row] = [[(line, look_)] for line in words]
        rows.append([])
        letters = big_position(
            at.position or "", size.width - 4, size.height - 10, self.glyphs
        )
        rows += [[("    " + line, "strong")] for line in letters]
        rows += [[], [(_left(at), "strong")], [(_far(at), "")], []]
        return rows + [[(line, "doubt")] for line in wrap(CAUTION, size.width)]


def _left(at: Exercising) -> str:
    if at.left_s is None:
        return "" if at.stage in OVER or at.stage is Stage.TO_CONFIRM else "waiting"
    return f"{at.left_s:.0f} s"


def _far(at: Exercising) -> str:
    done, all_ = len(at.held_s), len(at.pace.positions)
    checked = page_words.READ_FROM_CAR if at.pace.readable else "by the clock"
    again = f", {at.broken_holds} begun again" if at.broken_holds else ""
    return f"{done} of {all_} positions held, {checked}{again}"


def how_it_went(at: Exercising) -> str:
    """Return how it went, for the record: seconds in each position, and how known."""
    holds = ", ".join(
        f"{place} {held:.1f} s"
        for place, held in zip(at.pace.positions, at.held_s, strict=True)
    )
    return f"{holds} ({page_words.READ_FROM_CAR if at.pace.readable else 'confirmed'})"


class PacingScreen(Screen[str | None]):
    """The exercise from its first move to its end; gives what to record, or None."""

    AUTO_FOCUS = ""
    COMPONENT_CLASSES: ClassVar[set[str]] = LOOK_CLASSES
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter,space", "onward", show=False),
        Binding("escape", "leave", show=False),
    ]

    def __init__(
        self,
        pace: ExercisePace,
        *,
        selector: Callable[[], str | None],
        clock: Callable[[], float],
        speed: Callable[[], float],
        ring: Callable[[tuple[float, ...]], None],
        lever: Callable[[str], None] | None = None,
        glyphs: Glyphs = RICH,
    ) -> None:
        """``lever`` moves the simulated car's lever; None on a real one."""
        super().__init__(classes="-ascii" if glyphs.ascii_only else "")
        self._selector, self._speed, self._bell = selector, speed, ring
        self._lever, self._glyphs, self._pace = lever, glyphs, pace
        self._clock, self._last_s, self._now_s = clock, clock(), 0.0
        self.exercising = begin(pace, 0.0)

    def compose(self) -> ComposeResult:
        """Lay out the parts."""
        yield Pacer(self._glyphs, id="pacer")
        yield Keys(self._glyphs, id="keys")

    def on_mount(self) -> None:
        """Begin with the first move."""
        self._heed(self.exercising)
        self.set_interval(TICK_S, self._tick)

    def _tick(self) -> None:
        now_s = self._clock()
        self._now_s += (now_s - self._last_s) * self._speed()
        self._last_s = now_s
        self._heed(look(self.exercising, self._now_s, self._selector()))

    def _heed(self, at: Exercising) -> None:
        """Show the exercise, sound its cues, move the simulated lever."""
        self.exercising = at
        for cue in at.cues:
            self._bell(STROKES_S[cue])
        if self._lever is not None and at.position and Cue.MOVE in at.cues:
            self._lever(at.position)
        self.query_one(Pacer).say(at)
        self.query_one(Keys).say(_KEYS[at.stage])

    def action_onward(self) -> None:
        """Confirm the exercise, begin it again, or take it as done."""
        at = self.exercising
        if at.stage is Stage.TO_CONFIRM:
            self._heed(confirmed(at, self._now_s))
        elif at.stage is Stage.BROKEN:
            self._heed(begin(self._pace, self._now_s))
        elif at.stage is Stage.FINISHED:
            self.dismiss(how_it_went(at))

    def action_leave(self) -> None:
        """Interrupt it; a second time, or when it is over, go back."""
        at = self.exercising
        if at.stage is Stage.FINISHED:
            self.dismiss(how_it_went(at))
        elif at.stage is Stage.BROKEN:
            self.dismiss(None)
        else:
            self._heed(broke(at, self._now_s))


_LEAVE = ("Esc", "interrupt")
_KEYS: dict[Stage, tuple[tuple[str, str], ...]] = {
    Stage.MOVING: (_LEAVE,),
    Stage.HOLDING: (_LEAVE,),
    Stage.TO_CONFIRM: (("Enter", page_words.IT_WAS_DONE), _LEAVE),
    Stage.FINISHED: (("Enter", "on"),),
    Stage.BROKEN: (("Enter", "begin again"), ("Esc", "leave it")),
}
