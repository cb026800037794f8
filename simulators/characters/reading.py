"""Characters that show while the fluid is read: lost characters, refusals, pauses."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bridge.values.causes import Cause
from simulators.characters.character import CAN, Character
from simulators.characters.commands_known import NoCountDigit
from simulators.faults.fault import falsified, from_neighbour

if TYPE_CHECKING:
    from simulators.adapter.hooks import BusRequest

FLUID_SERVICES = (0x21, 0x22)


def _is_fluid(ask: BusRequest) -> bool:
    return ask.payload[0] in FLUID_SERVICES


class HalfByte(Character):
    """Half a byte is missing from every line."""

    name = "half-byte"
    about = "the last digit of every line of data is missing"
    refused_as = Cause.CHARACTERS_LOST

    def line(self, ask: BusRequest, text: str) -> str:  # noqa: ARG002 - all lines alike
        """Drop the last digit."""
        return text.rstrip()[:-1]


class LostEnds(Character):
    """The last byte of every line is missing."""

    name = "lost-ends"
    about = "the last byte of every line of data is missing"
    refused_as = Cause.CUT_SHORT
    needs = CAN

    def line(self, ask: BusRequest, text: str) -> str:  # noqa: ARG002 - all lines alike
        """Drop the last two digits."""
        return text.rstrip()[:-2]


class EveryOther(Character):
    """Every other answer is missing."""

    name = "every-other"
    about = "every other question for the fluid is answered NO DATA"
    takes_s = 0.4  # the first one is among them: its wait, and a round

    def __init__(self, *, seed: int = 0) -> None:
        super().__init__(seed=seed)
        self._count = 0

    def replies(self, ask: BusRequest) -> None:
        """Swallow each second one."""
        if _is_fluid(ask):
            self._count += 1
            if self._count % 2:
                ask.say = "NO DATA"


class Hiccups(Character):
    """The bus fails for a while, now and then an answer is a notice."""

    name = "hiccups"
    about = "CAN ERROR from 6 to 8 s; later once STOPPED and once ERR94"

    def __init__(self, *, seed: int = 0) -> None:
        super().__init__(seed=seed)
        self._once = {9.0: "STOPPED", 10.0: "ERR94"}

    def replies(self, ask: BusRequest) -> None:
        """Fail at its times."""
        if 6.0 <= self.now_s < 8.0:
            ask.say = "CAN ERROR"
        for at_s in [t for t in self._once if self.now_s >= t]:
            ask.say = self._once.pop(at_s)


class CoolantZero(Character):
    """The coolant's byte is always 00."""

    name = "coolant-zero"
    about = "the coolant reads -40 °C for ever (byte 00)"

    def replies(self, ask: BusRequest) -> None:
        """Put the byte in."""
        if ask.payload[:2] == b"\x01\x05":
            ask.replies = [
                replace(r, payload=b"\x41\x05\x00")
                if r.payload[:2] == b"\x41\x05"
                else r
                for r in ask.replies
            ]


class PendingFirst(Character):
    """Each answer for the fluid is announced by 'response pending'."""

    name = "pending-first"
    about = "the gearbox says 7F xx 78 before each answer"

    def replies(self, ask: BusRequest) -> None:
        """Announce it, and take a little longer."""
        if _is_fluid(ask):
            ask.replies = [
                part
                for r in ask.replies
                for part in (
                    replace(r, payload=bytes((0x7F, ask.payload[0], 0x78))),
                    replace(r, t_s=r.t_s + 0.05),
                )
            ]


class Twice(Character):
    """Every line comes twice."""

    name = "twice"
    about = "every line of data is printed twice"

    def line(self, ask: BusRequest, text: str) -> str:  # noqa: ARG002 - all lines alike
        """Repeat it."""
        return f"{text}\r{text}"


class Refusing(Character):
    """The gearbox refuses the question for the fluid."""

    code = 0x22

    def replies(self, ask: BusRequest) -> None:
        """Refuse with the code."""
        if _is_fluid(ask):
            body = bytes((0x7F, ask.payload[0], self.code))
            ask.replies = [replace(r, payload=body) for r in ask.replies]


def _refusing(name: str, code: int, cause: Cause) -> type[Refusing]:
    return type(
        "Refusing" + name.title().replace("-", ""),
        (Refusing,),
        {
            "name": name,
            "about": f"the gearbox refuses the fluid with code {code:02X}",
            "code": code,
            "refused_as": cause,
            "__doc__": f"The gearbox refuses the fluid with code {code:02X}.",
        },
    )


