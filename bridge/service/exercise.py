"""The selector exercise, paced: where the lever should be, how long, when to move.

A pure state machine; time and the reading are passed in at every look. Where the
selector is readable a hold counts only from when the reading shows the position, and
is broken, to be held again in full, when it leaves early or is not seen for a while.
Else it goes by the clock, and the person confirms at the end. An interrupted exercise
(``broke``, no looks, nobody moves the lever) is BROKEN: only ``begin`` starts again.
"""

from __future__ import annotations

import math
from dataclasses import replace
from enum import StrEnum

from bridge.values.frozen import frozen
from bridge.values.service_sheet import Exercise
from bridge.values.sheet import Signal

MOVE_S = 2.0
"""Time to move the lever where the reading cannot show it (common practice, no
source); the hold is counted after it, so it is never shorter than the sheet's."""
BLIND_S = 2.0
"""A reading of the position may be missing for so long without breaking the hold."""
GAP_S = 5.0
"""Without a look for longer, no cue was heard: the exercise is interrupted."""
PATIENCE_S = 60.0
"""A lever that is not where it should be for so long: the person has left off."""


class Stage(StrEnum):
    """How far the exercise is."""

    MOVING = "moving"
    HOLDING = "holding"
    TO_CONFIRM = "to-confirm"
    """All holds went by on the clock; the person must say that they were made."""
    FINISHED = "finished"
    BROKEN = "broken"


OVER = frozenset({Stage.FINISHED, Stage.BROKEN})


class Cue(StrEnum):
    """What to sound; the person looks at the lever, not at the screen."""

    MOVE = "move"
    HOLD_DONE = "hold-done"
    FINISHED = "finished"
    BROKEN = "broken"


@frozen
class ExercisePace:
    """The whole exercise in order. Make it by ``pace_of``."""

    positions: tuple[str, ...]
    """Every hold to come, all rounds one after the other."""
    hold_s: float
    readable: bool


@frozen
class Exercising:
    """One exercise under way; every call returns a new one."""

    pace: ExercisePace
    stage: Stage
    now_s: float
    """Of the last look."""
    since_s: float
    """When this move or hold began."""
    seen_s: float
    """When the reading last showed the position, in a hold."""
    held_s: tuple[float, ...] = ()
    """Measured length of every hold that counts, in order."""
    broken_holds: int = 0
    """Holds left early, or not seen, and begun anew."""
    cues: tuple[Cue, ...] = ()
    """To sound once, for this look."""

    @property
    def position(self) -> str | None:
        """Where the lever should be now; None: it no longer matters."""
        if self.stage in {Stage.MOVING, Stage.HOLDING}:
            return self.pace.positions[len(self.held_s)]
        return None

    @property
    def left_s(self) -> float | None:
        """Seconds left of this hold, or of the time to move; None: not known."""
        if self.stage is Stage.HOLDING:
            blind = self.pace.readable and self.seen_s < self.now_s
            return None if blind else _left(self, self.pace.hold_s)
        if self.stage is Stage.MOVING and not self.pace.readable:
            return _left(self, MOVE_S)
        return None

    @property
    def holds_left(self) -> int:
        """How many holds are still to be made, the present one too."""
        return len(self.pace.positions) - len(self.held_s)


def _left(at: Exercising, whole_s: float) -> float:
    return max(0.0, whole_s - (at.now_s - at.since_s))


def pace_of(exercise: Exercise, selector: Signal | None) -> ExercisePace:
    """Return the pace of a sheet's exercise.

    ``selector``: the sheet's selector signal; the holds are checked by it only if it
    names all the positions. Raises ValueError for an exercise without positions or
    rounds, or with a hold that is no time.
    """
    if not exercise.positions or exercise.rounds < 1:
        raise ValueError(
            "The selector exercise needs at least one position and one round: see "
            "[exercise] in the sheet."
        )
    if not (exercise.hold_s > 0.0 and math.isfinite(exercise.hold_s)):
        raise ValueError(
            f"A hold of {exercise.hold_s:g} s cannot be: the sheet must give the "
            "exercise a hold of more than 0 s."
        )
    named = {label for _, label in selector.labels} if selector else set()
    return ExercisePace(
        positions=exercise.positions * exercise.rounds,
        hold_s=exercise.hold_s,
        readable=named.issuperset(exercise.positions),
    )


