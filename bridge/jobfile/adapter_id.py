"""Hears what an adapter says about itself, for the record; changes nothing.

It stands between the program and the port: the adapter's name is its answer to ATZ,
ATWS or ATI, the protocol its answer to ATDPN (a digit; A before it: found by itself).
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any, Protocol

NAMES = {
    "ATZ": "banner",
    "ATWS": "banner",
    "ATI": "banner",
    "ATDPN": "protocol",
}
_MOST_BYTES = 200
_PROMPT = b">"


class Ported(Protocol):
    """The part of a port that is listened to."""

    async def read(self) -> tuple[bytes, float]:
        """Return the next bytes with their arrival time."""

    def write(self, data: bytes) -> None:
        """Send bytes."""

    def close(self) -> None:
        """Release the port."""


Opener = Callable[[], Awaitable[Any]]
Tell = Callable[[str, dict[str, Any]], object]
"""Where an event goes: Recorder.note_event."""


class AdapterId:
    """Remembers what was last heard, over every port that is opened."""

    def __init__(self, tell: Tell) -> None:
        self._tell = tell
        self._known: dict[str, Any] = {}

    def wrap(self, opener: Opener) -> Opener:
        """Return an opener whose ports are listened to."""

        async def open_heard() -> HeardPort:
            return HeardPort(await opener(), self)

        return open_heard

    def heard(self, name: str, text: str) -> None:
        """Take an answer; a new one goes into the record."""
        if text and self._known.get(name) != text:
            self._known = {**self._known, name: text}
            self._tell("adapter", self._known)


class HeardPort:
    """A port that is listened to; everything else is the port's own."""

    def __init__(self, port: Ported, ear: AdapterId) -> None:
        self._port, self._ear = port, ear
        self._asked, self._answer = "", b""

    async def read(self) -> tuple[bytes, float]:
        """Return the next bytes with their arrival time."""
        data, t_s = await self._port.read()
        if self._asked:
            self._answer = (self._answer + data)[:_MOST_BYTES]
            if _PROMPT in self._answer:
                self._ear.heard(NAMES[self._asked], answer(self._asked, self._answer))
                self._asked = ""
        return data, t_s

    def write(self, data: bytes) -> None:
        """Send bytes."""
        line = data.decode("latin-1").strip().upper()
        self._asked, self._answer = (line if line in NAMES else ""), b""
        self._port.write(data)

    def close(self) -> None:
        """Release the port."""
        self._port.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._port, name)


def answer(asked: str, data: bytes) -> str:
    """Return the last line before the prompt; '' if there is none but the echo."""
    text = data.split(_PROMPT, 1)[0].decode("latin-1")
    lines = [line.strip() for line in text.replace("\n", "\r").split("\r")]
    heard = [s for s in lines if s and s.replace(" ", "").upper() != asked and s != "?"]
    return "".join(c if " " <= c <= "~" else "?" for c in heard[-1]) if heard else ""
