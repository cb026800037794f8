"""Faults of the control units and of the bus they answer on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

from simulators.adapter import isotp
from simulators.adapter.bus import can_frames, is_can
from simulators.adapter.hooks import variant
from simulators.faults.fault import (
    BenchFault,
    ExchangeFault,
    echo_size,
    falsified,
    from_neighbour,
    is_positive,
)

if TYPE_CHECKING:
    from simulators.adapter.hooks import BusRequest


@dataclass(eq=False, kw_only=True)
class _Refused(ExchangeFault):
    name = "refused"
    about = "the unit answers 7F with a code (code=0x31)"
    code: int = 0x31

    def replies(self, ask: BusRequest) -> None:
        if self.strikes(ask):
            ask.change(lambda _: bytes((0x7F, ask.payload[0], self.code & 0xFF)))


@dataclass(eq=False, kw_only=True)
class _Busy(_Refused):
    name = "busy"
    about = "the unit answers 7F 21, busy, repeat the request"
    code: int = 0x21


@dataclass(eq=False, kw_only=True)
class _Pending(ExchangeFault):
    name = "pending"
    about = "7F 78, response pending, then the answer (delay=0.35, times=1)"
    delay: float = 0.35
    times: int = 1
    answers_at_last: ClassVar[bool] = True

    def replies(self, ask: BusRequest) -> None:
        """Say 'pending' at once and move the answer back."""
        if not self.strikes(ask):
            return
        wait = bytes((0x7F, ask.payload[0], 0x78))
        waits = [
            replace(reply, payload=wait, t_s=reply.t_s + turn * self.delay)
            for reply in ask.replies
            for turn in range(self.times)
        ]
        ask.delay(self.times * self.delay)
        ask.replies = waits + (ask.replies if self.answers_at_last else [])


@dataclass(eq=False, kw_only=True)
class _StaleFrame(ExchangeFault):
    name = "stale-frame"
    about = "an earlier request's answer comes first (instead=true: alone)"
    instead: bool = False
    _earlier = b""

    def replies(self, ask: BusRequest) -> None:
        """Put the earlier answer in front."""
        true = [reply for reply in ask.replies if is_positive(reply.payload)]
        if true and self.strikes(ask):
            first = true[0]
            stale = replace(
                first,
                payload=self._stale(first.payload),
                t_s=first.t_s - 0.4 * (first.t_s - ask.now_s),
            )
            ask.replies = [stale, *([] if self.instead else ask.replies)]
        if true:
            self._earlier = true[-1].payload

    def _stale(self, payload: bytes) -> bytes:
        size = echo_size(payload)
        if self._earlier and self._earlier[:size] != payload[:size]:
            return self._earlier
        changed = bytearray(falsified(payload))
        changed[size - 1] ^= 0x01  # the neighbouring identifier
        return bytes(changed)


class _ForeignFrame(ExchangeFault):
    name = "foreign-frame"
    about = "another unit answers instead, with the same echo and other data"

    def replies(self, ask: BusRequest) -> None:
        if self.strikes(ask):
            ask.replies = [from_neighbour(reply) for reply in ask.replies]


class _Interleaved(ExchangeFault):
    name = "interleaved"
    about = "another unit's frames fall among those of a long answer"

    def later_s(self) -> float:
        return 0.0001

    def frames(self, ask: BusRequest) -> None:
        """Lay the neighbour's frames, if there is a CAN bus, among the true ones."""
        protocol = self.bench.adapter.memory.protocol
        if not self.strikes(ask) or not is_can(protocol):
            return
        flow = isotp.FlowControl(ident=0)
        for reply in ask.replies:
            if is_positive(reply.payload):
                other = from_neighbour(reply, later_s=self.later_s())
                ask.frames += can_frames(other, protocol, 0x00, flow)


@dataclass(eq=False, kw_only=True)
class _SecondUnit(_Interleaved):
    name = "second-unit"
    about = "another unit answers the same request too (first=true: before)"
    first: bool = False

    def later_s(self) -> float:
        return -0.002 if self.first else 0.0011


class _DuplicateFrame(ExchangeFault):
    name = "duplicate-frame"
    about = "every frame of an answer comes twice"

    def frames(self, ask: BusRequest) -> None:
        if self.strikes(ask):
            ask.frames += [replace(f, t_s=f.t_s + 0.0001) for f in ask.frames]


