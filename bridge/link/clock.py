"""The only module of the bridge that reads a clock or sleeps.

Time is the running loop's own: monotonic seconds on a real loop, simulated ones
on the bench's. The wall clock serves for one thing: to notice a suspended laptop.
"""

from __future__ import annotations

import asyncio
import time

SUSPEND_GAP_S = 2.0
"""How far the wall clock may run ahead of the monotonic one before it counts."""


def now_s() -> float:
    """Return the running loop's time in seconds."""
    return asyncio.get_running_loop().time()


async def sleep(duration_s: float) -> None:
    """Pause this task for a number of seconds of the running loop's time."""
    await asyncio.sleep(max(0.0, duration_s))


class SuspendWatch:
    """Tells when the machine slept: the wall clock jumped, the monotonic did not.

    A simulated loop runs faster than the wall clock, so only a lead of the wall
    clock over this machine's own monotonic clock counts.
    """

    def __init__(self) -> None:
        self._lead_s = time.time() - time.monotonic()

    def gap_s(self) -> float:
        """Return the seconds the wall clock gained since last asked, or 0."""
        lead_s = time.time() - time.monotonic()
        gained, self._lead_s = lead_s - self._lead_s, lead_s
        return gained if gained > SUSPEND_GAP_S else 0.0
