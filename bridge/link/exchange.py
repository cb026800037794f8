"""One line out, lines in until the prompt: the ELM327-class text exchange.

The exchange has exactly one owner at a time. Every question has one deadline;
whatever arrived before a question was asked (a late answer, a banner) is thrown away
first. What arrives after it is taken for its answer: nothing on the wire tells a late
answer to the question before from the one to this question, if both read alike. So the
age of a reading counts from the moment its question was asked, and an answer that does
not echo its question is refused further up.
"""

from __future__ import annotations

import asyncio
import contextlib
import re
from collections import deque
from dataclasses import dataclass

from bridge.link.clock import now_s
from bridge.link.ports.port import GuardedPort
from bridge.protocol.reply import RESET_TEXTS, clean
from bridge.protocol.request import NONSENSE
from bridge.values.errors import LinkLost
from bridge.values.frozen import frozen

PROMPT = b">"
FLOOD_BYTES = 65_536
"""More than this without a prompt is noise, not an answer."""
LONG_BYTES = 2048
"""Progress notices are shorter: longer text is not searched again at every byte."""
QUIET_S = 0.05
"""Silence after a prompt that shows the adapter has nothing left to say."""
HEARD = 24
"""How many questions and answers are kept, to tell what is at the port."""

_PENDING = re.compile(r"7F ?[0-9A-F]{2} ?78")
"""A unit's 'response pending' (ISO 14229-1) among what came."""


class AdapterSilent(Exception):  # noqa: N818 - a state of affairs
    """No prompt within the deadline."""


class AdapterReset(Exception):  # noqa: N818 - a state of affairs
    """The adapter restarted by itself and has forgotten its settings."""


@frozen
class Said:
    """What the adapter answered to one line."""

    lines: tuple[str, ...]
    """Without the echo and the prompt; never blank."""
    asked_s: float
    """When the line was written, in loop time."""
    t_s: float
    """When the last byte arrived, in loop time."""


@dataclass(frozen=True, slots=True)
class Heard:
    """A line that was written, and the raw text that came back to it."""

    line: str
    raw: str
    ended: bool
    """Whether a prompt ended it."""


class Exchange:
    """The conversation on one open port."""

    def __init__(self, port: GuardedPort) -> None:
        self._port = port
        self._buffer = bytearray()
        self._last_byte_s = now_s()
        self._arrived = asyncio.Event()
        self._lost: LinkLost | None = None
        self.heard: deque[Heard] = deque(maxlen=HEARD)
        self._reader = asyncio.create_task(self._listen())

    async def _listen(self) -> None:
        try:
            while True:
                data, t_s = await self._port.read()
                self._last_byte_s = t_s
                if len(self._buffer) < 2 * FLOOD_BYTES:
                    self._buffer += data
                self._arrived.set()
        except LinkLost as lost:
            self._lost = lost
            self._arrived.set()

    async def ask(
        self, line: str, *, deadline_s: float, pause_s: float | None = None
    ) -> Said:
        """Send a line and return what came before the next prompt.

        ``pause_s``: the longest silence in the middle of an answer; None: any. A
        notice of progress is no part of an answer, and may be followed by silence.

        Raises:
            AdapterSilent: no prompt within ``deadline_s`` seconds.
            AdapterReset: a banner or reset notice had arrived unasked.
            LinkLost: the port is gone.
        """
        if RESET_TEXTS.search(self.discard()):
            raise AdapterReset
        asked_s = now_s()
        raw = await self._say(line, asked_s + deadline_s, pause_s)
        kept = tuple(s for s in _lines(raw) if s.strip("\0 ") and s != line)
        return Said(lines=kept, asked_s=asked_s, t_s=self._last_byte_s)

    async def _say(
        self, line: str, until_s: float, pause_s: float | None = None
    ) -> str:
        """Write a line and return what comes before the next prompt."""
        self._port.write_line(line)
        try:
            raw = await self._until_prompt(until_s, line, pause_s)
        except AdapterSilent:
            self.heard.append(Heard(line, self._text(), ended=False))
            raise
        self.heard.append(Heard(line, raw, ended=True))
        return raw

    def discard(self) -> str:
        """Throw away what arrived unasked, and return it as text."""
        stray = self._text()
        self._buffer.clear()
        return stray

    def _begun(self, line: str) -> bool:
        """Tell whether more has come than the echo and what asks for patience."""
        if len(self._buffer) > LONG_BYTES:
            return True
        text = self._text()
        more = any(said != line for said in clean(_lines(text)))
        return more and _PENDING.search(text) is None

    def _text(self) -> str:
        return self._buffer.decode("ascii", "replace")

    async def _until_prompt(
        self, until_s: float, line: str, pause_s: float | None
    ) -> str:
        while PROMPT not in self._buffer:
            if len(self._buffer) > FLOOD_BYTES:
                raise AdapterSilent
            end_s = until_s
            if pause_s is not None and self._begun(line):
                end_s = min(until_s, self._last_byte_s + pause_s)
            await self._more(end_s)
        raw, _, rest = bytes(self._buffer).partition(PROMPT)
        self._buffer[:] = rest
        return raw.decode("ascii", "replace")

    async def _more(self, until_s: float) -> None:
        """Wait for more bytes; raise when there will be none in time."""
        if self._lost is not None:
            raise self._lost
        self._arrived.clear()
        try:
            async with asyncio.timeout_at(until_s):
                await self._arrived.wait()
        except TimeoutError:
            raise AdapterSilent from None
        if self._lost is not None:
            raise self._lost

    async def resync(self, *, deadline_s: float) -> None:
        """Get back into step after a missed prompt; what was pending is discarded.

        Raises:
            AdapterSilent: still no prompt. LinkLost: the port is gone.
        """
        self.discard()
        asked_s = now_s()
        await self._say(NONSENSE, asked_s + deadline_s)
        with contextlib.suppress(AdapterSilent):
            while True:  # further prompts belong to answers that are too late
                await self._more(min(asked_s + deadline_s, now_s() + QUIET_S))
                self.discard()
        self.discard()

    def close(self) -> None:
        """End the conversation and release the port."""
        self._reader.cancel()
        self._port.close()


def _lines(raw: str) -> list[str]:
    return [s.strip() for s in raw.replace("\n", "\r").split("\r")]
