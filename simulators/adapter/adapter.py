"""An ELM327-class adapter: bytes in, bytes out, time passed in, no I/O.

``receive`` hands it what a program sent, ``take`` gives what has left by now, and
``wake_s`` says when it is worth asking again. What it does in between follows the
public data sheet of the chip family; where real chips are not documented (adaptive
timing, the start-up delay) docs/bench.md says what was chosen.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from simulators.adapter import j1939
from simulators.adapter.adapter_settings import AdapterSettings, Memory
from simulators.adapter.commands import obey
from simulators.adapter.dialogue import request
from simulators.adapter.hooks import AdapterSide

if TYPE_CHECKING:
    from simulators.adapter.hooks import Hooks, Steps
    from simulators.car.car import Car
    from simulators.car.ecu import Unit


_CR, _BACKSPACE = 0x0D, 0x08
_LONGEST_LINE = 256
_HEX = frozenset("0123456789ABCDEF")
_EPS_S = 1e-9
_MONITOR = re.compile(r"MP(?:0[01])?([0-9A-F]{4})([1-9A-F])?")


class Adapter(AdapterSide):
    """One adapter between a program and the control units of a car."""

    def __init__(
        self,
        car: Car,
        units: Sequence[Unit],
        *,
        settings: AdapterSettings | None = None,
        hooks: Sequence[Hooks] = (),
    ) -> None:
        super().__init__(car, units, settings or AdapterSettings())
        self.hooks += hooks
        self._line = bytearray()
        self._job: Steps | None = None
        self._resume_s = math.inf
        self._job_is_deaf = False
        self._deaf_until_s = -math.inf

    # -- the two ends ---------------------------------------------------------

    def receive(self, data: bytes, now_s: float) -> None:
        """Take bytes from the program at a time in bench seconds."""
        self._run(now_s)
        for hook in self.hooks:
            data = hook.arriving(data)
        self._receiver.put(data, max(now_s, self.clock_s))

    def take(self, now_s: float) -> bytes:
        """Return the bytes that have left for the program by now."""
        self._run(now_s)
        return self._sender.take(max(now_s, self.clock_s))

    def wake_s(self) -> float | None:
        """Return the next moment something is due; None: only input can bring it."""
        coming_s = self._receiver.next_s() if self._job else self._receiver.end_s()
        due_s = min(coming_s, self._resume_s, self._sender.burst_s())
        return None if math.isinf(due_s) else due_s

    def power_up(self, now_s: float) -> None:
        """Start afresh, as after plugging in; the car is not touched."""
        self._run(now_s)
        self._receiver.clear()
        self._sender.clear()
        self.reset(None)

    def reset(self, reason: str | None = "") -> None:
        """Forget everything now; print a reason and the banner unless it is None."""
        self._drop_job()
        self._line.clear()
        self.bus.clear()
        self.memory = Memory(linefeeds=self.settings.linefeeds)
        if reason is not None:
            if reason:
                self.say(reason)
            self.start(self._boot(), deaf=True)

    # -- time -----------------------------------------------------------------

    def _run(self, now_s: float) -> None:
        """Let everything happen that is due by now, in order."""
        while True:
            byte_s = self._receiver.next_s()
            due_s = min(byte_s, self._resume_s)
            if due_s > now_s + _EPS_S:
                break
            self.clock_s = max(self.clock_s, due_s)
            if self._resume_s <= byte_s:
                self._go_on()
            else:
                self._byte(self._receiver.pop()[1])
        self.clock_s = max(self.clock_s, now_s)

    def start(self, job: Steps, *, deaf: bool = False) -> None:
        """Begin a job that takes time; a deaf one cannot be interrupted."""
        self._job, self._job_is_deaf = job, deaf
        self._resume_s = self.clock_s
        self._go_on()

    def _go_on(self) -> None:
        job = self._job
        if job is None:
            self._resume_s = math.inf
            return
        try:
            resume_s = next(job)
        except StopIteration:
            if self._job is job:
                self._drop_job()
            return
        if self._job is job:
            self._resume_s = resume_s

    def _drop_job(self) -> None:
        self._job, self._resume_s, self._job_is_deaf = None, math.inf, False

    # -- bytes in -------------------------------------------------------------

    def _byte(self, byte: int) -> None:
        if self._job is not None:
            if not self._job_is_deaf:
                self._interrupted()
        elif self.clock_s >= self._deaf_until_s:
            self._typed(byte)

    def _interrupted(self) -> None:
        """A character before the job was done: what the data sheet calls STOPPED."""
        self._drop_job()
        self.say("STOPPED")
        self.prompt()
        # What is typed before the prompt is out is lost; real chips are not
        # documented here, and losing it is the gentler reading.
        self._deaf_until_s = self._sender.end_s(self.clock_s)

    def _typed(self, byte: int) -> None:
        if byte == 0x00:
            return  # the data sheet: NUL is ignored
        if self.memory.echo:
            self._echo(byte)
        if byte == _CR:
            line = self._line.decode("latin-1")
            self._line.clear()
            self._obey(line)
        elif byte == _BACKSPACE:
            del self._line[-1:]
        elif byte >= 0x20 and len(self._line) < _LONGEST_LINE:
            self._line.append(byte)

    def _echo(self, byte: int) -> None:
        ends_line = byte == _CR and self.memory.linefeeds
        self.emit(b"\r\n" if ends_line else bytes((byte,)))

    def _obey(self, line: str) -> None:
        text = "".join(line.split()).upper()
        if text:
            self.memory.last_line = text
        text = text or self.memory.last_line
        for hook in self.hooks:
            answer = hook.typed(text)
            if answer is not None:
                self.answer(answer)
                return
        if text.startswith("AT"):
            self._command(text[2:])
        elif text and _HEX.issuperset(text):
            self.start(request(self, text))
        else:
            self.answer("?" if text else "")

    def _command(self, text: str) -> None:
        if text in ("Z", "WS"):
            self.memory = Memory(linefeeds=self.settings.linefeeds)
            self.bus.clear()
            self.start(self._boot(quick=text == "WS"), deaf=True)
            return
        monitored = _MONITOR.fullmatch(text)
        if monitored and self.memory.protocol == "A":
            count = int(monitored[2], 16) if monitored[2] else None
            self.start(j1939.monitor(self, monitored[1], count))
            return
        self.answer(obey(self, text) or "?")

    def _boot(self, *, quick: bool = False) -> Steps:
        yield self.clock_s + (0.0 if quick else self.settings.boot_s)
        self.say("")
        self.say("")
        self.answer(self.settings.version)
