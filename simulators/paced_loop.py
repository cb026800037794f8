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


class _Pacer:
    """A selector that turns waiting into simulated time."""

    def __init__(self, inner: selectors.BaseSelector, speed: float) -> None:
        self._inner = inner
        self.speed = speed
        self.now_s = 0.0

    def select(self, timeout: float | None = None) -> list[Any]:
        """Wait for I/O or the next timer; advance the clock by what was waited."""
        if timeout is None:
            return self._inner.select(None)  # nothing is due: only I/O can wake us
        if timeout <= 0:
            return self._inner.select(0)
        if math.isinf(self.speed):
            return self._jump(timeout)
        return self._wait(timeout)

    def _jump(self, timeout: float) -> list[Any]:
        ready = self._inner.select(0)
        if not ready:
            self.now_s += timeout
        return ready

    def _wait(self, timeout: float) -> list[Any]:
        began = time.monotonic()
        ready = self._inner.select(timeout / self.speed)
        waited = (time.monotonic() - began) * self.speed
        # Woken early by I/O: only the share really waited has passed. Woken by
        # the timer: exactly the timeout, however late the machine was.
        self.now_s += min(waited, timeout) if ready else timeout
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
        self._pacer.speed = speed
