"""The feed of the real thing: a monitor in a thread and event loop of its own.

The screen can be as slow as it likes; polling and deciding go on beside it. On the
bench the loop is a paced one, so the screen's own timers stay in real time.
"""

from __future__ import annotations

import asyncio
import contextlib
import threading
import time
from collections.abc import Callable, Coroutine
from concurrent.futures import Future
from typing import Any, Protocol

from bridge.snapshot import Snapshot
from bridge.values.errors import PortError, SumpgateError
from bridge.values.events import PersonEvent
from tui.inputs.answers import Refused, short
from tui.words.screen import screen_words
from tui.words.service import line_words

STOP_S = 0.5
ASK_S = 2.0
"""The screen waits so long at most for its own event to be taken; usually 10 ms."""
BEGIN_S = 10.0
"""And so long for a monitor that is only starting: a slow machine takes seconds."""
POLL_S = 0.25

Deliver = Callable[[Snapshot], None]
Watch = Callable[[Deliver], Coroutine[None, None, None]]
"""Runs a monitor that delivers to the given function, until cancelled."""


class Teller(Protocol):
    """What takes a mark."""

    @property
    def last(self) -> Snapshot | None:
        """The newest snapshot; None: there is none yet."""

    def tell(self, event: PersonEvent) -> Snapshot:
        """Take what the person tells; the stamp is the taker's."""


class MonitorCommands:
    """The way from the screen's keys to the monitor that runs in the feed's loop."""

    def __init__(self) -> None:
        self.monitor: Teller | None = None
        """Set by whoever makes the monitor, in the feed's loop."""
        self.lever: Callable[[str], None] | None = None
        """Moves a simulated car's lever; in the feed's own loop."""
        self.places: tuple[str, ...] = ()
        """Where that lever can be put."""
        self.engine: Callable[[bool], None] | None = None
        """Starts or stops a simulated car's engine; in the feed's own loop."""
        self.leave: Callable[[], None] | None = None
        """Ends the watch, where there is no screen to leave; in the feed's own loop."""

    def tell(self, event: PersonEvent) -> Snapshot | None:
        """Hand it over; in the feed's own loop. None: there is nobody to take it."""
        return self.monitor.tell(event) if self.monitor is not None else None

    def bench(self, line: str) -> bool | Refused:
        """Take `engine on`, `engine off`, `lever D` for a simulated car.

        False: it is something else, or the car is a real one.
        """
        what, *rest = line.split() or [""]
        if what == "engine" and self.engine and rest in (["on"], ["off"]):
            self.engine(rest == ["on"])
        elif what == "lever" and self.lever:
            place = " ".join(rest).upper()
            if place not in self.places:
                return Refused(
                    words=line_words.NO_PLACE.format(
                        short(line), ", ".join(self.places)
                    )
                )
            self.lever(place)
        else:
            return False
        return True


