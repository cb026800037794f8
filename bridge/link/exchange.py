"""One line out, lines in until the prompt: the ELM327-class text exchange.

The exchange has exactly one owner at a time. Every question has one deadline;
whatever arrives outside a question (a late answer, a banner) is thrown away before
the next one is asked, so an old answer can never pass for a new one.
"""

from __future__ import annotations

import asyncio
import contextlib
from dataclasses import dataclass

from bridge.link.clock import now_s
from bridge.link.ports.port import GuardedPort
from bridge.protocol.reply import RESET_TEXTS
from bridge.protocol.request import NONSENSE
from bridge.values.errors import LinkLost

PROMPT = b">"
FLOOD_BYTES = 65_536
"""More than this without a prompt is noise, not an answer."""
QUIET_S = 0.05
"""Silence after a prompt that shows the adapter has nothing left to say."""


class AdapterSilent(Exception):  # noqa: N818 - a state of affairs
    """No prompt within the deadline."""


class AdapterReset(Exception):  # noqa: N818 - a state of affairs
    """The adapter restarted by itself and has forgotten its settings."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What the adapter answered to one line."""

    lines: tuple[str, ...]
    """Without the echo and the prompt; never blank."""
    t_s: float
    """When the last byte arrived, in loop time."""


class Exchange:
    """The conversation on one open port."""

    def __init__(self, port: GuardedPort) -> None:
        self._port = port
        self._buffer = bytearray()
        self._last_byte_s = now_s()
        self._arrived = asyncio.Event()
        self._lost: LinkLost | None = None
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

    async def ask(self, line: str, *, deadline_s: float) -> Said:
        """Send a line and return what came before the next prompt.

        Raises:
            AdapterSilent: no prompt within ``deadline_s`` seconds.
            AdapterReset: a banner or reset notice had arrived unasked.
            LinkLost: the port is gone.
        """
        if RESET_TEXTS.search(self.discard()):
            raise AdapterReset
        self._port.write_line(line)
        raw = await self._until_prompt(now_s() + deadline_s)
        lines = [s.strip() for s in raw.replace("\n", "\r").split("\r")]
        kept = tuple(s for s in lines if s.strip("\0 ") and s != line)
        return Said(lines=kept, t_s=self._last_byte_s)

    def discard(self) -> str:
        """Throw away what arrived unasked, and return it as text."""
        stray = self._buffer.decode("ascii", "replace")
        self._buffer.clear()
        return stray

    async def _until_prompt(self, until_s: float) -> str:
        while PROMPT not in self._buffer:
            if len(self._buffer) > FLOOD_BYTES:
                raise AdapterSilent
            await self._more(until_s)
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
        self._port.write_line(NONSENSE)
        until_s = now_s() + deadline_s
        await self._until_prompt(until_s)
        with contextlib.suppress(AdapterSilent):
            while True:  # further prompts belong to answers that are too late
                await self._more(min(until_s, now_s() + QUIET_S))
                self.discard()
        self.discard()

    def close(self) -> None:
        """End the conversation and release the port."""
        self._reader.cancel()
        self._port.close()
