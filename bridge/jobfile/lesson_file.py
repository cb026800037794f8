"""The file of lessons: what each job taught, kept for the next one on that car.

One small file beside the jobs. It is written whole or not at all; a file that makes
no sense is ignored with one sentence, and the next lesson replaces it.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import Any

from bridge.thermal.lesson import NO_LESSONS, Lessons
from bridge.thermal.prior import Prior
from bridge.values.codec import from_plain, to_plain

FORMAT = 1
MOST_SHEETS, MOST_CARS = 100, 20
"""Of these the newest are kept; each car counts under its sheet."""
MOST_BYTES = 4_000_000
Note = Callable[[str], object]


def lessons_path() -> Path:
    """Return where this system keeps them: beside the folder of jobs."""
    from bridge.jobfile.job_folder import folder

    return folder().parent / "lessons.json"


def sheet_key(sheet_text: str) -> str:
    """Return the name a sheet's lessons are kept under: its text's SHA-256."""
    return sha256(sheet_text.encode()).hexdigest()


class LessonFile:
    """The lessons of one sheet in the file of all; neither method raises."""

    def __init__(self, sheet_text: str, note: Note, path: Path | None = None) -> None:
        """``note`` is given a sentence where the file cannot be used."""
        self._key = sheet_key(sheet_text)
        self._note = note
        self._path = path or lessons_path()

    def recall(self) -> Lessons:
        """Return what earlier jobs with this sheet taught; none where none did."""
        entry = self._read().get(self._key)
        if entry is None:
            return NO_LESSONS
        try:
            return from_plain(Lessons, entry)
        except ValueError:
            self._complain("an entry in it makes no sense")
            return NO_LESSONS

    def keep(self, lesson: Prior | None, car: str | None) -> None:
        """Keep a lesson for the sheet, and for the car of this key if it is known.

        None teaches nothing and leaves the file as it is.
        """
        if lesson is None:
            return
        sheets = self._read()
        cars = self._cars(sheets.pop(self._key, None))
        plain = to_plain(lesson)
        if car is not None:
            cars.pop(car, None)
            cars[car] = plain
        # dictionaries keep their order, in JSON too: the newest is last
        sheets[self._key] = {"sheet": plain, "cars": _newest(cars, MOST_CARS)}
        entries = {"format": FORMAT, "sheets": _newest(sheets, MOST_SHEETS)}
        try:
            self._write(json.dumps(entries, separators=(",", ":")))
        except OSError as problem:
            why = problem.strerror or problem
            self._note(f"the lesson of this job cannot be kept in {self._path} ({why})")

    def _cars(self, entry: Any) -> dict[str, Any]:
        """Return the cars of an entry that still make sense."""
        cars = entry.get("cars") if isinstance(entry, dict) else None
        kept = {}
        for key, plain in (cars if isinstance(cars, dict) else {}).items():
            with suppress(ValueError):
                kept[key] = to_plain(from_plain(Prior, plain))
        return kept

    def _read(self) -> dict[str, Any]:
        """Return the entries of all sheets; none where the file cannot be used."""
        try:
            with self._path.open("rb") as file:
                entries = json.loads(file.read(MOST_BYTES).decode("utf-8"))
        except FileNotFoundError:
            return {}
        except OSError as problem:
            self._complain(str(problem.strerror or problem))
            return {}
        except (ValueError, RecursionError):
            self._complain("it is damaged")
            return {}
        if not isinstance(entries, dict) or entries.get("format") != FORMAT:
            self._complain("it is damaged or of another version's format")
            return {}
        sheets = entries.get("sheets")
        return sheets if isinstance(sheets, dict) else {}

    def _complain(self, why: str) -> None:
        self._note(
            f"what earlier jobs taught is not used: {self._path}, {why}; "
            "this job goes on without it and replaces the file"
        )

    def _write(self, text: str) -> None:
        self._path.parent.mkdir(parents=True, exist_ok=True)
        draft = self._path.with_name(f".{self._path.name}.{os.getpid()}.new")
        try:
            with draft.open("w", encoding="utf-8") as file:
                file.write(text)
                file.flush()
                os.fsync(file.fileno())
            draft.replace(self._path)
        finally:
            draft.unlink(missing_ok=True)


def _newest(entries: dict[str, Any], most: int) -> dict[str, Any]:
    return dict(list(entries.items())[-most:])
