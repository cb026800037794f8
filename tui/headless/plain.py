"""`--plain`: sentences out, keys and words as typed lines in."""

from __future__ import annotations

import sys
from collections import deque
from typing import TYPE_CHECKING

from bridge.values.sheet import Confirmation
from tui.headless.plain_teller import PlainTeller
from tui.inputs.answers import Refused
from tui.inputs.offers import confirming, offers
from tui.live.notebook import Notebook
from tui.words import plain_words
from tui.words.screen import pages

if TYPE_CHECKING:
    from bridge.jobfile.recorder import Recorder
    from bridge.snapshot import Snapshot
    from bridge.values.sheet import Sheet
    from tui.feeds.monitor_feed import MonitorCommands
    from tui.inputs.line_reader import LineReader
    from tui.words.figures import TemperatureUnit


class Plain:
    """One job without a screen.

    Only the news' own thread prints, so that a terminal that is stopped stops nothing
    else; answers to typed lines wait for it, a quarter of a second at most.
    """

    def __init__(
        self,
        sheet: Sheet,
        unit: TemperatureUnit,
        commands: MonitorCommands,
        reader: LineReader,
        recorder: Recorder | None = None,
    ) -> None:
        """Say what this is, and the cautions.

        ``recorder``: takes down that they were read; None: nobody does.
        """
        self._sheet, self._commands, self._reader = sheet, commands, reader
        self._teller = PlainTeller(sheet, unit)
        self._answers: deque[str] = deque()
        tell = recorder.note_event if recorder else None
        self._notebook = Notebook(tell, lambda text, _: self._answers.append(text))
        cautions = pages.cautions(self._sheet)
        _print(plain_words.opening(sheet, cautions, unit))
        self._notebook.cautions("shown", cautions)

    def write(self, snapshot: Snapshot, _utc_s: float) -> None:
        """Say what is new in a snapshot."""
        _print([*self._answered(), *self._teller.take(snapshot)])

    def quiet(self) -> None:
        """Say that no news comes any more."""
        _print([*self._answered(), *self._teller.quiet()])

    def _answered(self) -> list[str]:
        said = []
        while self._answers:
            said.append(self._answers.popleft())
        return said

    def hear(self, line: str) -> None:
        """Take a typed line: a key, a word of a mark or the service, or a question."""
        monitor = self._commands.monitor
        last = monitor.last if monitor is not None else None
        at_bench = self._commands.bench(line)
        if at_bench is True or self._asks(line, last):
            return
        event = at_bench or self._reader.read(_spelled(line, last), last)
        if isinstance(event, Refused):
            self._say([event.words])
        else:
            self._commands.tell(event)

    def _asks(self, line: str, last: Snapshot | None) -> bool:
        """Answer what is no news for the monitor; return whether it was that."""
        match line.casefold():
            case "" if self._teller.unread:
                self._read(last)
            case "":
                self._say(self._teller.standing(last))
            case "?":
                self._say(self._teller.keys(last))
            case "cautions":
                self._say(pages.cautions(self._sheet))
            case "u":
                self._teller.unit = "F" if self._teller.unit == "C" else "C"
                self._say(self._teller.standing(last))
            case "q" if self._commands.leave is not None:
                self._commands.leave()
            case _:
                return False
        return True

    def _read(self, last: Snapshot | None) -> None:
        """Take the cautions as read, for the screen's gate and the monitor's."""
        step = last.step if last else None
        if last is None:
            self._say([plain_words.READ_FIRST])  # nobody to tell it to yet
            return
        self._teller.unread = False
        self._notebook.cautions("confirmed", pages.cautions(self._sheet))
        if step is not None and Confirmation.CAUTIONS not in step.confirmed:
            self._commands.tell(confirming(Confirmation.CAUTIONS, step))
        self._say([plain_words.READ])

    def _say(self, sentences: list[str]) -> None:
        self._answers.extend(sentences)


def _print(sentences: list[str]) -> None:
    for sentence in sentences:
        sys.stdout.write(f"{sentence}\n")
    if sentences:
        sys.stdout.flush()


_NOTE_KEY = "w"
"""As on the screen; no offer names it."""


def _spelled(line: str, last: Snapshot | None) -> str:
    """Return a line that begins with a key as the word the key stands for."""
    key, _, rest = line.partition(" ")
    if key.casefold() == _NOTE_KEY and rest:
        return f"note {rest}"
    for offer in offers(last.step if last else None):
        if key and key.casefold() == offer.key.casefold():
            return f"{offer.word} {rest}".strip()
    return line
