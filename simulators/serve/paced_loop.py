"""An event loop whose clock is the bench's own.

``loop.time()`` counts simulated seconds. When nothing is ready to run, the clock
jumps to the next timer; ``speed`` says how long to pause for that in real life
(1.0: as long as it takes in the car; 20.0: twenty times faster; inf: no pause).
Because simulated time moves only between callbacks, a slow or busy machine makes
the bench slower, never a reading staler: runs at any speed give the same result.
"""

from __future__ import annotations

import asyncio
import math
import selectors
import time
from typing import Any

SHORTEST_PAUSE_S = 0.002
"""Pauses shorter than this are saved up: the system cannot pause so briefly."""
FORGIVEN_LAG_S = 0.05
"""Real seconds behind plan after which the plan is made anew, not caught up with."""


class _Pacer:
    """A selector that turns waiting into simulated time."""

    def __init__(self, inner: selectors.BaseSelector, speed: float) -> None:
        self._inner = inner
        self.now_s = 0.0
        self.set_speed(speed)

    def set_speed(self, speed: float) -> None:
        """Run at another speed from now on."""
        self.speed = speed
        self._plan_from_here()

    def _plan_from_here(self) -> None:
        self._real0_s, self._bench0_s = time.monotonic(), self.now_s

    def select(self, timeout: float | None = None) -> list[Any]:
        """Wait for I/O or the next timer; advance the clock by what was waited."""
        if timeout is None:
            return self._inner.select(None)  # nothing is due: only I/O can wake us
        if timeout <= 0:
            return self._inner.select(0)
        pause_s = self._pause_s(self.now_s + timeout)
        if pause_s < SHORTEST_PAUSE_S:
            return self._jump(timeout)
        return self._wait(timeout, pause_s)

    def _pause_s(self, wake_s: float) -> float:
        """Return the real seconds until a simulated moment is due."""
        if math.isinf(self.speed):
            return 0.0
        due_s = self._real0_s + (wake_s - self._bench0_s) / self.speed
        pause_s = due_s - time.monotonic()
        if pause_s < -FORGIVEN_LAG_S:
            self._plan_from_here()
        return pause_s

    def _jump(self, timeout: float) -> list[Any]:
        ready = self._inner.select(0)
        if not ready:
            self.now_s += timeout
        return ready

    def _wait(self, timeout: float, pause_s: float) -> list[Any]:
        ready = self._inner.select(pause_s)
        if not ready:
            self.now_s += timeout
            return ready
        # Woken early by I/O: only the share really waited has passed.
        passed_s = (time.monotonic() - self._real0_s) * self.speed
        reached_s = min(self.now_s + timeout, self._bench0_s + passed_s)
        self.now_s = max(self.now_s, reached_s)
        return ready

    def __getattr__(self, name: str) -> Any:
        return getattr(self._inner, name)


class PacedLoop(asyncio.SelectorEventLoop):
    """An asyncio loop in simulated time; see the module's docstring."""

    def __init__(self, speed: float = math.inf) -> None:
        self._pacer = _Pacer(selectors.DefaultSelector(), speed)
        super().__init__(self._pacer)  # type: ignore[arg-type]  # a duck selector

    def time(self) -> float:
        """Return the simulated time in seconds; it starts at 0."""
        return self._pacer.now_s

    @property
    def speed(self) -> float:
        """Simulated seconds per real second; may be changed while running."""
        return self._pacer.speed

    @speed.setter
    def speed(self, speed: float) -> None:
        self._pacer.set_speed(speed)
