"""Faults of the text on the serial line: cut, garbled, late, doubled or gone."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from simulators.adapter.bus import is_can
from simulators.adapter.hooks import variant
from simulators.faults.fault import BenchFault, ExchangeFault

if TYPE_CHECKING:
    from simulators.adapter.hooks import BusRequest, Pieces

_HEX = frozenset("0123456789ABCDEF")


class _CutReply(ExchangeFault):
    name = "cut-reply"
    about = "a line of the answer stops short, then the prompt comes"
    hangs: ClassVar[bool] = False

    def line(self, ask: BusRequest, text: str) -> str:
        """Keep a part that has lost at least one digit that counts."""
        if not self.strikes(ask):
            return text
        ask.hang = self.hangs
        return _first_digits(text, self.random.randint(1, self._needed(text) - 1))

    def _needed(self, text: str) -> int:
        """Digits of a line without the filler bytes behind the announced length."""
        digits = "".join(text.split())
        memory = self.bench.adapter.memory
        if not memory.headers or not is_can(memory.protocol):
            return max(2, len(digits))
        head = 3 if memory.protocol in "68" else 8
        announced = digits[head : head + 2]
        size = int(announced, 16) if set(announced) <= _HEX and announced else 0
        return head + 2 + 2 * size if 0 < size < 8 else max(2, len(digits))


def _first_digits(text: str, count: int) -> str:
    kept = ""
    for char in text:
        if len(kept.replace(" ", "")) >= count:
            break
        kept += char
    return kept


class _Noise(ExchangeFault):
    name = "noise"
    about = "random bytes instead of the answer, then the prompt"

    def line(self, ask: BusRequest, text: str) -> str:
        """Put a random byte, never an end of line or answer, for each character."""
        if not self.strikes(ask):
            return text
        choice = [code for code in range(256) if code not in b"\r\n>"]
        return "".join(chr(self.random.choice(choice)) for _ in text)


class _Garbled(ExchangeFault):
    name = "garbled"
    about = "one digit of each line becomes something that is no digit"

    def line(self, ask: BusRequest, text: str) -> str:
        if not self.strikes(ask) or not text.strip():
            return text
        place = self.random.randrange(len(text.rstrip()))
        return text[:place] + self.random.choice("?GZ@\x00\xfc") + text[place + 1 :]


class _LostByte(ExchangeFault):
    name = "lost-byte"
    about = "one digit of each line is lost on the way"

    def line(self, ask: BusRequest, text: str) -> str:
        places = [place for place, char in enumerate(text) if char != " "]
        if not places or not self.strikes(ask):
            return text
        place = self.random.choice(places)
        return text[:place] + text[place + 1 :]


class _NoChecksum(BenchFault):
    name = "no-checksum"
    about = "with headers on, the check byte of the older buses is missing"

    def line(self, ask: BusRequest, text: str) -> str:  # noqa: ARG002 - all lines alike
        memory = self.bench.adapter.memory
        if not memory.headers or is_can(memory.protocol):
            return text
        return text.rstrip()[:-2]


@dataclass(eq=False, kw_only=True)
class _Dribble(BenchFault):
    name = "dribble"
    about = "a byte every half second and never a prompt (gap=0.5)"
    gap: float = 0.5
    _last_s = -math.inf

    def departing(self, pieces: Pieces) -> Pieces:
        """Spread the bytes out, leaving the prompt away and a long queue too."""
        out: Pieces = []
        for ready_s, piece in pieces:
            for byte in piece.replace(b">", b""):
                at_s = max(ready_s, self._last_s + self.gap)
                if at_s - ready_s < 20 * self.gap:
                    out.append((at_s, bytes((byte,))))
                    self._last_s = at_s
        return out

    def stopped(self) -> None:
        self.bench.adapter.swallow_output()


@dataclass(eq=False, kw_only=True)
class _Stall(BenchFault):
    name = "stall"
    about = "nothing for a while, then the answers of long ago (delay=12)"
    delay: float = 12.0

    def started(self) -> None:
        self._until_s = self.bench.now_s() + self.delay

    def piece(self, ready_s: float, data: bytes) -> tuple[float, bytes]:
        return max(ready_s, self._until_s), data


@dataclass(eq=False, kw_only=True)
class _LatePrompt(BenchFault):
    name = "late-prompt"
    about = "the prompt comes late after every answer (delay=0.4)"
    delay: float = 0.4

    def piece(self, ready_s: float, data: bytes) -> tuple[float, bytes]:
        return ready_s + self.delay if data.endswith(b">") else ready_s, data


@dataclass(eq=False, kw_only=True)
class _LatencyTick(BenchFault):
    name = "latency-tick"
    about = "bytes are handed over only at ticks of the USB chip (tick=0.016)"
    tick: float = 0.016

    def piece(self, ready_s: float, data: bytes) -> tuple[float, bytes]:
        tick_s = max(self.tick, 1e-3)
        return math.ceil(ready_s / tick_s) * tick_s, data


@dataclass(eq=False, kw_only=True)
class _Slow(BenchFault):
    name = "slow-clone"
    about = "every answer starts late (delay=0.08)"
    delay: float = 0.08

    def piece(self, ready_s: float, data: bytes) -> tuple[float, bytes]:
        return ready_s + self.delay, data


class _Silent(BenchFault):
    name = "silent"
    about = "the adapter neither listens nor speaks"

    def started(self) -> None:
        self.bench.adapter.swallow_output()

    def arriving(self, data: bytes) -> bytes:  # noqa: ARG002 - whatever it is
        return b""

    def departing(self, pieces: Pieces) -> Pieces:  # noqa: ARG002 - whatever it is
        return []


LINE_FAULTS: tuple[type[BenchFault], ...] = (
    _CutReply,
    variant(
        _CutReply, "half-frame",
        "half a line of the answer, then silence without a prompt", hangs=True,
    ),
    _Noise,
    _Garbled,
    _LostByte,
    _NoChecksum,
    _Dribble,
    _Stall,
    _LatePrompt,
    _LatencyTick,
    _Slow,
    _Silent,
)  # fmt: skip