def begin(pace: ExercisePace, now_s: float) -> Exercising:
    """Return the exercise at its first move; also after an interruption."""
    return Exercising(
        pace=pace,
        stage=Stage.MOVING,
        now_s=now_s,
        since_s=now_s,
        seen_s=now_s,
        cues=(Cue.MOVE,),
    )


def look(at: Exercising, now_s: float, position: str | None) -> Exercising:
    """Return the exercise at ``now_s``. Never raises.

    ``position``: what the selector reads now, fresh; None: not known. It is not
    looked at where the selector is not readable.
    """
    if at.position is None:
        return replace(at, cues=())
    if not 0.0 <= now_s - at.now_s <= GAP_S:
        return broke(at, at.now_s)  # also for a time that is no number
    at = replace(at, now_s=now_s, cues=())
    if at.stage is Stage.MOVING:
        return _moving(at, position)
    return _holding(at, position)


def broke(at: Exercising, now_s: float) -> Exercising:
    """Return the exercise interrupted; one that is over stays as it is."""
    if at.stage in OVER:
        return replace(at, cues=())
    return replace(at, stage=Stage.BROKEN, now_s=now_s, cues=(Cue.BROKEN,))


def confirmed(at: Exercising, now_s: float) -> Exercising:
    """Return the exercise finished by the person's word, if that is what it awaits."""
    if at.stage is not Stage.TO_CONFIRM:
        return replace(at, cues=())
    return replace(at, stage=Stage.FINISHED, now_s=now_s, cues=(Cue.FINISHED,))


def _moving(at: Exercising, position: str | None) -> Exercising:
    if not at.pace.readable:
        if at.now_s - at.since_s < MOVE_S:
            return at
        return replace(at, stage=Stage.HOLDING, since_s=at.now_s, seen_s=at.now_s)
    if position is not None and position == at.position:
        return replace(at, stage=Stage.HOLDING, since_s=at.now_s, seen_s=at.now_s)
    if at.now_s - at.since_s > PATIENCE_S:
        return broke(at, at.now_s)
    return at


def _holding(at: Exercising, position: str | None) -> Exercising:
    if not at.pace.readable:
        return _held_long_enough(at)
    blind = at.now_s - at.seen_s > BLIND_S
    if blind or (position is not None and position != at.position):
        return _hold_broken(at)
    if position is None:
        return at
    return _held_long_enough(replace(at, seen_s=at.now_s))


def _hold_broken(at: Exercising) -> Exercising:
    return replace(
        at,
        stage=Stage.MOVING,
        since_s=at.now_s,
        broken_holds=at.broken_holds + 1,
        cues=(Cue.BROKEN, Cue.MOVE),
    )


def _held_long_enough(at: Exercising) -> Exercising:
    held_s = at.now_s - at.since_s
    if held_s < at.pace.hold_s:
        return at
    at = replace(at, held_s=(*at.held_s, held_s))
    if at.holds_left:
        return replace(
            at, stage=Stage.MOVING, since_s=at.now_s, cues=(Cue.HOLD_DONE, Cue.MOVE)
        )
    if at.pace.readable:
        return replace(at, stage=Stage.FINISHED, cues=(Cue.HOLD_DONE, Cue.FINISHED))
    return replace(at, stage=Stage.TO_CONFIRM, cues=(Cue.HOLD_DONE,))


CAUTION = (
    "Foot hard on the brake and parking brake on before you move the lever: in gear "
    "the car can drive off. Nobody stands before or behind the car."
)


def exercise_text(at: Exercising) -> str:
    """Return the one line that says what to do now."""
    if at.stage is Stage.MOVING:
        return f"Foot on the brake: move the lever to {at.position}."
    if at.stage is Stage.HOLDING:
        return f"Foot on the brake: hold the lever in {at.position}."
    return {
        Stage.TO_CONFIRM: (
            "Confirm only if the lever was moved at every cue and held; else start "
            "again. Keep your foot on the brake."
        ),
        Stage.FINISHED: (
            "The exercise is done. Keep your foot on the brake until the lever is "
            "where the sheet wants it for the level."
        ),
        Stage.BROKEN: (
            "Interrupted: it does not count. Keep your foot on the brake and start "
            "again from the first position."
        ),
    }[at.stage]
