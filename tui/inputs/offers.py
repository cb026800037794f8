"""The one table of inputs: what a person may tell now, by which key, button and word.

The laptop's keys and their hints, the phone's buttons and the typed lines all read
it, so that one button never means two things. Pure.

The main key and the phone's big button are one: the plug is open, and from then on
each drip until it is marked closed. "Closed" has a key and a button of its own in
every phase: a thumb that taps drips must never end the step.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bridge.level.step.step_values import BEFORE_OPENING, Phase
from bridge.values.events import Mark, Marked
from bridge.values.frozen import frozen
from bridge.values.sheet import Confirmation, LegEnd, LevelMethod

if TYPE_CHECKING:
    from bridge.level.step.step_values import Step

MAIN_KEY = "Space"


@frozen
class Offer:
    """One thing that may be told now."""

    word: str
    """The typed line, or how it begins."""
    key: str = ""
    """On the laptop, as its hint shows it; '': no key."""
    hint: str = ""
    """What the laptop says beside the key."""
    button: str = ""
    """On the phone; '': no button."""
    mark: Mark | None = None
    confirms: Confirmation | None = None

    @property
    def main(self) -> bool:
        """Whether it is the laptop's main key and the phone's big button."""
        return self.key == MAIN_KEY

    @property
    def pressed(self) -> Marked | None:
        """What its key tells; None: it has no key, or is no mark."""
        if self.mark is None or not self.key:
            return None
        return Marked(mark=self.mark, confirms=self.confirms)


_OPENED = Offer(
    word="opened", key=MAIN_KEY, hint="opened", button="OPENED", mark=Mark.OPENED
)
_DRIP = Offer(word="drip", key=MAIN_KEY, hint="drip", button="DRIP", mark=Mark.DRIP)
_CLOSED = Offer(
    word="closed", key="c", hint="closed", button="CLOSED", mark=Mark.CLOSED
)
_STREAMS = Offer(
    word="streams",
    key="s",
    button="Steady stream",
    mark=Mark.STREAMING,
)
_NOTHING = Offer(
    word="nothing",
    key="n",
    hint="nothing ran out",
    button="Nothing ran out",
    mark=Mark.NOTHING_CAME,
)
_UNDO = Offer(word="undo", key="z", hint="undo", button="Undo", mark=Mark.UNDO)
_AGAIN = Offer(word="again", key="r", hint="again", mark=Mark.RESTART)
_ADDED = Offer(word="added", key="a", hint="added", mark=Mark.ADDED)
_NEXT = Offer(word="next", key="x", hint="phase done", mark=Mark.NEXT)
_STICK = Offer(word="stick", key="d", hint="stick reads", mark=Mark.STICK)
_AIR = Offer(word="air", key="i", hint="air", mark=Mark.AIR)
_TILT = Offer(word="tilt", key="l", hint="tilt")
_READ = Offer(word="read", key="t", hint="thermometer")

_PHASES: dict[Phase, tuple[Offer, ...]] = {
    Phase.GET_READY: (_OPENED,),
    Phase.GO: (_OPENED,),
    Phase.RUNNING_DOWN: (_DRIP, _CLOSED, _NOTHING, _STREAMS),
    Phase.SETTLED: (_DRIP, _CLOSED, _NOTHING, _STREAMS),
    Phase.CLOSE: (_DRIP, _CLOSED, _STREAMS),
    Phase.LOW: (_DRIP, _CLOSED, _STREAMS),
}
PHONE_MARKS = frozenset(
    o.mark
    for o in (_OPENED, _DRIP, _CLOSED, _STREAMS, _NOTHING, _UNDO)
    if o.mark is not None
)
"""All that a phone can ever tell: what runs out of the opening. A confirmation opens
the gate, so none can be given, taken back or brought back from there."""
CONFIRM_KEYS: tuple[Confirmation, ...] = tuple(Confirmation)
"""What the keys from 1 on confirm, in their order; the tenth is 0."""


def key_of(what: Confirmation) -> str:
    """Return the key that confirms a point, or takes it back."""
    return str((CONFIRM_KEYS.index(what) + 1) % 10)


def confirming(what: Confirmation, step: Step | None) -> Marked:
    """Return the mark that confirms a point, or takes it back where it is given."""
    given = step is not None and what in step.confirmed
    return Marked(mark=Mark.WITHDRAWN if given else Mark.CONFIRMED, confirms=what)


def offers(step: Step | None) -> tuple[Offer, ...]:
    """Return all that may be told where the level step stands; None: no step."""
    if step is None:
        return ()
    air = (_AIR,) if step.by_air else ()
    return (*marks_of(step), _ADDED, _TILT, _READ, *air, *_points(step))


def marks_of(step: Step) -> tuple[Offer, ...]:
    """Return the marks that may be made now."""
    by_stick = step.method is LevelMethod.STICK
    marks = _by_stick(step) if by_stick else list(_PHASES.get(step.phase, ()))
    if step.ends is not LegEnd.LEVEL:
        marks = []
    elif step.phase in BEFORE_OPENING and not marks and not by_stick:
        marks.append(_opened_late(step))
    if step.may_go_on:
        marks.append(_NEXT)
    if not step.plug_open and step.phase is not Phase.PREPARE:
        marks.append(_AGAIN)
    if step.past:
        button = _UNDO.button if _undo_by_phone(step) else ""
        marks.append(replace(_UNDO, button=button))
    return tuple(marks)


def _opened_late(step: Step) -> Offer:
    """Return how the opening is told while it is not called for.

    Not by the main key or the big button, which a slip could press. Once GO was said
    the plug may well be out, and a reading that has since gone too old does not put it
    back: then with a key and a button of its own.
    """
    if step.claimed is None:
        return replace(_OPENED, key="", hint="", button="")
    return replace(_OPENED, key="o")


def _by_stick(step: Step) -> list[Offer]:
    return [_STICK] if step.phase is Phase.GO else []


def _points(step: Step) -> tuple[Offer, ...]:
    return tuple(
        Offer(
            word=f"{'withdraw' if what in step.confirmed else 'confirm'} {what.value}",
            key=key_of(what),
            hint=what.value,
            mark=Mark.WITHDRAWN if what in step.confirmed else Mark.CONFIRMED,
            confirms=what,
        )
        for what in CONFIRM_KEYS
    )


def _undo_by_phone(step: Step) -> bool:
    """Say whether the last mark is one that the phone may take back.

    Not if that would change a confirmation, or go back before a new beginning.
    """
    before = step.past[-1]
    return (
        before.confirmed == step.confirmed
        and before.attempt == step.attempt
        and before.added_ml == step.added_ml
        and before.reads == step.reads
    )


def main_offer(step: Step | None) -> Offer | None:
    """Return what the main key and the big button tell now; None: nothing."""
    return next((o for o in offers(step) if o.main), None)


def by_word(step: Step | None, word: str) -> Offer | None:
    """Return what a word tells now; None: it tells nothing now."""
    return next((o for o in offers(step) if o.word == word), None)


def by_button(step: Step | None) -> tuple[Offer, ...]:
    """Return the phone's buttons, the big one first."""
    offered = [o for o in offers(step) if o.button]
    return tuple(sorted(offered, key=lambda o: not o.main))
