"""Between the monitor's loop and the server's: newest snapshot out, marks in.

Nothing is queued: an unread snapshot is replaced by the next, a slow phone gets the
newest when it can take one. The monitor's side only stores and wakes.
"""

from __future__ import annotations

import asyncio
import contextlib
from collections import OrderedDict
from collections.abc import AsyncGenerator, Callable
from concurrent.futures import Future
from enum import StrEnum
from typing import TYPE_CHECKING, Protocol

from bridge.values.events import Mark, Marked
from bridge.values.frozen import frozen
from tui.feeds.called_out import Call, Caller
from tui.feeds.feed import Mailbox
from tui.inputs.offers import by_button
from tui.live.screen_state import Contact
from tui.phone.message import Scene, encode, message
from tui.words.screen import phone_words

if TYPE_CHECKING:
    from bridge.snapshot import Snapshot
    from bridge.values.sheet import Sheet
    from tui.words.figures import TemperatureUnit

SPACING_S = 0.1
"""Messages follow each other no faster, whatever the bench's speed."""
SILENT_S = 1.0
"""After so long without a snapshot the page is told that there is none."""
CONTACT_S = 2.0
"""The same limit as the laptop's screen has (tui.live.app)."""
TAKING_S = 2.0
"""So long a mark may wait for the monitor."""
LATE_S = 3.0
"""A mark pressed longer ago than this is not taken: it would be told as of now."""
MOST_NONCES = 4096
"""Far more than can be marked within LATE_S at the rate a phone is allowed."""


class MarkTeller(Protocol):
    """The way to the monitor, in its own loop (monitor_feed.MonitorCommands)."""

    def tell(self, event: Marked) -> object | None:
        """Take the mark; None: there is nobody to take it."""


class PressOutcome(StrEnum):
    """What became of a mark."""

    TAKEN = "taken"
    NOT_NOW = "not-now"
    """The phase has no such mark."""
    TOO_LATE = "too-late"
    NO_MONITOR = "no-monitor"


@frozen
class Press:
    """A mark as a phone sent it."""

    mark: Mark
    nonce: str
    """The same for every repeat of one press."""
    at_s: float
    """When it was pressed, by the server's clock as the page reckons it."""


