"""What else may be at the port: no adapter at all, or one nobody can hear."""

from __future__ import annotations

from bridge.values.causes import Cause
from simulators.characters.character import Character


class _Stranger(Character):
    """Hears for the adapter behind it and sends what ``answers`` returns."""

    def arriving(self, data: bytes) -> bytes:
        for answer in self.answers(data):
            self.bench.adapter.emit(answer)
        return b""

    def answers(self, data: bytes) -> list[bytes]:
        raise NotImplementedError


class _LoopBack(_Stranger):
    name = "loop-back"
    about = "every line comes back and nothing else"
    refused_as = Cause.ONLY_ECHO

    def answers(self, data: bytes) -> list[bytes]:
        return [data]


class _Modem(_Stranger):
    name = "modem"
    about = "OK or ERROR to every command, never a prompt"
    refused_as = Cause.MODEM
    knows = (b"ATZ", b"ATE0", b"ATI", b"ATL0", b"ATS0")

    def answers(self, data: bytes) -> list[bytes]:
        lines = [s for s in data.split(b"\r") if s]
        return [
            line + b"\r\r\n" + (b"OK" if line in self.knows else b"ERROR") + b"\r\n"
            for line in lines
        ]


class _WrongSpeed(_Stranger):
    name = "wrong-speed"
    about = "the same unreadable bytes to everything, as at a wrong speed"
    refused_as = Cause.WRONG_SPEED

    def answers(self, data: bytes) -> list[bytes]:  # noqa: ARG002 - whatever it is
        return [b"\xe0\x86\xfc\x18\x80\xe6\xf8\x06"]


class _Mute(_Stranger):
    name = "mute"
    about = "not one byte comes back"
    refused_as = Cause.ADAPTER_SILENT

    def answers(self, data: bytes) -> list[bytes]:  # noqa: ARG002 - whatever it is
        return []


class _OtherDevice(_Stranger):
    name = "stranger"
    about = "another device: an error text and a prompt to everything"
    refused_as = Cause.NOT_AN_ADAPTER

    def answers(self, data: bytes) -> list[bytes]:
        return [b"?\r\n>" for _ in range(data.count(b"\r"))]


STRANGERS: tuple[type[Character], ...] = (
    _LoopBack,
    _Modem,
    _WrongSpeed,
    _Mute,
    _OtherDevice,
)
