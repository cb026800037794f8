"""Faults of the control units and of the bus they answer on."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from simulators.adapter import isotp
from simulators.adapter.bus import can_frames, is_can
from simulators.car.ecu import Reply
from simulators.faults.fault import (
    BenchFault,
    echo_size,
    falsified,
    from_neighbour,
    is_positive,
)

if TYPE_CHECKING:
    from simulators.adapter.hooks import BusRequest, Host


class RefusedReply(BenchFault):
    """Every request gets a negative response."""

    name = "refused"
    about = "the unit answers 7F with a code (code=0x31)"

    def __init__(self, *, code: int = 0x31, chance: float = 1.0, only: str = "",
                 seed: int = 0) -> None:  # fmt: skip
        super().__init__(chance=chance, only=only, seed=seed)
        self.code = code & 0xFF

    def replies(self, ask: BusRequest) -> None:
        """Put the refusal in the place of every answer."""
        if self.strikes(ask):
            refusal = bytes((0x7F, ask.payload[0], self.code))
            ask.replies = [replace(reply, payload=refusal) for reply in ask.replies]


class Busy(RefusedReply):
    """The unit asks for the request to be repeated."""

    name = "busy"
    about = "the unit answers 7F 21, busy, repeat the request"

    def __init__(self, *, chance: float = 1.0, only: str = "", seed: int = 0) -> None:
        super().__init__(code=0x21, chance=chance, only=only, seed=seed)


class Pending(BenchFault):
    """The unit asks for time, then answers."""

    name = "pending"
    about = "7F 78, response pending, then the answer (delay=0.35, times=1)"

    def __init__(self, *, delay: float = 0.35, times: int = 1, chance: float = 1.0,
                 only: str = "", seed: int = 0) -> None:  # fmt: skip
        super().__init__(chance=chance, only=only, seed=seed)
        self.delay_s, self.times = delay, times

    def replies(self, ask: BusRequest) -> None:
        """Say 'pending' at once and move the answer back."""
        if not self.strikes(ask):
            return
        wait = bytes((0x7F, ask.payload[0], 0x78))
        waits = [
            replace(reply, payload=wait, t_s=reply.t_s + turn * self.delay_s)
            for reply in ask.replies
            for turn in range(self.times)
        ]
        late_s = self.times * self.delay_s
        ask.replies = waits + self.answers(ask, late_s)

    def answers(self, ask: BusRequest, late_s: float) -> list[Reply]:
        """Return the answers that follow."""
        return [replace(reply, t_s=reply.t_s + late_s) for reply in ask.replies]


class PendingForEver(Pending):
    """The unit asks for time and never answers."""

    name = "pending-for-ever"
    about = "7F 78, response pending, and then nothing"

    def answers(self, ask: BusRequest, late_s: float) -> list[Reply]:  # noqa: ARG002 - none come
        """Nothing follows."""
        return []


class StaleFrame(BenchFault):
    """The answer to an earlier request arrives first, or instead."""

    name = "stale-frame"
    about = "an earlier request's answer comes first (instead=true: alone)"

    def __init__(self, *, instead: bool = False, chance: float = 1.0, only: str = "",
                 seed: int = 0) -> None:  # fmt: skip
        super().__init__(chance=chance, only=only, seed=seed)
        self.instead = instead
        self._earlier: bytes = b""

    def replies(self, ask: BusRequest) -> None:
        """Put the earlier answer in front."""
        true = [reply for reply in ask.replies if is_positive(reply.payload)]
        if true and self.strikes(ask):
            first = true[0]
            stale = replace(first, payload=self._stale(first.payload))
            first_s = first.t_s - 0.4 * (first.t_s - ask.now_s)
            ask.replies = [replace(stale, t_s=first_s)] + (
                [] if self.instead else ask.replies
            )
        if true:
            self._earlier = true[-1].payload

    def _stale(self, payload: bytes) -> bytes:
        size = echo_size(payload)
        if self._earlier and self._earlier[:size] != payload[:size]:
            return self._earlier
        changed = bytearray(falsified(payload))
        changed[size - 1] ^= 0x01  # the neighbouring identifier
        return bytes(changed)


class ForeignFrame(BenchFault):
    """Another unit's frame comes instead of the right one."""

    name = "foreign-frame"
    about = "another unit answers instead, with the same echo and other data"

    def replies(self, ask: BusRequest) -> None:
        """Put the neighbour's answers in the place of the true ones."""
        if self.strikes(ask):
            ask.replies = [from_neighbour(reply) for reply in ask.replies]


class SecondUnit(BenchFault):
    """Another unit answers as well."""

    name = "second-unit"
    about = "another unit answers the same request too (first=true: before)"

    def __init__(self, *, first: bool = False, chance: float = 1.0, only: str = "",
                 seed: int = 0) -> None:  # fmt: skip
        super().__init__(chance=chance, only=only, seed=seed)
        self.later_s = -0.002 if first else 0.0011

    def frames(self, ask: BusRequest) -> None:
        """Lay the neighbour's frames, if there is a CAN bus, among the true ones."""
        bench = self.bench
        if bench is None or not self.strikes(ask):
            return
        memory = bench.adapter.memory
        if not is_can(memory.protocol):
            return
        flow = isotp.FlowControl(ident=0)
        for reply in ask.replies:
            if is_positive(reply.payload):
                other = from_neighbour(reply, later_s=self.later_s)
                ask.frames += can_frames(other, memory.protocol, 0x00, flow)


class Interleaved(SecondUnit):
    """Two long answers come frame by frame in turn."""

    name = "interleaved"
    about = "another unit's frames fall among those of a long answer"

    def __init__(self, *, chance: float = 1.0, only: str = "", seed: int = 0) -> None:
        super().__init__(chance=chance, only=only, seed=seed)
        self.later_s = 0.0001


