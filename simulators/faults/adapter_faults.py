"""Faults of the adapter itself: status texts, resets, commands it will not take."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from simulators.faults.fault import BenchFault

if TYPE_CHECKING:
    from simulators.adapter.hooks import BusRequest, Host

Pieces = list[tuple[float, bytes]]


class StatusText(BenchFault):
    """The adapter prints a text in place of the answer."""

    name = "status-text"
    about = "a status text of your choice instead of the answer (text='NO DATA')"
    text = "NO DATA"

    def __init__(self, *, text: str = "", chance: float = 1.0, only: str = "",
                 seed: int = 0) -> None:  # fmt: skip
        super().__init__(chance=chance, only=only, seed=seed)
        self.text = text or type(self).text

    def replies(self, ask: BusRequest) -> None:
        """Say the text, take no answer."""
        if self.strikes(ask):
            ask.say = self.text


def _saying(name: str, text: str) -> type[BenchFault]:
    """Make the fault that prints one of the data sheet's texts."""
    return type(
        "Saying" + name.title().replace("-", ""),
        (StatusText,),
        {"name": name, "about": f"the adapter prints {text}", "text": text,
         "__doc__": f"The adapter prints {text} instead of the answer."},
    )  # fmt: skip


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


class ErrorMark(BenchFault):
    """The adapter prints the answer and marks it as damaged."""

    name = "data-error-mark"
    about = "the answer's line ends in <DATA ERROR"

    def line(self, ask: BusRequest, text: str) -> str:
        """Spoil a digit, as the mark says, and add the mark."""
        if not self.strikes(ask) or len(text) < 2:
            return text
        last = text.rstrip()
        digit = "0123456789ABCDEF"[self.random.randrange(16)]
        return f"{last[:-1]}{digit} <DATA ERROR"