class Hub:
    """One job's phone page; ``deliver`` and ``ended`` belong to the monitor's loop."""

    def __init__(
        self,
        *,
        sheet: Sheet,
        unit: TemperatureUnit,
        commands: MarkTeller,
        clock: Callable[[], float],
        stale_s: float,
        source: str = "",
    ) -> None:
        """``clock``: monotonic seconds, the same in every thread."""
        self._sheet, self._commands, self._clock = sheet, commands, clock
        self.unit: TemperatureUnit = unit
        """Set from the screen's thread when the person changes it."""
        self.unread = False
        """Set from there too: whether the cautions are still to be read."""
        self.stale_s, self._source = stale_s, source
        self._mail: Mailbox[tuple[Snapshot, float]] = Mailbox(self._ring)
        self._last: Snapshot | None = None
        self._failure = ""
        self._monitor_loop: asyncio.AbstractEventLoop | None = None
        self._server_loop: asyncio.AbstractEventLoop | None = None
        self._wake = asyncio.Event()
        self._caller = Caller()
        self._call: Call | None = None
        self._contact = Contact.WAITING
        self._snapshot: Snapshot | None = None
        self._sent_s = clock()
        self._number = 0
        self._event = b""
        self._readers: set[asyncio.Event] = set()
        self._closed = False
        self._answers: OrderedDict[str, asyncio.Task[PressOutcome]] = OrderedDict()
        self.taken = 0
        """How many marks the monitor was given."""

    # The monitor's side

    def joined(self, loop: asyncio.AbstractEventLoop) -> None:
        """Take note of where marks go."""
        self._monitor_loop = loop

    def deliver(self, snapshot: Snapshot) -> None:
        """Keep this snapshot in place of any unread one, and wake the server."""
        self._last = snapshot
        self._call = self._caller.take(snapshot) or self._call
        self._mail.deliver((snapshot, self._clock()))

    def ended(self) -> None:
        """Tell the pages that nothing comes any more."""
        self._monitor_loop, self._last = None, None
        self._mail.fail(phone_words.JOB_ENDED)

    def _ring(self) -> None:
        if self._server_loop is not None:
            self._server_loop.call_soon_threadsafe(self._wake.set)

    # The server's side

    async def pump(self) -> None:
        """Turn snapshots into messages until cancelled; in the server's loop."""
        self._server_loop = asyncio.get_running_loop()
        while True:
            self._take()
            self._tell()
            await asyncio.sleep(SPACING_S)
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(self._wake.wait(), SILENT_S - SPACING_S)
            self._wake.clear()

    def _take(self) -> None:
        unread, self._failure = self._mail.take()
        if unread is not None:
            self._snapshot, self._sent_s = unread
            self._contact = Contact.HELD
        if self._failure:
            self._contact = Contact.ENDED
        elif self._clock() - self._sent_s > CONTACT_S:
            self._contact = Contact.LOST

    def _tell(self) -> None:
        sent = message(self._scene(), sent_s=self._sent_s, call=self._call)
        self._event = encode(sent)
        self._number += 1
        for reader in self._readers:
            reader.set()

    def _scene(self) -> Scene:
        return Scene(
            sheet=self._sheet,
            unit=self.unit,
            contact=self._contact,
            stale_s=self.stale_s,
            snapshot=self._snapshot,
            failure=self._failure,
            source=self._source,
            speed=getattr(self._monitor_loop, "speed", None),
            unread=self.unread,
        )

    async def events(self) -> AsyncGenerator[bytes, None]:
        """Yield the newest message whenever it has changed; none is ever queued."""
        reader = asyncio.Event()
        self._readers.add(reader)
        seen = 0
        try:
            while not self._closed:
                if seen == self._number:
                    await reader.wait()
                reader.clear()
                if seen != self._number:
                    seen = self._number
                    yield self._event
        finally:
            self._readers.discard(reader)

    @property
    def watching(self) -> int:
        """How many pages are following now."""
        return len(self._readers)

    def close(self) -> None:
        """End every stream; from any thread."""
        self._closed = True
        loop = self._server_loop
        if loop is not None:
            with contextlib.suppress(RuntimeError):  # it has ended already
                loop.call_soon_threadsafe(self._end_streams)

    def _end_streams(self) -> None:
        for reader in self._readers:
            reader.set()

    # Marks

    async def press(self, press: Press) -> tuple[PressOutcome, bool]:
        """Give a mark to the monitor; say what became of it, and if it is a repeat.

        A nonce seen before gives the first answer again and tells nothing. The page
        cannot vouch for its own clock: ``at_s`` too far in the past, or in the
        future, is late as well. So a nonce that was forgotten is always late.
        """
        known = self._answers.get(press.nonce)
        if known is not None:
            return await asyncio.shield(known), True
        if not -0.5 <= self._clock() - press.at_s <= LATE_S:
            return PressOutcome.TOO_LATE, False
        task = asyncio.create_task(self._give(press.mark))
        self._answers[press.nonce] = task
        if len(self._answers) > MOST_NONCES:
            self._answers.popitem(last=False)
        return await asyncio.shield(task), False

    async def _give(self, mark: Mark) -> PressOutcome:
        loop = self._monitor_loop
        if loop is None:
            return PressOutcome.NO_MONITOR
        answer: Future[PressOutcome] = Future()
        try:
            loop.call_soon_threadsafe(self._take_mark, mark, answer)
        except RuntimeError:  # the loop has ended
            return PressOutcome.NO_MONITOR
        taken = asyncio.wrap_future(answer)
        await asyncio.wait({taken}, timeout=TAKING_S)
        # Should the monitor come to it yet, it is not taken; if it has, it is.
        return PressOutcome.NO_MONITOR if answer.cancel() else await taken

    def _take_mark(self, mark: Mark, answer: Future[PressOutcome]) -> None:
        """Judge and tell, in the monitor's loop: nothing can come in between."""
        if answer.set_running_or_notify_cancel():
            outcome = PressOutcome.NO_MONITOR
            try:
                outcome = self._judge(mark)
            finally:
                answer.set_result(outcome)

    def _judge(self, mark: Mark) -> PressOutcome:
        step = self._last.step if self._last else None
        offered = () if self.unread else by_button(step)
        if not any(o.mark is mark for o in offered):
            return PressOutcome.NOT_NOW
        if self._commands.tell(Marked(mark=mark, t_s=0.0)) is None:
            return PressOutcome.NO_MONITOR
        self.taken += 1
        return PressOutcome.TAKEN
