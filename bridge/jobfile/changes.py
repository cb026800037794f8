"""What is new in a snapshot: changes of the verdict, of the step, the judgement."""

from __future__ import annotations

from typing import Any

from bridge.jobfile.file.format import RowKind
from bridge.jobfile.rows import judged, phase, seen
from bridge.level.step.step_values import Judgement, Step
from bridge.session.rules import RULES
from bridge.snapshot import Snapshot
from bridge.values.conditions import Reason, Verdict


class News:
    """Remembers the last snapshot's decisions; one for each watch."""

    def __init__(self, *, rules: int = RULES) -> None:
        """``rules``: the version that decided; the first told less of the step."""
        self._first = rules == 1
        self._said: tuple[Verdict, tuple[Reason, ...]] | None = None
        self._step: tuple[Any, ...] | None = None
        self._judgement: Judgement | None = None

    def of(self, snapshot: Snapshot) -> list[tuple[RowKind, dict[str, Any]]]:
        """Return what is different from the last snapshot, each with its content."""
        changes: list[tuple[RowKind, dict[str, Any]]] = []
        said = (snapshot.verdict, snapshot.reasons)
        if said != self._said:
            self._said = said
            changes.append((RowKind.VERDICT, seen(snapshot)))
        step = snapshot.step
        stands = None if step is None else self._stands(step)
        if stands != self._step:
            self._step = stands
            changes.append((RowKind.STEP, phase(snapshot)))
        judgement = None if step is None else step.judgement
        if judgement != self._judgement:
            self._judgement = judgement
            changes.append((RowKind.JUDGEMENT, judged(judgement)))
        return changes

    def _stands(self, step: Step) -> tuple[Any, ...]:
        place = (step.phase, step.attempt)
        if self._first:
            return place
        return (*place, step.leg, step.confirmed, step.added_ml)