class MonitorFeed:
    """Runs ``watch`` in a thread; see tui.feeds.feed.Feed for the contract."""

    def __init__(
        self,
        watch: Watch,
        *,
        loop_factory: Callable[[], asyncio.AbstractEventLoop] = asyncio.new_event_loop,
        ended: str = screen_words.TIME_OVER,
        commands: MonitorCommands | None = None,
    ) -> None:
        """``ended``: what to say when the monitor comes to its end by itself."""
        self._watch = watch
        self._ended = ended
        self._stopping = False
        self._commands = commands or MonitorCommands()
        self._loop_factory = loop_factory
        self._loop: asyncio.AbstractEventLoop | None = None
        self._task: asyncio.Task[None] | None = None
        self._thread: threading.Thread | None = None
        self.failure: SumpgateError | None = None
        """What ended the monitor, if it could not go on."""
        self.abort: Callable[[], object] | None = None
        """Called instead of ``failed`` when there was nothing to watch at all."""

    def start(self, deliver: Deliver, failed: Callable[[str], None]) -> None:
        """Start the monitor; both functions are called from its thread."""
        self._thread = threading.Thread(
            target=self._run, args=(deliver, failed), name="sumpgate", daemon=True
        )
        self._thread.start()

    def stop(self) -> None:
        """End the monitor and wait for it, half a second at most."""
        self._stopping = True
        loop, task = self._loop, self._task
        if loop is not None and task is not None:
            with contextlib.suppress(RuntimeError):  # it has ended by itself
                loop.call_soon_threadsafe(task.cancel)
        if self._thread is not None and self._thread is not threading.current_thread():
            self._thread.join(STOP_S)

    def tell(self, event: PersonEvent) -> None:
        """Hand what the person tells to the monitor, from the screen's thread."""
        if self._loop is not None:
            with contextlib.suppress(RuntimeError):  # the monitor has just ended
                self._loop.call_soon_threadsafe(self._commands.tell, event)

    def ask(self, event: PersonEvent) -> Snapshot | None:
        """Hand it over and wait for what it makes; from the screen's thread.

        A monitor that has ended still takes it: nothing else touches it then.
        """
        answer: Future[Snapshot | None] = Future()

        def act() -> None:
            if answer.set_running_or_notify_cancel():
                try:
                    answer.set_result(self._commands.tell(event))
                except Exception as problem:
                    answer.set_exception(problem)

        if self._thread is None or not self._begun() or self._loop is None:
            return None
        with contextlib.suppress(RuntimeError):  # the loop is closed
            self._loop.call_soon_threadsafe(act)
        until_s = time.monotonic() + ASK_S
        while self._thread.is_alive() and time.monotonic() < until_s:
            with contextlib.suppress(TimeoutError):
                return answer.result(POLL_S)
        if answer.done() or not answer.cancel():
            return answer.result()
        return None if self._thread.is_alive() else self._commands.tell(event)

    def _begun(self) -> bool:
        """Wait for a monitor that is only starting; False: none came."""
        until_s = time.monotonic() + BEGIN_S
        while self._commands.monitor is None and time.monotonic() < until_s:
            if self._thread is None or not self._thread.is_alive():
                break
            time.sleep(0.01)
        return self._commands.monitor is not None

    def move_lever(self, place: str) -> None:
        """Put the simulated car's lever there, from the screen's thread."""
        if self._commands.lever is not None:
            self._do(self._commands.lever, place)

    def run_engine(self, on: bool) -> None:  # noqa: FBT001 - a switch
        """Start or stop the simulated car's engine, from the screen's thread."""
        if self._commands.engine is not None:
            self._do(self._commands.engine, on)

    def _do(self, act: Callable[[Any], None], what: object) -> None:
        if self._loop is not None:
            with contextlib.suppress(RuntimeError):  # the monitor has just ended
                self._loop.call_soon_threadsafe(act, what)

    @property
    def speed(self) -> float | None:
        """Simulated seconds per real one; None on a real car."""
        speed = getattr(self._loop, "speed", None)
        return speed if isinstance(speed, float) else None

    def set_speed(self, speed: float) -> None:
        """Change the bench's speed; without effect on a real car."""
        if self._loop is not None and self.speed is not None:
            self._loop.call_soon_threadsafe(setattr, self._loop, "speed", float(speed))

    def _run(self, deliver: Deliver, failed: Callable[[str], None]) -> None:
        try:
            with asyncio.Runner(loop_factory=self._loop_factory) as runner:
                self._loop = runner.get_loop()
                runner.run(self._main(deliver))
            if not self._stopping:
                failed(f"{self._ended}: press q")
        except asyncio.CancelledError:
            pass
        except SumpgateError as problem:
            self.failure = problem
            if self.abort is not None and isinstance(problem, PortError):
                self.abort()
            else:
                failed(str(problem))
        except Exception as problem:  # the screen must learn of it, whatever it is
            failed(f"the monitor failed ({type(problem).__name__}: {problem})")

    async def _main(self, deliver: Deliver) -> None:
        self._task = asyncio.current_task()
        if not self._stopping:
            await self._watch(deliver)
