"""What is new in a snapshot: changes of the verdict, of the step, the judgement."""

from __future__ import annotations

from typing import Any

from bridge.jobfile.file.format import Kind
from bridge.jobfile.rows import judged, phase, seen
from bridge.level.step.step_values import Judgement, Phase
from bridge.snapshot import Snapshot
from bridge.values.conditions import Reason, Verdict


class News:
    """Remembers the last snapshot's decisions; one for each watch."""

    def __init__(self) -> None:
        self._said: tuple[Verdict, tuple[Reason, ...]] | None = None
        self._phase: tuple[Phase, int] | None = None
        self._judgement: Judgement | None = None

    def of(self, snapshot: Snapshot) -> list[tuple[Kind, dict[str, Any]]]:
        """Return what is different from the last snapshot, each with its content."""
        news: list[tuple[Kind, dict[str, Any]]] = []
        said = (snapshot.verdict, snapshot.reasons)
        if said != self._said:
            self._said = said
            news.append((Kind.VERDICT, seen(snapshot)))
        step = snapshot.step
        stands = None if step is None else (step.phase, step.attempt)
        if stands != self._phase:
            self._phase = stands
            news.append((Kind.STEP, phase(snapshot)))
        judgement = None if step is None else step.judgement
        if judgement != self._judgement:
            self._judgement = judgement
            news.append((Kind.JUDGEMENT, judged(judgement)))
        return news
