"""Faults of the text on the serial line: cut, garbled, late, doubled or gone."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from simulators.adapter.bus import is_can
from simulators.faults.fault import BenchFault

if TYPE_CHECKING:
    from simulators.adapter.hooks import BusRequest, Host

_HEX = frozenset("0123456789ABCDEF")
Pieces = list[tuple[float, bytes]]


class CutReply(BenchFault):
    """Lines of an answer end too early."""

    name = "cut-reply"
    about = "a line of the answer stops short, then the prompt comes"
    hangs = False

    def line(self, ask: BusRequest, text: str) -> str:
        """Keep a part that has lost at least one digit that counts."""
        if not self.strikes(ask):
            return text
        ask.hang = self.hangs
        return _first_digits(text, self.random.randint(1, self._needed(text) - 1))

    def _needed(self, text: str) -> int:
        """Digits of a line without the filler bytes behind the announced length."""
        digits = "".join(text.split())
        memory = self.bench.adapter.memory if self.bench else None
        if memory is None or not memory.headers or not is_can(memory.protocol):
            return max(2, len(digits))
        head = 3 if memory.protocol in "68" else 8
        announced = digits[head : head + 2]
        size = int(announced, 16) if set(announced) <= _HEX and announced else 0
        return head + 2 + 2 * size if 0 < size < 8 else max(2, len(digits))


class HalfFrame(CutReply):
    """Half a line, then silence."""

    name = "half-frame"
    about = "half a line of the answer, then silence without a prompt"
    hangs = True


def _first_digits(text: str, count: int) -> str:
    kept = ""
    for char in text:
        if len(kept.replace(" ", "")) >= count:
            break
        kept += char
    return kept


class Noise(BenchFault):
    """Random bytes come instead of the answer."""

    name = "noise"
    about = "random bytes instead of the answer, then the prompt"

    def line(self, ask: BusRequest, text: str) -> str:
        """Put a random byte, never an end of line or answer, for each character."""
        if not self.strikes(ask):
            return text
        choice = [code for code in range(256) if code not in b"\r\n>"]
        return "".join(chr(self.random.choice(choice)) for _ in text)


class Garbled(BenchFault):
    """One character of each line is wrong, as from a bad contact."""

    name = "garbled"
    about = "one digit of each line becomes something that is no digit"

    def line(self, ask: BusRequest, text: str) -> str:
        """Spoil one digit."""
        if not self.strikes(ask) or not text.strip():
            return text
        place = self.random.randrange(len(text.rstrip()))
        return text[:place] + self.random.choice("?GZ@\x00\xfc") + text[place + 1 :]


class LostByte(BenchFault):
    """One character of each line never arrives."""

    name = "lost-byte"
    about = "one digit of each line is lost on the way"

    def line(self, ask: BusRequest, text: str) -> str:
        """Drop one digit."""
        places = [place for place, char in enumerate(text) if char != " "]
        if not places or not self.strikes(ask):
            return text
        place = self.random.choice(places)
        return text[:place] + text[place + 1 :]


class NoChecksum(BenchFault):
    """A copy that leaves the check byte of KWP and its kin away."""

    name = "no-checksum"
    about = "with headers on, the check byte of the older buses is missing"

    def line(self, ask: BusRequest, text: str) -> str:  # noqa: ARG002 - all lines alike
        """Drop the last byte of a line that ends in one."""
        memory = self.bench.adapter.memory if self.bench else None
        if memory is None or not memory.headers or is_can(memory.protocol):
            return text
        return text.rstrip()[:-2]


class Dribble(BenchFault):
    """Bytes come at a crawl and the prompt never."""

    name = "dribble"
    about = "a byte every half second and never a prompt (gap=0.5)"

    def __init__(self, *, gap: float = 0.5) -> None:
        super().__init__()
        self.gap_s = gap
        self._last_s = -math.inf

    def departing(self, pieces: Pieces) -> Pieces:
        """Spread the bytes out, leaving the prompt away and a long queue too."""
        out: Pieces = []
        for ready_s, piece in pieces:
            for byte in piece.replace(b">", b""):
                at_s = max(ready_s, self._last_s + self.gap_s)
                if at_s - ready_s < 20 * self.gap_s:
                    out.append((at_s, bytes((byte,))))
                    self._last_s = at_s
        return out

    def stopped(self, bench: Host) -> None:
        """Forget what is still queued."""
        bench.adapter.swallow_output()


class Stall(BenchFault):
    """The adapter freezes, then says everything at once."""

    name = "stall"
    about = "nothing for a while, then the answers of long ago (delay=12)"

    def __init__(self, *, delay: float = 12.0) -> None:
        super().__init__()
        self.delay_s = delay
        self._until_s = -math.inf

    def started(self, bench: Host) -> None:
        """The freeze begins now."""
        super().started(bench)
        self._until_s = bench.now_s() + self.delay_s

    def departing(self, pieces: Pieces) -> Pieces:
        """Hold everything back until the freeze is over."""
        return [(max(ready_s, self._until_s), piece) for ready_s, piece in pieces]


class LatePrompt(BenchFault):
    """The prompt lags behind the answer."""

    name = "late-prompt"
    about = "the prompt comes late after every answer (delay=0.4)"

    def __init__(self, *, delay: float = 0.4) -> None:
        super().__init__()
        self.delay_s = delay

    def departing(self, pieces: Pieces) -> Pieces:
        """Move pieces that end in the prompt back."""
        return [
            (ready_s + self.delay_s if piece.endswith(b">") else ready_s, piece)
            for ready_s, piece in pieces
        ]


class LatencyTick(BenchFault):
    """A USB serial chip that hands its bytes over every 16 ms."""

    name = "latency-tick"
    about = "bytes are handed over only at ticks of the USB chip (tick=0.016)"

    def __init__(self, *, tick: float = 0.016) -> None:
        super().__init__()
        self.tick_s = max(tick, 1e-3)

    def departing(self, pieces: Pieces) -> Pieces:
        """Move everything to the next tick."""
        return [
            (math.ceil(ready_s / self.tick_s) * self.tick_s, piece)
            for ready_s, piece in pieces
        ]


class Slow(BenchFault):
    """A copy that takes its time over everything."""

    name = "slow-clone"
    about = "every answer starts late (delay=0.08)"

    def __init__(self, *, delay: float = 0.08) -> None:
        super().__init__()
        self.delay_s = delay

    def departing(self, pieces: Pieces) -> Pieces:
        """Move everything back by the same time."""
        return [(ready_s + self.delay_s, piece) for ready_s, piece in pieces]


class Silent(BenchFault):
    """The adapter is there and says nothing."""

    name = "silent"
    about = "the adapter neither listens nor speaks"

    def started(self, bench: Host) -> None:
        """What was on its way is lost."""
        super().started(bench)
        bench.adapter.swallow_output()

    def arriving(self, data: bytes) -> bytes:  # noqa: ARG002 - whatever it is
        """Hear nothing."""
        return b""

    def departing(self, pieces: Pieces) -> Pieces:  # noqa: ARG002 - whatever it is
        """Say nothing."""
        return []


LINE_FAULTS: tuple[type[BenchFault], ...] = (
    CutReply, HalfFrame, Noise, Garbled, LostByte, NoChecksum, Dribble, Stall,
    LatePrompt, LatencyTick, Slow, Silent,
)  # fmt: skip
