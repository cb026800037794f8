"""What else may be at the port: no adapter at all, or one nobody can hear."""

from __future__ import annotations

from bridge.values.causes import Cause
from simulators.characters.character import Character


class Answering(Character):
    """Something at the port that is no adapter at all; ``reply`` says what it sends."""

    def arriving(self, data: bytes) -> bytes:
        """Hear for it, so that the adapter behind it hears nothing."""
        if self.bench is not None:
            for answer in self.answers(data):
                self.bench.adapter.emit(answer)
        return b""

    def answers(self, data: bytes) -> list[bytes]:
        """Return what comes back to these bytes."""
        raise NotImplementedError


class LoopBack(Answering):
    """Every byte comes back and nothing else."""

    name = "loop-back"
    about = "every line comes back and nothing else"
    refused_as = Cause.ONLY_ECHO

    def answers(self, data: bytes) -> list[bytes]:
        """Send the bytes back."""
        return [data]


class Modem(Answering):
    """A modem: OK to ATZ and ATE0, ERROR to the rest, never a prompt."""

    name = "modem"
    about = "OK or ERROR to every command, never a prompt"
    refused_as = Cause.MODEM

    def answers(self, data: bytes) -> list[bytes]:
        """Answer each line as a modem does."""
        lines = [s for s in data.split(b"\r") if s]
        return [
            line + b"\r\r\n" + (b"OK" if line in _MODEM_KNOWS else b"ERROR") + b"\r\n"
            for line in lines
        ]


_MODEM_KNOWS = (b"ATZ", b"ATE0", b"ATI", b"ATL0", b"ATS0")


class WrongSpeed(Answering):
    """The same unreadable bytes come back to everything."""

    name = "wrong-speed"
    about = "the same unreadable bytes to everything, as at a wrong speed"
    refused_as = Cause.WRONG_SPEED

    def answers(self, data: bytes) -> list[bytes]:  # noqa: ARG002 - whatever it is
        """Send bytes that are no text."""
        return [b"\xe0\x86\xfc\x18\x80\xe6\xf8\x06"]


class MuteStranger(Answering):
    """Nothing comes back."""

    name = "mute"
    about = "not one byte comes back"
    refused_as = Cause.ADAPTER_SILENT

    def answers(self, data: bytes) -> list[bytes]:  # noqa: ARG002 - whatever it is
        """Say nothing."""
        return []


class Stranger(Answering):
    """Another device with a prompt of its own."""

    name = "stranger"
    about = "another device: an error text and a prompt to everything"
    refused_as = Cause.NOT_AN_ADAPTER

    def answers(self, data: bytes) -> list[bytes]:
        """Complain about each line."""
        return [b"?\r\n>" for _ in range(data.count(b"\r"))]


STRANGERS: tuple[type[Character], ...] = (
    LoopBack,
    Modem,
    WrongSpeed,
    MuteStranger,
    Stranger,
)
