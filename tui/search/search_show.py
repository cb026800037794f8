"""What a search prints: for a person line by line, or as JSON lines."""

from __future__ import annotations

import json
import sys
import time
from typing import TYPE_CHECKING, Any

from tui.words import search_wording

if TYPE_CHECKING:
    from bridge.search.ranking import Candidate
    from bridge.search.scan.sweep import Progress
    from bridge.search.watched import Watch

EVERY_S, EVERY_JSON_S, EVERY_PLAIN_S = 0.5, 1.0, 10.0


class Show:
    """Prints what a search does."""

    def __init__(self, *, as_json: bool) -> None:
        self._json = as_json
        self._tty = sys.stdout.isatty() and not as_json
        self._shown_s = -1e9
        self._open = False
        """Whether a progress line stands unfinished on the screen."""

    def say(self, sentence: str) -> None:
        """Print a sentence; as JSON it is a note."""
        if self._json:
            self.put({"stage": "note", "text": sentence})
            return
        self.finish()
        self._print(sentence)

    def put(self, content: dict[str, Any]) -> None:
        """Print one JSON object, if that is wanted."""
        if self._json:
            self._print(json.dumps(content, ensure_ascii=False, allow_nan=False))

    def progress(self, progress: Progress) -> None:
        """Print how far the search is, now and then."""
        every = EVERY_JSON_S if self._json else EVERY_S if self._tty else EVERY_PLAIN_S
        if time.monotonic() - self._shown_s < every and progress.left:
            return
        self._shown_s = time.monotonic()
        if self._json:
            self.put(
                {
                    "stage": "search",
                    "doing": progress.doing,
                    "done": progress.done,
                    "left": progress.left,
                    "answered": progress.answered,
                    "left_s": progress.left_s and round(progress.left_s, 1),
                }
            )
            return
        line = search_wording.progress_line(progress)
        if not self._tty:
            self._print(line)
            return
        sys.stdout.write(f"\r{line:<79}")
        sys.stdout.flush()
        self._open = True

    def table(self, found: tuple[Candidate, ...], watch: Watch) -> None:
        """Print what leads."""
        if self._json:
            self.put(
                {
                    "stage": "watch",
                    "watched_s": round(watch.span_s, 1),
                    "identifiers": len(watch.series),
                    "typed": len(watch.typed),
                    "candidates": [search_wording.candidate_dict(c) for c in found[:5]],
                }
            )
            return
        self.finish()
        for line in search_wording.candidate_lines(found, watch):
            self._print(line)

    def finish(self) -> None:
        """End a progress line that stands unfinished."""
        if self._open:
            self._print("")
            self._open = False

    def _print(self, text: str) -> None:
        sys.stdout.write(text + "\n")
        sys.stdout.flush()