class DuplicateFrame(BenchFault):
    """Every frame comes twice."""

    name = "duplicate-frame"
    about = "every frame of an answer comes twice"

    def frames(self, ask: BusRequest) -> None:
        """Repeat each frame right after itself."""
        if self.strikes(ask):
            ask.frames += [
                replace(frame, t_s=frame.t_s + 0.0001) for frame in ask.frames
            ]


class LostFrame(BenchFault):
    """One frame of a long answer never arrives."""

    name = "lost-frame"
    about = "a frame of a long answer is lost; short answers are lost whole"

    def frames(self, ask: BusRequest) -> None:
        """Take out one frame that is not the first, if there are several."""
        if ask.frames and self.strikes(ask):
            least = 1 if len(ask.frames) > 1 else 0
            del ask.frames[self.random.randrange(least, len(ask.frames))]


class SwappedFrames(BenchFault):
    """Two frames of a long answer come in the wrong order."""

    name = "swapped-frames"
    about = "the last two frames of a long answer come in the wrong order"

    def frames(self, ask: BusRequest) -> None:
        """Swap the times of the last two."""
        if len(ask.frames) > 2 and self.strikes(ask):
            one, two = ask.frames[-2:]
            ask.frames[-2:] = [replace(two, t_s=one.t_s), replace(one, t_s=two.t_s)]


class ExtraByte(BenchFault):
    """The answer is a byte longer than it should be."""

    name = "extra-byte"
    about = "the answer carries one byte more than the identifier has"

    def replies(self, ask: BusRequest) -> None:
        """Lengthen every answer that carries data."""
        if self.strikes(ask):
            ask.replies = [
                replace(reply, payload=reply.payload + b"\x2a")
                if is_positive(reply.payload)
                else reply
                for reply in ask.replies
            ]


class ShortAnswer(BenchFault):
    """A whole frame that announces, and carries, too little."""

    name = "short-answer"
    about = "the unit answers with the echo and no data"

    def replies(self, ask: BusRequest) -> None:
        """Leave only the echo."""
        if self.strikes(ask):
            ask.replies = [
                replace(reply, payload=reply.payload[: echo_size(reply.payload)])
                if is_positive(reply.payload)
                else reply
                for reply in ask.replies
            ]


class LateUnit(BenchFault):
    """The unit takes longer than the adapter listens."""

    name = "late-unit"
    about = "answers come after the adapter stopped listening (delay=0.3)"

    def __init__(self, *, delay: float = 0.3, chance: float = 1.0, only: str = "",
                 seed: int = 0) -> None:  # fmt: skip
        super().__init__(chance=chance, only=only, seed=seed)
        self.delay_s = delay

    def replies(self, ask: BusRequest) -> None:
        """Move every answer back."""
        if self.strikes(ask):
            ask.replies = [
                replace(reply, t_s=reply.t_s + self.delay_s) for reply in ask.replies
            ]


class Mute(BenchFault):
    """Nobody on the bus answers."""

    name = "mute-units"
    about = "no control unit answers: the adapter says NO DATA"

    def replies(self, ask: BusRequest) -> None:
        """Drop every answer."""
        if self.strikes(ask):
            ask.replies = []


class GearboxAlone(BenchFault):
    """Only the gearbox answers requests that go to everybody."""

    name = "gearbox-alone"
    about = "the engine unit is missing: only the gearbox answers"

    def replies(self, ask: BusRequest) -> None:
        """Drop the first unit's answers."""
        if self.bench is not None and self.strikes(ask):
            engine = self.bench.adapter.units[0].reply_id
            ask.replies = [reply for reply in ask.replies if reply.sender != engine]


class SessionNeeded(BenchFault):
    """The gearbox answers readings only in the extended session."""

    name = "session-needed"
    about = "services 21 and 22 are refused with 7F outside the extended session"

    def started(self, bench: Host) -> None:
        """Close the door of every unit but the engine's."""
        super().started(bench)
        for unit in bench.adapter.units[1:]:
            unit.extended_only = frozenset({0x21, 0x22})

    def stopped(self, bench: Host) -> None:
        """Open it again."""
        for unit in bench.adapter.units[1:]:
            unit.extended_only = frozenset()


class WideUnits(BenchFault):
    """The car turns out to be one with 29-bit identifiers."""

    name = "29-bit-units"
    about = "the units answer at 29-bit addresses, protocol 7"

    def started(self, bench: Host) -> None:
        """Move every unit to its 29-bit address."""
        super().started(bench)
        self._was = [(u.request_id, u.reply_id) for u in bench.adapter.units]
        self._protocol = bench.car.protocol
        for place, unit in enumerate(bench.adapter.units):
            address = 0x10 + 8 * place
            unit.request_id = 0x18DA00F1 | address << 8
            unit.reply_id = 0x18DAF100 | address
        self._choose(bench, "7")

    def stopped(self, bench: Host) -> None:
        """Move them back."""
        for unit, (request, reply) in zip(bench.adapter.units, self._was, strict=True):
            unit.request_id, unit.reply_id = request, reply
        self._choose(bench, self._protocol)

    @staticmethod
    def _choose(bench: Host, protocol: str) -> None:
        bench.car.protocol = protocol
        bench.adapter.memory.connected = False


BUS_FAULTS: tuple[type[BenchFault], ...] = (
    RefusedReply, Busy, Pending, PendingForEver, StaleFrame, ForeignFrame, SecondUnit,
    Interleaved, DuplicateFrame, LostFrame, SwappedFrames, ExtraByte, ShortAnswer,
    LateUnit, Mute, GearboxAlone, SessionNeeded, WideUnits,
)  # fmt: skip
