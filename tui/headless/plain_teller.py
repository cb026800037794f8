"""The screen's news as sentences, one for each change that matters. Pure.

What the screen would show is asked of the screen's own state, so both say the same
and both fail safe. A screen reader reads line by line: what stands unchanged is not
said again, and what flickers is said once it has stood for a moment. Only the end of
GO never waits.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from bridge.service.missing import lacks_of
from bridge.values.conditions import ConditionName, ConditionState, Verdict
from tui.feeds.called_out import Caller
from tui.inputs.offers import offers
from tui.live.screen_state import Contact, ScreenInputs, screen_state
from tui.words import plain_words, service_words

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator

    from bridge.snapshot import Snapshot
    from bridge.values.sheet import Sheet
    from tui.live.screen_state import ScreenState
    from tui.words.figures import TemperatureUnit

HOLD_S = 2.0
"""News stands so long before it is said."""
EVERY_C = 5.0
"""The temperature is told again when it has gone on by so much."""
_HEADLINES = {
    ConditionName.LINK,
    ConditionName.READING,
    ConditionName.TEMPERATURE,
    ConditionName.STAYS,
}
"""Conditions the verdict's own sentence speaks of."""


@dataclass(slots=True)
class _Held:
    """Something that is told once it has stood for a moment."""

    said: Hashable = None
    next: Hashable = None
    since_s: float = 0.0

    def news(self, now: Hashable, t_s: float, *, at_once: bool = False) -> bool:
        """Say whether ``now`` is to be told."""
        if now != self.next:
            self.next, self.since_s = now, t_s
        due = now != self.said and (at_once or t_s - self.since_s >= HOLD_S)
        if due:
            self.said = now
        return due


class PlainTeller:
    """Turns one job's snapshots into sentences; it remembers what it has said."""

    def __init__(self, sheet: Sheet, unit: TemperatureUnit) -> None:
        self._sheet, self.unit = sheet, unit
        self.unread = True
        """Whether the cautions are still to be read; until then there is no GO."""
        self._caller = Caller()
        self._headline = _Held()
        self._verdict: Verdict | None = None
        self._outlook = _Held()
        self._said_c: float | None = None
        self._conditions: dict[ConditionName, _Held] = {}
        self._drips = self._entries = 0

    def take(self, snapshot: Snapshot) -> list[str]:
        """Return what is to be said of a new snapshot; mostly nothing."""
        state = self._board(snapshot)
        said = [
            *self._lead(snapshot, state),
            *self._called(snapshot),
            *self._figures(snapshot, state),
            *self._items(snapshot, state),
            *self._running(snapshot, state),
            *self._service(snapshot),
        ]
        return list(dict.fromkeys(said))

    def quiet(self) -> list[str]:
        """Return what is to be said when no news comes any more; once, no more."""
        if self._verdict is None and self._headline.said is None:
            return []
        self._verdict, self._headline = None, _Held()
        return [plain_words.headline(self._board(None, Contact.LOST), verdict=True)]

    def standing(self, snapshot: Snapshot | None) -> list[str]:
        """Return all that stands now: what an empty line asks for."""
        state = self._board(snapshot)
        lines = [plain_words.headline(state, verdict=True)]
        lines.append(plain_words.figures_line(state))
        lines += [
            plain_words.condition(line)
            for line in state.conditions
            if line.state is not ConditionState.MET
        ]
        lines += state.standing
        lines += [lack.text for lack in self._lacks(snapshot)[: plain_words.FEW]]
        return lines

    def keys(self, snapshot: Snapshot | None) -> list[str]:
        """Return what may be typed now."""
        step = snapshot.step if snapshot else None
        return [plain_words.offer(o) for o in offers(step)] + list(plain_words.ALWAYS)

    def _board(
        self, snapshot: Snapshot | None, contact: Contact = Contact.WAITING
    ) -> ScreenState:
        held = contact if snapshot is None else Contact.HELD
        return screen_state(
            ScreenInputs(
                sheet=self._sheet,
                unit=self.unit,
                contact=held,
                snapshot=snapshot,
                unread=self.unread,
            )
        )

    def _lead(self, snapshot: Snapshot, state: ScreenState) -> Iterator[str]:
        step, came = snapshot.step, state.result
        now = (
            state.verdict,
            state.hurry,
            snapshot.reasons[:1],
            step and (step.phase, step.instruction),
            came and came.line,
        )
        changed = state.verdict is not self._verdict
        rung = step is not None and step.rung_at_s == step.now_at_s
        if self._headline.news(now, snapshot.t_s, at_once=changed or rung):
            yield plain_words.headline(state, verdict=changed)
            self._verdict = state.verdict

    def _called(self, snapshot: Snapshot) -> Iterator[str]:
        call = self._caller.take(snapshot)
        if call is not None and call.bell is None:  # the headline tells the others
            yield call.text

    def _figures(self, snapshot: Snapshot, state: ScreenState) -> Iterator[str]:
        temp_c, passed = snapshot.temp_c, snapshot.passed is not None
        now = (temp_c is None, snapshot.outlook, passed, state.inside)
        news = self._outlook.news(now, snapshot.t_s)
        if temp_c is None:
            return
        before_c = self._said_c
        if news or (before_c is not None and abs(temp_c - before_c) >= EVERY_C):
            self._said_c = temp_c
            yield plain_words.figures_line(state)

    def _items(self, snapshot: Snapshot, state: ScreenState) -> Iterator[str]:
        both = zip(snapshot.every_condition(), state.conditions, strict=True)
        for condition, line in both:
            if condition.name in _HEADLINES:
                continue
            held = self._conditions.get(condition.name)
            if held is None:  # how it stood at the start is no news
                start = _Held(line.state, line.state, snapshot.t_s)
                self._conditions[condition.name] = start
            elif held.news(line.state, snapshot.t_s):
                yield plain_words.condition(line)

    def _running(self, snapshot: Snapshot, state: ScreenState) -> Iterator[str]:
        drips = len(snapshot.step.drips_s) if snapshot.step else 0
        if drips != self._drips and state.standing:
            yield "; ".join(state.standing) + "."
        self._drips = drips

    def _service(self, snapshot: Snapshot) -> Iterator[str]:
        told = snapshot.told or ()
        if len(told) > self._entries and told[-1].back is None:
            entry = service_words.undone(told[-1])
            yield plain_words.entered(entry, len(self._lacks(snapshot)))
        self._entries = len(told)

    def _lacks(self, snapshot: Snapshot | None) -> list[plain_words.HasText]:
        if snapshot is None or snapshot.log is None or not self._sheet.service.order:
            return []
        return list(lacks_of(self._sheet.service, snapshot.log))