REFUSING = tuple(
    _refusing(name, code, cause)
    for name, code, cause in (
        ("busy", 0x21, Cause.UNIT_BUSY),
        ("conditions-not-correct", 0x22, Cause.CONDITIONS),
        ("identifier-unknown", 0x31, Cause.IDENTIFIER_UNKNOWN),
        ("service-unknown", 0x11, Cause.SERVICE_UNKNOWN),
        ("session-needed", 0x7F, Cause.SESSION_NEEDED),
        ("locked", 0x33, Cause.LOCKED),
        ("rejects", 0x10, Cause.UNIT_REFUSED),
    )
)


class Saying(Character):
    """The adapter prints a text in the place of answers."""

    text = ""
    fluid_only = False

    def replies(self, ask: BusRequest) -> None:
        """Say it."""
        if _is_fluid(ask) or not self.fluid_only:
            ask.say = self.text


def _saying(
    name: str, text: str, cause: Cause, *, fluid_only: bool = False
) -> type[Saying]:
    return type(
        "Saying" + name.title().replace("-", ""),
        (Saying,),
        {
            "name": name,
            "about": f"{'the fluid is' if fluid_only else 'all requests are'} "
            f"answered {text}",
            "text": text,
            "fluid_only": fluid_only,
            "refused_as": cause,
            "__doc__": f"The adapter prints {text}.",
        },
    )


SAYING = (
    _saying("gearbox-silent", "NO DATA", Cause.UNIT_SILENT, fluid_only=True),
    _saying("nobody-answers", "NO DATA", Cause.NO_UNITS),
    _saying("bus-error", "CAN ERROR", Cause.BUS_ERROR),
    _saying("bus-busy", "BUS BUSY", Cause.BUS_BUSY),
    _saying("act-alert", "ACT ALERT", Cause.ADAPTER_ERROR),
    _saying("buffer-full", "BUFFER FULL", Cause.BUFFER_FULL, fluid_only=True),
)


class Restarts(Character):
    """Each question for the fluid makes the adapter start anew."""

    name = "restarts"
    about = "LV RESET and the banner instead of each answer for the fluid"
    refused_as = Cause.ADAPTER_RESTARTED

    def typed(self, line: str) -> str | None:
        """Start anew."""
        if line[:2] not in ("21", "22") or self.bench is None:
            return None
        self.bench.adapter.reset("LV RESET")
        return ""


class ErrorMarks(Character):
    """Every line is marked as damaged."""

    name = "error-marks"
    about = "every line of data ends in <DATA ERROR"
    refused_as = Cause.DAMAGED

    def line(self, ask: BusRequest, text: str) -> str:  # noqa: ARG002 - all lines alike
        """Add the mark."""
        return f"{text.rstrip()} <DATA ERROR"


class Foreign(Character):
    """The fluid's question is answered by another unit."""

    name = "foreign"
    about = "another unit answers the question for the fluid"
    refused_as = Cause.OTHER_UNIT
    needs = CAN

    def replies(self, ask: BusRequest) -> None:
        """Put another sender in."""
        if _is_fluid(ask):
            ask.replies = [from_neighbour(r) for r in ask.replies]


class Behind(Character):
    """The fluid's question is answered with another identifier's value."""

    name = "behind"
    about = "the answer for the fluid echoes another identifier"
    refused_as = Cause.OTHER_QUESTION

    def replies(self, ask: BusRequest) -> None:
        """Change the identifier that is echoed."""
        if _is_fluid(ask):
            ask.replies = [
                replace(r, payload=_other_echo(r.payload)) for r in ask.replies
            ]


def _other_echo(payload: bytes) -> bytes:
    return payload[:1] + bytes((payload[1] ^ 0x04,)) + payload[2:]


class TwoValues(NoCountDigit):
    """Two answers to one question, with other data; all are waited for."""

    name = "two-values"
    about = "the fluid's question gets two answers that differ"
    refused_as = Cause.CONTRADICTION

    def replies(self, ask: BusRequest) -> None:
        """Add a second one."""
        if _is_fluid(ask):
            ask.replies += [
                replace(r, payload=falsified(r.payload), t_s=r.t_s + 0.001)
                for r in ask.replies
            ]


class OneByteMore(Character):
    """The fluid's answer is a byte longer than the sheet says."""

    name = "one-byte-more"
    about = "the answer for the fluid is a byte longer than the sheet says"
    refused_as = Cause.WRONG_LENGTH

    def replies(self, ask: BusRequest) -> None:
        """Add a byte."""
        if _is_fluid(ask):
            ask.replies = [replace(r, payload=r.payload + b"\x5a") for r in ask.replies]


READING: tuple[type[Character], ...] = (
    HalfByte, LostEnds, EveryOther, Hiccups, CoolantZero, PendingFirst, Twice,
    *REFUSING, *SAYING, Restarts, ErrorMarks, Foreign, Behind, TwoValues, OneByteMore,
)  # fmt: skip
