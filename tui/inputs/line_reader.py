"""One typed line, one event: the words of a job, read by the parser of the screen.

A line that is wrong is answered with one sentence and changes nothing.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from bridge.service.log import applying
from bridge.units import Units
from bridge.values.events import Mark, Marked, Measured
from bridge.values.service_events import ServiceEvent
from bridge.values.sheet import NAMED, Confirmation, LevelMethod
from tui.inputs import service_lines
from tui.inputs.answers import (
    LineState,
    Refused,
    read_added,
    read_air,
    read_confirmed,
    read_stick,
    read_thermometer,
    read_tilt,
    short,
)
from tui.inputs.offers import by_word, offers
from tui.words.service import line_words

if TYPE_CHECKING:
    from collections.abc import Callable

    from bridge.level.step.step_values import Step
    from bridge.snapshot import Snapshot
    from bridge.values.events import PersonEvent
    from bridge.values.sheet import Sheet

MARK_WORDS: dict[str, Mark] = {
    "opened": Mark.OPENED,
    "drip": Mark.DRIP,
    "streams": Mark.STREAMING,
    "nothing": Mark.NOTHING_CAME,
    "closed": Mark.CLOSED,
    "undo": Mark.UNDO,
    "again": Mark.RESTART,
    "next": Mark.NEXT,
}
"""Words that stand alone on their line."""
FIGURE_WORDS = ("confirm", "withdraw", "added", "tilt", "read", "stick", "air")


class LineReader:
    """Reads the lines of one job.

    It remembers what it asked back last, and whether a mark or something of the
    service was told last, which `undo` takes back.
    """

    def __init__(
        self,
        sheet: Sheet,
        *,
        accuracy_c: float | None = None,
        who: str = "",
        units: Units = Units.METRIC,
        today: Callable[[], date] = date.today,
    ) -> None:
        """``accuracy_c``: of the thermometer in use; None: as usual for infrared.

        ``who``: types them, with these ``units``, ``today``.
        """
        self._units, self._today = units, today
        self._sheet, self._accuracy_c, self._who = sheet, accuracy_c, who
        self._asked_back = ""
        self._order: list[type] = []

    def read(
        self, line: str, snapshot: Snapshot | None = None
    ) -> PersonEvent | Refused:
        """Return what a line tells where the job stands, or why it tells nothing.

        ``snapshot``: how the job stands; None: nothing is known of it, and marks are
        not held against the phase.
        """
        event = self._event(line, snapshot)
        again = isinstance(event, Refused) and event.again
        self._asked_back = _after_word(line) if again else ""
        if isinstance(event, ServiceEvent) and self._who:
            event = replace(event, who=self._who)
        if not isinstance(event, Refused):
            self._remember(event)
        return event

    def _remember(self, event: PersonEvent) -> None:
        if isinstance(event, Marked) and event.mark is not Mark.UNDO:
            self._order.append(Marked)
        elif isinstance(event, ServiceEvent) and event.back is None:
            self._order.append(ServiceEvent)

    def _event(self, line: str, snapshot: Snapshot | None) -> PersonEvent | Refused:
        word = line.split(maxsplit=1)[0].casefold() if line.split() else ""
        rest = _after_word(line)
        step = snapshot.step if snapshot else None
        if word in MARK_WORDS:
            if rest:
                return Refused(words=line_words.ALONE.format(word))
            if word == "undo":
                return self._undo(step, snapshot)
            return _mark(word, step)
        if word in FIGURE_WORDS:
            return self._figure(word, rest, step)
        of_service = service_lines.WORDS.get(word)
        if of_service is not None:
            return of_service(rest, self._state(snapshot))
        known = ", ".join((*MARK_WORDS, *FIGURE_WORDS, *service_lines.WORDS))
        return Refused(words=line_words.NO_WORD.format(short(line), known))

    def _figure(self, word: str, rest: str, step: Step | None) -> PersonEvent | Refused:
        if word == "stick":
            return self._stick(rest, step)
        if word == "air":
            return read_air(rest, self._sheet)
        if word == "confirm":
            return _confirmation(rest, Mark.CONFIRMED)
        if word == "withdraw":
            return _confirmation(rest, Mark.WITHDRAWN)
        if word == "added":
            return read_added(rest, sheet=self._sheet, before=self._asked_back)
        return read_tilt(rest) if word == "tilt" else self._read(rest)

    def _stick(self, text: str, step: Step | None) -> PersonEvent | Refused:
        if self._sheet.method is not LevelMethod.STICK:
            return Refused(words=line_words.NO_STICK)
        if step is not None and by_word(step, "stick") is None:
            return Refused(words=line_words.STICK_WAITS)
        return read_stick(text, self._sheet, before=self._asked_back)

    def _read(self, text: str) -> Measured | Refused:
        typed = read_thermometer(text, None)
        if isinstance(typed, Measured) and self._accuracy_c is not None:
            return replace(typed, accuracy_c=self._accuracy_c)
        return typed

    def _state(self, snapshot: Snapshot | None) -> LineState:
        log = (snapshot.log if snapshot else None) or ()
        return LineState(
            sheet=self._sheet,
            service=applying(self._sheet.service, log),
            log=log,
            told=(snapshot.told if snapshot else None) or (),
            today=self._today(),
            units=self._units,
            codes=snapshot.codes if snapshot else None,
            car=snapshot.car_facts if snapshot else None,
            before=self._asked_back,
        )

    def _undo(
        self, step: Step | None, snapshot: Snapshot | None
    ) -> PersonEvent | Refused:
        """Take back what was told last, a mark or something of the service."""
        back = service_lines.undo(self._state(snapshot))
        marked = snapshot is None or (step is not None and bool(step.past))
        if back is not None and (not marked or self._service_was_last(step, snapshot)):
            if self._order and self._order[-1] is ServiceEvent:
                self._order.pop()
            return back
        if not marked:
            return Refused(words="Nothing to undo.")
        if self._order and self._order[-1] is Marked:
            self._order.pop()
        return Marked(mark=Mark.UNDO)

    def _service_was_last(self, step: Step | None, snapshot: Snapshot | None) -> bool:
        if self._order:
            return self._order[-1] is ServiceEvent
        newest_s = service_lines.newest_s((snapshot.told if snapshot else None) or ())
        if newest_s is None or step is None or not step.past:
            return newest_s is not None
        return newest_s > step.past[-1].now_at_s


def _mark(word: str, step: Step | None) -> Marked | Refused:
    """Return a mark, if it means something in the phase."""
    if step is not None and by_word(step, word) is None:
        now = ", ".join(o.word for o in offers(step) if o.word in MARK_WORDS)
        return Refused(
            words=line_words.NOT_NOW.format(
                word, step.phase.value, now or line_words.NO_WORDS
            )
        )
    return Marked(mark=MARK_WORDS[word])


def _after_word(line: str) -> str:
    parts = line.split(maxsplit=1)
    return parts[1].strip() if len(parts) > 1 else ""


def _confirmation(text: str, mark: Mark) -> Marked | Refused:
    what, _, names = text.partition(" ")
    named = mark is Mark.CONFIRMED and what in tuple(NAMED)
    if what not in tuple(Confirmation) or (names.strip() and not named):
        one_of = ", ".join(Confirmation)
        return Refused(words=line_words.NO_CONFIRMATION.format(short(text), one_of))
    if mark is Mark.CONFIRMED:
        return read_confirmed(Confirmation(what), names)
    return Marked(mark=mark, confirms=Confirmation(what))
