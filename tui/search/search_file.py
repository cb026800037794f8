"""The search's file: one JSON object a line, appended as it comes, read back at start.

A line cut short by a crash is the last one and is passed over; anything else that
cannot be read is said in one sentence.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TextIO

from bridge.plain_file import LARGE_BYTES, read_plain
from bridge.search.ledger import FORMAT, Entry, Ledger
from bridge.values.errors import UsageError
from tui.words import search_wording


def usual_path() -> Path:
    """Return where a search is kept if nobody says otherwise."""
    from platformdirs import user_data_path

    return user_data_path("sumpgate", appauthor=False) / "find" / "search.jsonl"


def read_back(path: Path) -> tuple[Ledger, str]:
    """Return what a search file holds, and the car it is of ('' if not known).

    Raises:
        UsageError: it cannot be read, or is something else.
    """
    ledger, car = Ledger(), ""
    if not path.exists():
        return ledger, car
    what = search_wording.SEARCH_FILE
    lines = read_plain(path, what, most_bytes=LARGE_BYTES).split("\n")
    for number, line in enumerate(lines, 1):
        entry = _entry(path, number, line, last=number >= len(lines))
        if entry is None:
            continue
        if number == 1 and entry.get("what") != "search":
            raise _not_ours(path, number)
        if entry.get("what") == "car":
            car = str(entry.get("is", ""))
        _take(ledger, entry, path, number)
    return ledger, car


def _entry(path: Path, number: int, line: str, *, last: bool) -> Entry | None:
    if not line.strip():
        return None
    try:
        entry = json.loads(line)
    except ValueError:
        if last:
            return None  # cut short by a crash
        raise _not_ours(path, number) from None
    if not isinstance(entry, dict) or "what" not in entry:
        raise _not_ours(path, number)
    return entry


def _take(ledger: Ledger, entry: Entry, path: Path, number: int) -> None:
    try:
        ledger.take(entry)
    except (KeyError, ValueError, TypeError):
        raise _not_ours(path, number) from None


def _not_ours(path: Path, number: int) -> UsageError:
    return UsageError(
        f"{path}, line {number}: not what a search writes; name another file with "
        "--state, or start over with --fresh"
    )


class Pen:
    """Appends entries; flushed line by line, so that a kill loses nothing said."""

    def __init__(self, path: Path, *, fresh: bool) -> None:
        """``fresh``: begin the file anew."""
        self.path = path
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            if fresh:
                path.unlink(missing_ok=True)
            empty = not path.exists() or path.stat().st_size == 0
            self._mend()
            self._file: TextIO = path.open("a", encoding="utf-8")
        except OSError as problem:
            raise UsageError(
                f"the search file {path} cannot be written ({problem.strerror}): name "
                "another with --state"
            ) from None
        if empty:
            self.put({"what": "search", "format": FORMAT})

    def _mend(self) -> None:
        """Take off a last line that was cut short."""
        if not self.path.exists():
            return
        raw = self.path.read_bytes()
        if raw and not raw.endswith(b"\n"):
            with self.path.open("r+b") as file:
                file.truncate(raw.rfind(b"\n") + 1)

    def put(self, entry: Entry) -> None:
        """Append one entry."""
        self._file.write(json.dumps(entry, separators=(",", ":")) + "\n")
        self._file.flush()

    def close(self) -> None:
        """Close the file."""
        self._file.close()
