"""Faults of the adapter itself: status texts, resets, commands it will not take."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

from simulators.adapter.hooks import variant
from simulators.faults.fault import BenchFault, ExchangeFault

if TYPE_CHECKING:
    from simulators.adapter.hooks import BusRequest, Pieces


@dataclass(eq=False, kw_only=True)
class StatusText(ExchangeFault):
    """The adapter prints a text in place of the answer."""

    name = "status-text"
    about = "a status text of your choice instead of the answer (text='NO DATA')"
    said: ClassVar[str] = "NO DATA"
    text: str = ""

    def replies(self, ask: BusRequest) -> None:
        """Say the text, take no answer."""
        if self.strikes(ask):
            ask.say = self.text or self.said


_TEXTS = (
    ("no-data", "NO DATA"),
    ("stopped", "STOPPED"),
    ("buffer-full", "BUFFER FULL"),
    ("can-error", "CAN ERROR"),
    ("can-error-starred", "**CAN ERROR**"),
    ("bus-init-error", "BUS INIT: ...ERROR"),
    ("bus-init-error-short", "BUS INIT: ERROR"),
    ("bus-busy", "BUS BUSY"),
    ("bus-error", "BUS ERROR"),
    ("unable-to-connect", "UNABLE TO CONNECT"),
    ("searching", "SEARCHING..."),
    ("act-alert", "ACT ALERT"),
    ("fb-error", "FB ERROR"),
    ("data-error", "DATA ERROR"),
    ("err94", "ERR94"),
    ("rx-error", "<RX ERROR"),
    ("not-understood", "?"),
    ("lp-alert", "LP ALERT"),
)
"""The texts of the data sheet, each a fault of its own."""


class _ErrorMark(ExchangeFault):
    name = "data-error-mark"
    about = "the answer's line ends in <DATA ERROR"

    def line(self, ask: BusRequest, text: str) -> str:
        """Spoil a digit, as the mark says, and add the mark."""
        if not self.strikes(ask) or len(text) < 2:
            return text
        digit = self.random.choice("0123456789ABCDEF")
        return f"{text.rstrip()[:-1]}{digit} <DATA ERROR"


class _Overflow(ExchangeFault):
    name = "buffer-full-midway"
    about = "half a line, then BUFFER FULL"

    def line(self, ask: BusRequest, text: str) -> str:
        if not self.strikes(ask):
            return text
        return text[: max(1, len(text) // 2)].rstrip() + "\rBUFFER FULL"


class _Reset(BenchFault):
    """The adapter starts anew."""

    name = "adapter-reset"
    about = "LV RESET and the banner, everything set is forgotten"
    reason: ClassVar[str | None] = "LV RESET"

    def started(self) -> None:
        self.bench.adapter.power_up(self.bench.now_s())
        self.bench.adapter.reset(self.reason)


class _VoltageDip(_Reset):
    name = "voltage-dip"
    about = "the engine is started: 5.5 V less while it is on, LV RESET"

    def started(self) -> None:
        self.bench.car.voltage_drop_v = 5.5
        self.bench.car.engine_on = True
        super().started()

    def stopped(self) -> None:
        self.bench.car.voltage_drop_v = 0.0


class _Unplugged(BenchFault):
    name = "unplugged"
    about = "the connection breaks; it can be made again when the fault is off"

    def started(self) -> None:
        self.bench.unplug(math.inf)

    def stopped(self) -> None:
        self.bench.replug()


@dataclass(eq=False, kw_only=True)
class _CommandRefused(BenchFault):
    name = "command-refused"
    about = "commands that begin so are answered with ? (command='ATST')"
    refused: ClassVar[str] = "ATST"
    command: str = ""

    def typed(self, line: str) -> str | None:
        begins = self.command.upper().replace(" ", "") or self.refused
        return "?" if line.startswith(begins) else None


@dataclass(eq=False, kw_only=True)
class _DigitRefused(BenchFault):
    name = "count-digit-refused"
    about = "a request with a count digit is answered with ? (says='?')"
    says: str = "?"

    def typed(self, line: str) -> str | None:
        """Refuse hexadecimal lines of odd length."""
        odd = len(line) % 2 == 1 and re.fullmatch("[0-9A-F]+", line)
        return self.says if odd else None


class _EchoStays(BenchFault):
    name = "echo-stays"
    about = "ATE0 says OK and the echo stays on"
    _was = True

    def typed(self, line: str) -> str | None:
        return "OK" if line == "ATE0" else None

    def started(self) -> None:
        self._was = self.bench.adapter.memory.echo
        self.bench.adapter.memory.echo = True

    def stopped(self) -> None:
        self.bench.adapter.memory.echo = self._was


@dataclass(eq=False, kw_only=True)
class _EchoThenWait(BenchFault):
    name = "late-prompt-after-ate0"
    about = "the prompt after ATE0 lags behind its OK (delay=0.8)"
    delay: float = 0.8
    _armed = False

    def typed(self, line: str) -> str | None:
        """Notice the command; the adapter carries it out."""
        self._armed = line == "ATE0"
        return None

    def departing(self, pieces: Pieces) -> Pieces:
        """Move the one prompt back."""
        if not self._armed or not any(piece.endswith(b">") for _, piece in pieces):
            return pieces
        self._armed = False
        return [(ready_s + self.delay, piece) for ready_s, piece in pieces]


class _EmptyAnswer(BenchFault):
    name = "empty-answer"
    about = "ATH1 works but is answered with an empty line"

    def typed(self, line: str) -> str | None:
        if line != "ATH1":
            return None
        self.bench.adapter.memory.headers = True
        return ""


class _JunkBanner(BenchFault):
    name = "junk-before-banner"
    about = "FC and NUL bytes come before the banner"

    def piece(self, ready_s: float, data: bytes) -> tuple[float, bytes]:
        return ready_s, b"\xfc\x00" + data if data.startswith(b"ELM") else data


@dataclass(eq=False, kw_only=True)
class _SlowSearch(BenchFault):
    name = "slow-search"
    about = "the search for the protocol takes seconds and starts anew (seconds=6)"
    seconds: float = 6.0

    def started(self) -> None:
        """Lengthen the search and forget the protocol if it was found by search."""
        adapter = self.bench.adapter
        self._was = adapter.settings
        adapter.settings = replace(adapter.settings, search_s=self.seconds)
        if adapter.memory.automatic:
            adapter.memory.connected = False

    def stopped(self) -> None:
        self.bench.adapter.settings = self._was


class _ProtocolLost(BenchFault):
    name = "protocol-lost"
    about = "the bus has to be found again on the next request"

    def started(self) -> None:
        self.bench.adapter.memory.connected = False


ADAPTER_FAULTS: tuple[type[BenchFault], ...] = (
    StatusText,
    *(variant(StatusText, n, f"the adapter prints {t}", said=t) for n, t in _TEXTS),
    _ErrorMark,
    _Overflow,
    _Reset,
    variant(
        _Reset, "banner", "the banner out of nowhere, everything set is forgotten",
        reason="",
    ),
    variant(
        _Reset, "quiet-reset", "everything set is forgotten without a word",
        reason=None,
    ),
    _VoltageDip,
    _Unplugged,
    _CommandRefused,
    variant(
        _CommandRefused, "header-refused",
        "AT SH is answered with ?, requests keep the header before", refused="ATSH",
    ),
    variant(
        _CommandRefused, "filter-refused", "AT CRA is answered with ?",
        refused="ATCRA",
    ),
    _DigitRefused,
    _EchoStays,
    _EchoThenWait,
    _EmptyAnswer,
    _JunkBanner,
    _SlowSearch,
    _ProtocolLost,
)  # fmt: skip
