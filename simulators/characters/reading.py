"""Characters that show while the fluid is read: lost characters, refusals, pauses."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from bridge.values.causes import Cause
from simulators.adapter.hooks import variant
from simulators.characters.character import CAN, Character
from simulators.characters.commands_known import NoCountDigit
from simulators.faults.fault import falsified, from_neighbour

if TYPE_CHECKING:
    from simulators.adapter.hooks import BusRequest


def _is_fluid(ask: BusRequest) -> bool:
    return ask.payload[0] in (0x21, 0x22)


class _HalfByte(Character):
    name = "half-byte"
    about = "the last digit of every line of data is missing"
    refused_as = Cause.CHARACTERS_LOST

    def line(self, ask: BusRequest, text: str) -> str:  # noqa: ARG002 - all lines alike
        return text.rstrip()[:-1]


class _LostEnds(Character):
    name = "lost-ends"
    about = "the last byte of every line of data is missing"
    refused_as = Cause.CUT_SHORT
    needs = CAN

    def line(self, ask: BusRequest, text: str) -> str:  # noqa: ARG002 - all lines alike
        return text.rstrip()[:-2]


class _EveryOther(Character):
    name = "every-other"
    about = "every other question for the fluid is answered NO DATA"
    takes_s = 0.4  # the first one is among them: its wait, and a round
    _count = 0

    def replies(self, ask: BusRequest) -> None:
        if _is_fluid(ask):
            self._count += 1
            if self._count % 2:
                ask.say = "NO DATA"


class _Hiccups(Character):
    name = "hiccups"
    about = "CAN ERROR from 6 to 8 s; later once STOPPED and once ERR94"

    def __init__(self, *, seed: int = 0) -> None:
        super().__init__(seed=seed)
        self._once = {9.0: "STOPPED", 10.0: "ERR94"}

    def replies(self, ask: BusRequest) -> None:
        now_s = self.bench.now_s()
        if 6.0 <= now_s < 8.0:
            ask.say = "CAN ERROR"
        for at_s in [t for t in self._once if now_s >= t]:
            ask.say = self._once.pop(at_s)


class _CoolantZero(Character):
    name = "coolant-zero"
    about = "the coolant reads -40 °C for ever (byte 00)"

    def replies(self, ask: BusRequest) -> None:
        if ask.payload[:2] == b"\x01\x05":
            zero = b"\x41\x05\x00"
            ask.change(lambda body: zero if body[:2] == zero[:2] else body)


class _PendingFirst(Character):
    name = "pending-first"
    about = "the gearbox says 7F xx 78 before each answer"

    def replies(self, ask: BusRequest) -> None:
        if _is_fluid(ask):
            ask.replies = [
                part
                for r in ask.replies
                for part in (
                    replace(r, payload=bytes((0x7F, ask.payload[0], 0x78))),
                    replace(r, t_s=r.t_s + 0.05),
                )
            ]


class _Twice(Character):
    name = "twice"
    about = "every line of data is printed twice"

    def line(self, ask: BusRequest, text: str) -> str:  # noqa: ARG002 - all lines alike
        return f"{text}\r{text}"


class _Refusing(Character):
    """The gearbox refuses the question for the fluid."""

    code: ClassVar[int]

    def replies(self, ask: BusRequest) -> None:
        if _is_fluid(ask):
            ask.change(lambda _: bytes((0x7F, ask.payload[0], self.code)))


def _refusing(name: str, code: int, cause: Cause) -> type[Character]:
    about = f"the gearbox refuses the fluid with code {code:02X}"
    return variant(_Refusing, name, about, code=code, refused_as=cause)


class _Saying(Character):
    """The adapter prints a text in the place of answers."""

    text: ClassVar[str]
    fluid_only: ClassVar[bool]

    def replies(self, ask: BusRequest) -> None:
        if _is_fluid(ask) or not self.fluid_only:
            ask.say = self.text


def _fluid_is_answered(name: str, text: str, cause: Cause) -> type[Character]:
    about = f"the fluid is answered {text}"
    return variant(_Saying, name, about, text=text, fluid_only=True, refused_as=cause)


def _all_is_answered(name: str, text: str, cause: Cause) -> type[Character]:
    about = f"all requests are answered {text}"
    return variant(_Saying, name, about, text=text, fluid_only=False, refused_as=cause)


class _Restarts(Character):
    name = "restarts"
    about = "LV RESET and the banner instead of each answer for the fluid"
    refused_as = Cause.ADAPTER_RESTARTED

    def typed(self, line: str) -> str | None:
        if line[:2] not in ("21", "22"):
            return None
        self.bench.adapter.reset("LV RESET")
        return ""


class _ErrorMarks(Character):
    name = "error-marks"
    about = "every line of data ends in <DATA ERROR"
    refused_as = Cause.DAMAGED

    def line(self, ask: BusRequest, text: str) -> str:  # noqa: ARG002 - all lines alike
        return f"{text.rstrip()} <DATA ERROR"


class _Foreign(Character):
    name = "foreign"
    about = "another unit answers the question for the fluid"
    refused_as = Cause.OTHER_UNIT
    needs = CAN

    def replies(self, ask: BusRequest) -> None:
        if _is_fluid(ask):
            ask.replies = [from_neighbour(r) for r in ask.replies]


class _Behind(Character):
    name = "behind"
    about = "the answer for the fluid echoes another identifier"
    refused_as = Cause.OTHER_QUESTION

    def replies(self, ask: BusRequest) -> None:
        if _is_fluid(ask):
            ask.change(lambda body: body[:1] + bytes((body[1] ^ 0x04,)) + body[2:])


class _TwoValues(NoCountDigit):  # so that all are waited for
    name = "two-values"
    about = "the fluid's question gets two answers that differ"
    refused_as = Cause.CONTRADICTION

    def replies(self, ask: BusRequest) -> None:
        if _is_fluid(ask):
            ask.replies += [
                replace(r, payload=falsified(r.payload), t_s=r.t_s + 0.001)
                for r in ask.replies
            ]


class _OneByteMore(Character):
    name = "one-byte-more"
    about = "the answer for the fluid is a byte longer than the sheet says"
    refused_as = Cause.WRONG_LENGTH

    def replies(self, ask: BusRequest) -> None:
        if _is_fluid(ask):
            ask.change(lambda body: body + b"\x5a")


READING: tuple[type[Character], ...] = (
    _HalfByte,
    _LostEnds,
    _EveryOther,
    _Hiccups,
    _CoolantZero,
    _PendingFirst,
    _Twice,
    _refusing("busy", 0x21, Cause.UNIT_BUSY),
    _refusing("conditions-not-correct", 0x22, Cause.CONDITIONS),
    _refusing("identifier-unknown", 0x31, Cause.IDENTIFIER_UNKNOWN),
    _refusing("service-unknown", 0x11, Cause.SERVICE_UNKNOWN),
    _refusing("session-needed", 0x7F, Cause.SESSION_NEEDED),
    _refusing("locked", 0x33, Cause.LOCKED),
    _refusing("rejects", 0x10, Cause.UNIT_REFUSED),
    _fluid_is_answered("gearbox-silent", "NO DATA", Cause.UNIT_SILENT),
    _all_is_answered("nobody-answers", "NO DATA", Cause.NO_UNITS),
    _all_is_answered("bus-error", "CAN ERROR", Cause.BUS_ERROR),
    _all_is_answered("bus-busy", "BUS BUSY", Cause.BUS_BUSY),
    _all_is_answered("act-alert", "ACT ALERT", Cause.ADAPTER_ERROR),
    _fluid_is_answered("buffer-full", "BUFFER FULL", Cause.BUFFER_FULL),
    _Restarts,
    _ErrorMarks,
    _Foreign,
    _Behind,
    _TwoValues,
    _OneByteMore,
)