class Overflow(BenchFault):
    """The adapter runs out of memory in the middle of an answer."""

    name = "buffer-full-midway"
    about = "half a line, then BUFFER FULL"

    def line(self, ask: BusRequest, text: str) -> str:
        """Cut the line and put the text behind it."""
        if not self.strikes(ask):
            return text
        return text[: max(1, len(text) // 2)].rstrip() + "\rBUFFER FULL"


class ResetFault(BenchFault):
    """The supply sags for a moment: the adapter starts anew."""

    name = "adapter-reset"
    about = "LV RESET and the banner, everything set is forgotten"
    reason = "LV RESET"

    def started(self, bench: Host) -> None:
        """Reset now."""
        super().started(bench)
        bench.adapter.power_up(bench.now_s())
        bench.adapter.reset(self.reason)


class BannerOnly(ResetFault):
    """The adapter starts anew and says nothing but its name."""

    name = "banner"
    about = "the banner out of nowhere, everything set is forgotten"
    reason = ""


class QuietReset(ResetFault):
    """The adapter forgets everything without a word."""

    name = "quiet-reset"
    about = "everything set is forgotten without a word"

    def started(self, bench: Host) -> None:
        """Forget, print nothing."""
        BenchFault.started(self, bench)
        bench.adapter.power_up(bench.now_s())


class VoltageDip(ResetFault):
    """The starter pulls the supply down and the engine comes to life."""

    name = "voltage-dip"
    about = "the engine is started: 5.5 V less while it is on, LV RESET"

    def started(self, bench: Host) -> None:
        """Crank: low voltage, reset, engine on."""
        bench.car.voltage_drop_v = 5.5
        bench.car.engine_on = True
        super().started(bench)

    def stopped(self, bench: Host) -> None:
        """The supply has recovered."""
        bench.car.voltage_drop_v = 0.0


class Unplugged(BenchFault):
    """The lead is pulled out, the connection closed, the process killed."""

    name = "unplugged"
    about = "the connection breaks; it can be made again when the fault is off"

    def started(self, bench: Host) -> None:
        """Break it now."""
        super().started(bench)
        bench.unplug(float("inf"))

    def stopped(self, bench: Host) -> None:
        """Let programs connect again."""
        bench.replug()


class CommandRefused(BenchFault):
    """The adapter does not know one of the commands."""

    name = "command-refused"
    about = "commands that begin so are answered with ? (command='ATST')"
    command = "ATST"

    def __init__(self, *, command: str = "") -> None:
        super().__init__()
        self.command = (command or type(self).command).upper().replace(" ", "")

    def typed(self, line: str) -> str | None:
        """Answer with a question mark."""
        return "?" if line.startswith(self.command) else None


class HeaderRefused(CommandRefused):
    """The adapter will not set the header: requests would go astray."""

    name = "header-refused"
    about = "AT SH is answered with ?, requests keep the header before"
    command = "ATSH"


class FilterRefused(CommandRefused):
    """The adapter will not set a receive address."""

    name = "filter-refused"
    about = "AT CRA is answered with ?"
    command = "ATCRA"


class DigitRefused(BenchFault):
    """A copy that does not take the count of expected answers."""

    name = "count-digit-refused"
    about = "a request with a count digit is answered with ? (says='?')"

    def __init__(self, *, says: str = "?") -> None:
        super().__init__()
        self.says = says

    def typed(self, line: str) -> str | None:
        """Refuse hexadecimal lines of odd length."""
        odd = len(line) % 2 == 1 and re.fullmatch("[0-9A-F]+", line)
        return self.says if odd else None


class EchoStays(BenchFault):
    """ATE0 is answered with OK and the echo goes on."""

    name = "echo-stays"
    about = "ATE0 says OK and the echo stays on"

    def __init__(self) -> None:
        super().__init__()
        self._quiet: bool = False

    def typed(self, line: str) -> str | None:
        """Take the command and do nothing."""
        return "OK" if line == "ATE0" else None

    def started(self, bench: Host) -> None:
        """The echo is on from now."""
        super().started(bench)
        self._quiet = not bench.adapter.memory.echo
        bench.adapter.memory.echo = True

    def stopped(self, bench: Host) -> None:
        """Back to what the program had asked for."""
        bench.adapter.memory.echo = not self._quiet


class EchoThenWait(BenchFault):
    """ATE0 is answered with its echo and OK; the prompt takes a while."""

    name = "late-prompt-after-ate0"
    about = "the prompt after ATE0 lags behind its OK (delay=0.8)"

    def __init__(self, *, delay: float = 0.8) -> None:
        super().__init__()
        self.delay_s = delay
        self._armed = False

    def typed(self, line: str) -> str | None:
        """Notice the command; the adapter carries it out."""
        self._armed = line == "ATE0"
        return None

    def departing(self, pieces: Pieces) -> Pieces:
        """Move the one prompt back."""
        if not self._armed or not any(piece.endswith(b">") for _, piece in pieces):
            return pieces
        self._armed = False
        return [(ready_s + self.delay_s, piece) for ready_s, piece in pieces]


class EmptyAnswer(BenchFault):
    """ATH1 is carried out and answered with an empty line."""

    name = "empty-answer"
    about = "ATH1 works but is answered with an empty line"

    def typed(self, line: str) -> str | None:
        """Do it, say nothing."""
        if line != "ATH1" or self.bench is None:
            return None
        self.bench.adapter.memory.headers = True
        return ""


class JunkBanner(BenchFault):
    """Stray bytes come before the banner."""

    name = "junk-before-banner"
    about = "FC and NUL bytes come before the banner"

    def departing(self, pieces: Pieces) -> Pieces:
        """Put the bytes in front of whatever holds the version text."""
        return [
            (ready_s, b"\xfc\x00" + piece if piece.startswith(b"ELM") else piece)
            for ready_s, piece in pieces
        ]


class SlowSearch(BenchFault):
    """The adapter looks for the protocol for seconds."""

    name = "slow-search"
    about = "the search for the protocol takes seconds and starts anew (seconds=6)"

    def __init__(self, *, seconds: float = 6.0) -> None:
        super().__init__()
        self.seconds_s = seconds

    def started(self, bench: Host) -> None:
        """Lengthen the search and forget the protocol if it was found by search."""
        super().started(bench)
        adapter = bench.adapter
        self._was = adapter.settings
        adapter.settings = replace(adapter.settings, search_s=self.seconds_s)
        if adapter.memory.automatic:
            adapter.memory.connected = False

    def stopped(self, bench: Host) -> None:
        """Search as quickly as before."""
        bench.adapter.settings = self._was


class ProtocolLost(BenchFault):
    """The adapter closes the protocol and has to find it again."""

    name = "protocol-lost"
    about = "the bus has to be found again on the next request"

    def started(self, bench: Host) -> None:
        """Forget that the bus had been found."""
        super().started(bench)
        bench.adapter.memory.connected = False


ADAPTER_FAULTS: tuple[type[BenchFault], ...] = (
    StatusText, *(_saying(name, text) for name, text in _TEXTS), ErrorMark, Overflow,
    ResetFault, BannerOnly, QuietReset, VoltageDip, Unplugged, CommandRefused,
    HeaderRefused, FilterRefused, DigitRefused, EchoStays, EchoThenWait, EmptyAnswer,
    JunkBanner, SlowSearch, ProtocolLost,
)  # fmt: skip