class _LostFrame(ExchangeFault):
    name = "lost-frame"
    about = "a frame of a long answer is lost; short answers are lost whole"

    def frames(self, ask: BusRequest) -> None:
        """Take out one frame that is not the first, if there are several."""
        if ask.frames and self.strikes(ask):
            least = 1 if len(ask.frames) > 1 else 0
            del ask.frames[self.random.randrange(least, len(ask.frames))]


class _SwappedFrames(ExchangeFault):
    name = "swapped-frames"
    about = "the last two frames of a long answer come in the wrong order"

    def frames(self, ask: BusRequest) -> None:
        if len(ask.frames) > 2 and self.strikes(ask):
            one, two = ask.frames[-2:]
            ask.frames[-2:] = [replace(two, t_s=one.t_s), replace(one, t_s=two.t_s)]


class _ExtraByte(ExchangeFault):
    name = "extra-byte"
    about = "the answer carries one byte more than the identifier has"

    def replies(self, ask: BusRequest) -> None:
        if self.strikes(ask):
            ask.change(lambda body: body + b"\x2a" if is_positive(body) else body)


class _ShortAnswer(ExchangeFault):
    name = "short-answer"
    about = "the unit answers with the echo and no data"

    def replies(self, ask: BusRequest) -> None:
        if self.strikes(ask):
            ask.change(lambda b: b[: echo_size(b)] if is_positive(b) else b)


@dataclass(eq=False, kw_only=True)
class _LateUnit(ExchangeFault):
    name = "late-unit"
    about = "answers come after the adapter stopped listening (delay=0.3)"
    delay: float = 0.3

    def replies(self, ask: BusRequest) -> None:
        if self.strikes(ask):
            ask.delay(self.delay)


class _Mute(ExchangeFault):
    name = "mute-units"
    about = "no control unit answers: the adapter says NO DATA"

    def replies(self, ask: BusRequest) -> None:
        if self.strikes(ask):
            ask.replies = []


class _GearboxAlone(ExchangeFault):
    name = "gearbox-alone"
    about = "the engine unit is missing: only the gearbox answers"

    def replies(self, ask: BusRequest) -> None:
        if self.strikes(ask):
            engine = self.bench.adapter.units[0].reply_id
            ask.replies = [reply for reply in ask.replies if reply.sender != engine]


class _SessionNeeded(BenchFault):
    name = "session-needed"
    about = "services 21 and 22 are refused with 7F outside the extended session"

    def started(self) -> None:
        for unit in self.bench.adapter.units[1:]:  # the first is the engine's
            unit.extended_only = frozenset({0x21, 0x22})

    def stopped(self) -> None:
        for unit in self.bench.adapter.units[1:]:
            unit.extended_only = frozenset()


class _WideUnits(BenchFault):
    name = "29-bit-units"
    about = "the units answer at 29-bit addresses, protocol 7"

    def started(self) -> None:
        units = self.bench.adapter.units
        self._was = [(u.request_id, u.reply_id) for u in units]
        self._protocol = self.bench.car.protocol
        for place, unit in enumerate(units):
            address = 0x10 + 8 * place
            unit.request_id = 0x18DA00F1 | address << 8
            unit.reply_id = 0x18DAF100 | address
        self._choose("7")

    def stopped(self) -> None:
        units = self.bench.adapter.units
        for unit, (request, reply) in zip(units, self._was, strict=True):
            unit.request_id, unit.reply_id = request, reply
        self._choose(self._protocol)

    def _choose(self, protocol: str) -> None:
        self.bench.car.protocol = protocol
        self.bench.adapter.memory.connected = False


BUS_FAULTS: tuple[type[BenchFault], ...] = (
    _Refused, _Busy, _Pending,
    variant(
        _Pending, "pending-for-ever", "7F 78, response pending, and then nothing",
        answers_at_last=False,
    ),
    _StaleFrame, _ForeignFrame, _SecondUnit,
    _Interleaved, _DuplicateFrame, _LostFrame, _SwappedFrames, _ExtraByte, _ShortAnswer,
    _LateUnit, _Mute, _GearboxAlone, _SessionNeeded, _WideUnits,
)  # fmt: skip
