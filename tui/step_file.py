"""The level step kept through a crash: written at every mark, taken up again.

The file is small and in the system's state folder. It is taken up only for the same
sheet, within the hour, and while the step is under way; a step that was judged is over.
"""

from __future__ import annotations

import contextlib
import json
import os
import time
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.level.step.step_values import BEFORE_OPENING, Phase

if TYPE_CHECKING:
    from bridge.level.step.step_values import Step
    from bridge.snapshot import Snapshot
    from bridge.values.sheet import Sheet

LONGEST_AWAY_S = 3600.0


def step_path() -> Path:
    """Return where this system keeps such things (platformdirs' state folder)."""
    from platformdirs import user_state_path

    return user_state_path("sumpgate", appauthor=False) / "level-step.json"


class StepFile:
    """The file of one sheet's step."""

    def __init__(self, sheet: Sheet, path: Path | None = None) -> None:
        self._sheet = f"{sheet.name} ({sheet.origin})"
        self._path = path or step_path()
        self._written: tuple[object, ...] | None = None

    def note(self, snapshot: Snapshot) -> None:
        """Write the step down if a mark or the phase has changed it; never raises."""
        step = snapshot.step
        if step is None or (mark := _mark_of(step)) == self._written:
            return
        self._written = mark
        with contextlib.suppress(OSError):
            self._write(step)

    def _write(self, step: Step) -> None:
        if not _under_way(step):
            self._path.unlink(missing_ok=True)
            return
        from bridge.values.codec import to_plain

        told = {"sheet": self._sheet, "wall_s": time.time(), "step": to_plain(step)}
        self._path.parent.mkdir(parents=True, exist_ok=True)
        draft = self._path.with_suffix(".new")
        with draft.open("w", encoding="utf-8") as file:
            json.dump(told, file)
            file.flush()
            os.fsync(file.fileno())
        draft.replace(self._path)

    def take_up(self) -> tuple[Step, float] | None:
        """Return the step that was under way and the seconds since, or None."""
        from bridge.level.step.step_values import Step
        from bridge.values.codec import from_plain

        try:
            told = json.loads(self._path.read_text("utf-8"))
            away_s = time.time() - float(told["wall_s"])
            step = from_plain(Step, told["step"])
            fits = told["sheet"] == self._sheet and 0 <= away_s <= LONGEST_AWAY_S
        except (OSError, ValueError, TypeError, KeyError, RecursionError):
            return None
        return (step, away_s) if fits and _under_way(step) else None


def _under_way(step: Step) -> bool:
    marked = bool(step.past) or bool(step.confirmed)
    return marked and step.phase is not Phase.JUDGED


def _mark_of(step: Step) -> tuple[object, ...]:
    before = step.phase in BEFORE_OPENING
    return (
        None if before else step.phase,
        step.confirmed,
        step.drips_s,
        step.added_ml,
        step.streaming_s,
        step.nothing_came,
        step.attempt,
        len(step.past),
    )
